"""Matching to a beat: the player's own time is followed, and who is far off the beat is found by the order."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest

from companion.marking.mark_values import Asked, Heard
from companion.marking.match import match_in_time
from companion.timeline import Timeline
from tests.marking.small import BEAT, LINE, asked_for, played
from tests.marking.tunes import made_tune
from tests.shipped_tables import TABLES

TUNE = made_tune(31, bars=4)
ALL = tuple((k, k) for k in range(len(TUNE)))


def taken(asked: tuple[Asked, ...], shift: float = 0.0, drift: float = 0.0, spread: float = 0.0) -> list[Heard]:
    """All of it played right: late by so many seconds, slower by a share, and straying by chance."""
    rng = random.Random(3)
    times = [LINE.seconds(note.at) * (1.0 + drift) + shift + rng.gauss(0.0, spread) for note in asked]
    return [Heard(at, note.pitch, end=at + 0.15) for at, note in zip(times, asked, strict=True)]


def test_nothing_asked_or_heard_is_no_match() -> None:
    assert match_in_time((), played((0.0, 62)), LINE, rules=TABLES.marks) == ()
    assert match_in_time(TUNE, (), LINE, rules=TABLES.marks) == ()


@pytest.mark.parametrize("shift", [-0.2, -0.06, 0.0, 0.06, 0.2, 0.9, 3.0, -2.0])
def test_a_constant_lead_or_lag_is_followed(shift: float) -> None:
    assert match_in_time(TUNE, taken(TUNE, shift=shift, spread=0.02), LINE, rules=TABLES.marks) == ALL


@pytest.mark.parametrize("drift", [-0.3, -0.05, 0.03, 0.1, 0.5])
def test_another_tempo_is_followed(drift: float) -> None:
    assert match_in_time(TUNE, taken(TUNE, drift=drift, spread=0.015), LINE, rules=TABLES.marks) == ALL


def test_a_stop_of_a_second_in_the_middle_is_followed() -> None:
    heard = [
        Heard(note.seconds + (1.0 if k >= 20 else 0.0), note.pitch) for k, note in enumerate(taken(TUNE, spread=0.015))
    ]
    assert match_in_time(TUNE, heard, LINE, rules=TABLES.marks) == ALL


def test_a_single_note_is_matched_where_it_lies() -> None:
    asked = asked_for(62, 64, 62, 66, 62, 67)
    for k in (0, 2, 4):
        assert match_in_time(asked, played((0.25 * k + 0.03, 62)), LINE, rules=TABLES.marks) == ((k, 0),)


def test_which_of_many_equal_notes_was_left_out_is_told_by_the_beat() -> None:
    asked = asked_for(*[67] * 12)
    for missed in (0, 3, 7, 11):
        heard = played(*((0.25 * k + 0.02, 67) for k in range(12) if k != missed))
        assert [i for i, _ in match_in_time(asked, heard, LINE, rules=TABLES.marks)] == [
            k for k in range(12) if k != missed
        ]


def test_which_of_two_notes_is_the_one_too_many_is_told_by_the_beat() -> None:
    asked = asked_for(62, 64, 66, 67, 69, 71)
    times = [(0.25 * k, note.pitch) for k, note in enumerate(asked)]
    for at in (0.38, 0.62):  # the same pitch again, an eighth of a second before or after
        heard = sorted([*times, (at, 66)])
        pairs = dict(match_in_time(asked, played(*heard, length=0.11), LINE, rules=TABLES.marks))
        assert heard[pairs[2]] == (0.5, 66)
        assert len(pairs) == 6


def test_a_wrong_note_on_the_beat_stands_for_the_written_one() -> None:
    asked = asked_for(62, 64, 66, 67, 69, 71)
    right = [(0.25 * k, note.pitch) for k, note in enumerate(asked) if k != 2]
    assert dict(match_in_time(asked, played(*sorted([*right, (0.51, 65)])), LINE, rules=TABLES.marks))[2] == 2


def test_to_be_a_whole_bar_off_takes_a_clear_case() -> None:
    """Two bars of the same notes: who plays one of them on the beat has left out the other."""
    asked = asked_for(62, 64, 66, 67, 69, 71, 62, 64, 66, 67, 69, 71)
    first, second = ([(0.25 * k, asked[k].pitch) for k in range(*part)] for part in ((0, 6), (6, 12)))
    assert match_in_time(asked, played(*first), LINE, rules=TABLES.marks) == tuple((k, k) for k in range(6))
    assert match_in_time(asked, played(*second), LINE, rules=TABLES.marks) == tuple((k + 6, k) for k in range(6))


@pytest.mark.parametrize("bpm", [40.0, 120.0, 240.0])
def test_the_tempo_asked_for_may_be_any(bpm: float) -> None:
    line = Timeline(bpm, BEAT, Fraction(0), 5.0)
    heard = [Heard(line.seconds(note.at) + 0.02, note.pitch) for note in TUNE]
    assert match_in_time(TUNE, heard, line, rules=TABLES.marks) == ALL
