"""What was played of late, as a microphone asks for it: frame for frame, at any rate, and steady."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from companion.sound.played import KEPT, OwnPlaying

RATE = 44100


def sine(first: int, frames: int, hertz: float = 1000.0) -> NDArray[np.float32]:
    wave = np.sin(2 * np.pi * hertz * (first + np.arange(frames)) / RATE)
    return np.repeat(wave[:, None], 2, axis=1).astype(np.float32)


def kept(frames: int, block: int = 512) -> OwnPlaying:
    own = OwnPlaying(RATE)
    for at in range(0, frames, block):
        own.add(at, sine(at, block))
    return own


def test_whole_frames_come_as_they_were() -> None:
    found = kept(20_000).at(5_000.0, 1_000, RATE)
    assert found is not None
    assert np.abs(found - sine(5_000, 1_000)[:, 0]).max() < 1e-6


@pytest.mark.parametrize("rate", [48000, 22050])
def test_at_another_rate_it_is_the_same_sound(rate: int) -> None:
    found = kept(20_000).at(5_000.3, 1_000, rate)
    assert found is not None
    at = 5_000.3 + np.arange(1_000) * RATE / rate
    assert np.abs(found - np.sin(2 * np.pi * 1000 * at / RATE)).max() < 2e-3


def test_one_answer_goes_on_where_the_last_one_ended_though_the_places_jitter() -> None:
    own = kept(60_000)
    whole, jitter = [], np.random.default_rng(1).uniform(-40, 40, 100)
    for n in range(100):
        part = own.at(1_000 + 256 * n + (float(jitter[n]) if n else 0.0), 256, RATE)
        assert part is not None
        whole.append(part)
    assert np.abs(np.concatenate(whole) - sine(1_000, 25_600)[:, 0]).max() < 1e-6


def test_a_place_far_off_is_gone_to() -> None:
    own = kept(60_000)
    own.at(1_000.0, 256, RATE)
    found = own.at(30_000.0, 256, RATE)
    assert found is not None
    assert np.abs(found - sine(30_000, 256)[:, 0]).max() < 1e-6


def test_silence_is_nothing() -> None:
    own = OwnPlaying(RATE)
    own.add(0, np.zeros((4_096, 2), np.float32))
    assert own.at(100.0, 256, RATE) is None
    own.add(4_096, sine(0, 512))
    assert own.at(100.0, 256, RATE) is None
    found = own.at(4_000.0, 256, RATE)
    assert found is not None
    assert not found[:90].any()
    assert found[100:].any()


def test_what_is_long_past_is_let_go() -> None:
    own = kept(round((KEPT + 2) * RATE))
    assert own.at(100.0, 256, RATE) is None
