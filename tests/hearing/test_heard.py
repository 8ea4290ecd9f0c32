"""Whole takes of sampled accordions in a room, heard and held to what was played.

The floors lie a little under what `python -m benchmarks microphone` measures over many more takes.
"""

from __future__ import annotations

import os
from fractions import Fraction

import numpy as np
import pytest

from companion.hearing.stream import LiveHearing
from tests.hearing.sounds import RATE, SOUNDFONTS, Voice
from tests.hearing.trials import CONDITIONS, Score, heard_live, heard_whole, trials

VOICES = (Voice("timgm", 23), Voice("timgm", 21))
if not SOUNDFONTS["timgm"].exists() and not os.environ.get("COMPANION_NO_SKIPS"):
    pytest.skip("no sampled accordion here (Debian: timgm6mb-soundfont)", allow_module_level=True)


def made_tune(seed: int, count: int = 40) -> list[tuple[float, float, int]]:
    """Quavers and crotchets up and down a scale, one in eight of them the same note again."""
    rng = np.random.default_rng(seed)
    scale = (57, 59, 61, 62, 64, 66, 67, 69, 71, 73, 74, 76, 78, 79, 81, 83)
    tune, at, place = [], 0.0, 7
    for _ in range(count):
        length = float(rng.choice([1.0, 1.0, 1.0, 2.0]))
        if rng.random() > 0.125:
            place = min(max(place + int(rng.choice([-3, -2, -1, 1, 2, 3])), 0), len(scale) - 1)
        tune.append((at, length, scale[place]))
        at += length
    return tune


TUNES = (made_tune(11), made_tune(12))
LONG = (made_tune(11, 60), made_tune(12, 60))
# The share of the notes (F1) that must be found, whole and live.
FLOORS = {
    "dry": (0.985, 0.97),
    "room": (0.99, 0.98),
    "wet tuning": (0.98, 0.97),
    "octave reed": (0.99, 0.975),
    "left hand": (0.95, 0.93),
    "own playing": (0.975, 0.93),
}


@pytest.mark.parametrize("name", FLOORS)
def test_the_notes_of_a_take_are_heard_whole_and_live(name: str) -> None:
    whole, live = Score(), Score()
    for trial in trials(CONDITIONS[name], VOICES[:1], TUNES[:1], seed=40):
        heard_whole(trial, whole)
        heard_live(trial, live)
    assert whole.f1 >= FLOORS[name][0]
    assert live.f1 >= FLOORS[name][1]
    assert np.median(np.abs(whole.off)) <= 0.006
    assert np.median(live.lit) <= 0.045
    assert np.percentile(live.lit, 95) <= 0.150


@pytest.mark.parametrize("name", ["mistakes", "own playing"])
def test_who_played_wrong_is_told_and_who_played_right_is_not(name: str) -> None:
    score = Score()
    for trial in trials(CONDITIONS[name], VOICES, LONG, seed=70):
        score.judge(trial, heard_whole(trial, score))
    assert score.wrong >= 4
    assert score.missed >= 2
    assert score.wrong_faulted >= 0.9 * score.wrong
    assert score.missed_faulted >= 0.75 * score.missed
    assert score.right_faulted <= 0.01 * score.right
    assert score.unsure <= 0.03 * len(LONG) * 60


def test_the_same_note_again_is_heard_through_a_short_gap() -> None:
    score = Score()
    for trial in trials(CONDITIONS["room"], VOICES[:1], LONG[:1], seed=90):
        heard_whole(trial, score)
    assert score.again >= 6
    assert Fraction(score.again_found, score.again) >= Fraction(9, 10)


def test_another_box_than_the_one_that_was_learnt_is_noticed() -> None:
    mine, other = (next(trials(CONDITIONS["room"], (voice,), TUNES[:1], seed=20)) for voice in VOICES)
    for ear, strange in ((mine.ear, False), (other.ear, True)):
        stream = LiveHearing(ear, RATE)
        stream.take(mine.sound[: 12 * RATE])
        assert stream.strange is strange
