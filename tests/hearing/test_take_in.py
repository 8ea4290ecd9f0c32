"""A box taken in note by note: what it waits for, what it tells of, what comes of it."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from companion.hearing.learn import learn_ear, parts_of
from companion.hearing.take_in import Stage, TakeIn

RATE = 44100
PITCHES = (62, 64, 66, 67, 69, 71, 73, 74)
Sound = NDArray[np.float64]


def reed(pitch: int, seconds: float = 1.4, *, cents: float = 0.0, wet: float = 0.0, octave: bool = False) -> Sound:
    """A reed's partials; `wet` cents from a second one, `octave`: one an octave below sounds too."""
    time = np.arange(round(seconds * RATE)) / RATE
    sound = np.zeros(len(time))
    for shift, off in ((0, cents), *(((0, cents + wet),) if wet else ()), *(((-12, cents),) if octave else ())):
        first = 440 * 2 ** ((pitch + shift - 69 + off / 100) / 12)
        sound += sum(np.sin(2 * np.pi * first * h * time + h * h) / h for h in range(1, 12))
    made: Sound = 0.1 * sound * np.minimum(1, np.minimum(time, time[::-1]) / 0.02)
    return made


def room(seconds: float, loud: float = 0.0005, seed: int = 0) -> Sound:
    made: Sound = loud * np.random.default_rng(seed).standard_normal(round(seconds * RATE))
    return made


def put(taking: TakeIn, *sounds: Sound, block: int = 512) -> None:
    sound = np.concatenate(sounds)
    sound = (sound + room(len(sound) / RATE + 1, seed=3)[: len(sound)]).astype(np.float32)
    for at in range(0, len(sound), block):
        taking.take(sound[at : at + block])


def begun(pitches: tuple[int, ...] = PITCHES, left: int = 0) -> TakeIn:
    taking = TakeIn(RATE, pitches, left)
    put(taking, room(2.2))
    assert taking.stage is not Stage.ROOM
    return taking


def test_it_waits_until_the_room_is_quiet() -> None:
    taking = TakeIn(RATE, PITCHES)
    put(taking, room(3.0, loud=0.1))
    assert (taking.stage, taking.loud) == (Stage.ROOM, True)
    put(taking, room(2.2))
    assert (taking.stage, taking.loud) == (Stage.NOTES, False)


@pytest.mark.parametrize("kind", [{}, {"wet": 15.0}, {"octave": True}, {"cents": -40.0}, {"cents": 30.0}], ids=str)
def test_each_note_moves_it_on_and_an_ear_can_be_learnt_of_it(kind: dict[str, float | bool]) -> None:
    taking = begun()
    for n, pitch in enumerate(PITCHES):
        assert taking.at == n
        put(taking, reed(pitch, **kind), room(0.2))  # type: ignore[arg-type]
    assert taking.done
    assert taking.learnt == PITCHES
    ear = learn_ear(taking.sound, RATE, taking.learnt)
    assert ear.pitches == PITCHES
    if "cents" in kind:
        assert np.median(ear.cents) == pytest.approx(kind["cents"], abs=8)


def test_each_note_is_kept_once_with_the_room_around_it() -> None:
    taking = begun()
    for pitch in PITCHES:
        put(taking, reed(pitch, 1.2), room(0.3))
    assert len(parts_of(taking.sound)) == len(PITCHES)


def test_notes_played_without_a_gap_are_kept_apart_too() -> None:
    taking = begun()
    put(taking, *(reed(pitch, 1.8) for pitch in PITCHES))
    assert taking.done
    assert len(parts_of(taking.sound)) == len(PITCHES)


@pytest.mark.parametrize("off", [-2, -1, 1, 2, 3])
def test_another_note_is_told_and_is_not_taken_for_it(off: int) -> None:
    taking = begun()
    put(taking, reed(PITCHES[0]), room(0.2))
    put(taking, reed(PITCHES[1] + off, 3.0))
    assert (taking.at, taking.other) == (1, PITCHES[1] + off)
    put(taking, room(0.3), reed(PITCHES[1]))
    assert (taking.at, taking.other) == (2, None)


def test_a_short_note_is_not_enough() -> None:
    taking = begun()
    put(taking, reed(PITCHES[0], 0.5), room(0.5))
    assert taking.at == 0


def test_silence_is_told_after_a_while() -> None:
    taking = begun()
    put(taking, room(3.0))
    assert not taking.silent
    put(taking, room(3.0))
    assert taking.silent
    put(taking, reed(PITCHES[0]))
    assert not taking.silent


def test_a_note_can_be_left_out_and_gone_back_to() -> None:
    taking = begun()
    put(taking, reed(PITCHES[0]), room(0.2))
    taking.skip()
    assert taking.at == 2
    taking.again()
    put(taking, reed(PITCHES[1]), room(0.2))
    taking.again()
    assert (taking.at, taking.learnt) == (1, PITCHES[:1])
    for pitch in PITCHES[1:]:
        put(taking, reed(pitch), room(0.2))
    assert taking.learnt == PITCHES


def test_basses_come_after_the_notes_each_once_with_a_gap() -> None:
    taking = begun(PITCHES[:3], left=2)
    for pitch in PITCHES[:3]:
        put(taking, reed(pitch), room(0.2))
    assert taking.stage is Stage.LEFT
    put(taking, room(0.3), reed(45, 2.5))
    assert taking.at == 1  # held long is still one
    put(taking, room(0.3), reed(57, 1.2))
    assert taking.done
    assert len(parts_of(taking.sound)) == 5


def test_the_left_hand_can_be_left_out() -> None:
    taking = begun(PITCHES[:1], left=16)
    put(taking, reed(PITCHES[0]))
    taking.skip()
    assert taking.done
