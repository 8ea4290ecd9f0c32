"""The level meter: what it shows, and which faults of a microphone it tells from a room that is only a room."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from companion.hearing.level import FLOOR, Fault, Level

RATE = 44100
Sound = NDArray[np.float64]


def tone(seconds: float, loud: float, pitch: float = 440.0) -> Sound:
    return loud * np.sin(2 * np.pi * pitch * np.arange(round(seconds * RATE)) / RATE)


def noise(seconds: float, db: float, seed: int = 1) -> Sound:
    made: Sound = np.random.default_rng(seed).standard_normal(round(seconds * RATE)) * 10 ** (db / 20)
    return made


def played(silence: Sound, notes: int = 4, ring: float = 0.25) -> Sound:
    """Notes of half a second that ring on in a room, each followed by a silence."""
    fall = tone(ring, 0.3) * np.linspace(1, 0, round(ring * RATE)) ** 3
    parts = []
    for _ in range(notes):
        rest = silence.copy()
        rest[: len(fall)] += fall
        parts += [tone(0.5, 0.3) + noise(0.5, -60), rest]
    return np.concatenate(parts)


def level_of(sound: Sound, block: int = 256) -> Level:
    level = Level(RATE)
    for at in range(0, len(sound), block):
        level.take(sound[at : at + block].astype(np.float32))
    return level


@pytest.mark.parametrize("block", [64, 256, 1000, 44100])
def test_a_sine_is_shown_as_loud_as_it_is(block: int) -> None:
    now = level_of(tone(1.0, 0.1), block).now
    assert now.peak == pytest.approx(-20.0, abs=0.1)
    assert now.level == pytest.approx(-23.0, abs=0.1)
    assert (now.clipped, now.fault) == (0.0, None)


def test_only_the_last_third_of_a_second_is_shown() -> None:
    assert level_of(np.concatenate((tone(1.0, 0.5), tone(0.4, 0.005)))).now.peak == pytest.approx(-46.0, abs=0.2)


def test_before_anything_came_it_is_silent_and_no_fault() -> None:
    now = Level(RATE).now
    assert (now.peak, now.level, now.fault) == (FLOOR, FLOOR, None)


def test_nothing_but_zeros_is_a_muted_microphone() -> None:
    assert level_of(np.zeros(RATE // 2)).now.fault is None  # it may have only just begun
    assert level_of(np.zeros(2 * RATE)).now.fault is Fault.MUTED


def test_one_that_is_muted_later_is_found_too_and_one_that_is_not_any_more_is_right() -> None:
    sound = np.concatenate((noise(2.0, -60), np.zeros(10 * RATE)))
    assert level_of(sound).now.fault is Fault.MUTED
    assert level_of(np.concatenate((sound, noise(0.1, -60)))).now.fault is None


def test_clipping_is_said_for_a_while_and_then_no_more() -> None:
    loud = np.clip(tone(0.5, 1.6), -1, 1)
    level = level_of(loud)
    assert level.now.clipped > 0.3
    assert level.now.fault is Fault.CLIPS
    assert level_of(np.concatenate((loud, noise(3.0, -50)))).now.fault is Fault.CLIPS
    assert level_of(np.concatenate((loud, noise(6.0, -50)))).now.fault is None


def test_a_full_sine_that_does_not_clip_is_no_fault() -> None:
    assert level_of(tone(2.0, 0.9)).now.fault is None


def test_what_is_played_and_hardly_heard_is_too_quiet() -> None:
    faint = np.concatenate([np.concatenate((tone(1.0, 0.002), np.zeros(RATE // 2))) for _ in range(8)])
    assert level_of(faint + noise(12.0, -75)).now.fault is Fault.QUIET


def test_a_quiet_room_in_which_nobody_plays_is_no_fault() -> None:
    assert level_of(noise(15.0, -65)).now.fault is None


@pytest.mark.parametrize("floor", [-80.0, -65.0, -50.0])
def test_silences_of_a_room_are_no_fault(floor: float) -> None:
    assert level_of(played(noise(1.5, floor), notes=6)).now.fault is None


@pytest.mark.parametrize("rise", [8.0, 15.0])
def test_a_room_that_swells_in_each_silence_is_automatic_gain(rise: float) -> None:
    swelling = noise(1.5, -62) * 10 ** (np.linspace(0, rise * 1.6, round(1.5 * RATE)) / 20)
    assert level_of(played(swelling)).now.fault is Fault.GAIN


def test_silences_deader_than_any_room_are_a_gate() -> None:
    assert level_of(played(np.zeros(round(1.5 * RATE)))).now.fault is Fault.GATE
    assert level_of(played(noise(1.5, -100))).now.fault is Fault.GATE


def test_one_dead_silence_says_nothing() -> None:
    assert level_of(played(np.zeros(round(1.5 * RATE)), notes=1)).now.fault is None
