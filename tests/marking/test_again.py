"""A take heard again: where its notes lie in the tune, in time and with no clock, and which of them a piece has."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.lesson.stretch import Stretch, stretch_of
from companion.marking.mark_values import Asked, Heard
from companion.marking.marks import mark
from companion.marking.take_in_tune import TakeNote, again, in_piece, is_of_the_tune, share_right
from companion.marking.take_marks import mark_rounds
from companion.timeline import Timeline
from tests.marking.tunes import made_tune
from tests.shipped_tables import TABLES
from tests.sound.tunes import REEL, quavers

BEAT = Fraction(1, 4)
ASKED = made_tune(5, bars=4)
ROUND = quavers(4, REEL)


def piece(first: int, last: int) -> Stretch:
    return stretch_of(ROUND, first, last, REEL, Fraction(1, 2))


def asked_in(stretch: Stretch) -> tuple[Asked, ...]:
    return tuple(Asked(one.index, one.at, one.note.length, one.note.pitch) for one in stretch.notes)


def played(asked: tuple[Asked, ...], line: Timeline, late: dict[int, float] | None = None) -> list[Heard]:
    """As written, but for what is late, in seconds."""
    return [
        Heard(
            line.seconds(note.at) + (late or {}).get(k, 0.0),
            note.pitch,
            end=line.seconds(note.at + note.length) + (late or {}).get(k, 0.0),
        )
        for k, note in enumerate(asked)
    ]


def place_of(kept: TakeNote, asked: tuple[Asked, ...]) -> float:
    return float(next(note.at for note in asked if note.index == kept.near)) + kept.off


@pytest.mark.parametrize("clock", [True, False])
@given(bpm=st.floats(30, 240), start=st.floats(0, 100))
@settings(max_examples=25, deadline=None)
def test_what_is_played_as_written_lies_where_it_is_written(clock: bool, bpm: float, start: float) -> None:
    line = Timeline(bpm, BEAT, Fraction(0), start)
    heard = played(ASKED, line)
    found = mark(ASKED, heard, timeline=line if clock else None, rules=TABLES.marks)
    kept = again(ASKED, heard, found, line if clock else None)
    assert [one.near for one in kept] == [note.index for note in ASKED]
    assert [one.off for one in kept] == pytest.approx([0.0] * len(ASKED), abs=1e-9)
    # With no clock the last note's length goes by the usual pace.
    assert [one.length for one in kept] == pytest.approx([float(note.length) for note in ASKED], abs=1e-6)


@given(st.integers(0, len(ASKED) - 1), st.floats(-0.05, 0.05), st.floats(60, 120))
@settings(max_examples=25, deadline=None)
def test_lateness_is_kept_as_a_share_of_the_beat(number: int, late: float, bpm: float) -> None:
    line = Timeline(bpm, BEAT)
    heard = played(ASKED, line, {number: late})
    kept = again(ASKED, heard, mark(ASKED, heard, timeline=line, rules=TABLES.marks), line)
    note = next(one for one in kept if one.near == ASKED[number].index)
    for other in (0.25 * bpm, 0.5 * bpm, 1.5 * bpm):
        assert note.off * Timeline(other, BEAT).whole == pytest.approx(late * bpm / other, abs=1e-6)
    assert sum(abs(one.off) > 1e-9 for one in kept) <= 1


heard_notes = st.lists(
    st.tuples(st.floats(0.001, 1.5), st.sampled_from(sorted({note.pitch for note in ASKED})), st.floats(0.01, 2.0)),
    min_size=1,
    max_size=80,
)


@pytest.mark.parametrize("clock", [True, False])
@given(heard_notes)
@settings(max_examples=60, deadline=None)
def test_no_two_notes_ever_change_places(clock: bool, notes: list[tuple[float, int, float]]) -> None:
    """Whatever is played, right or not: the order of the onsets stays, and no length is below nothing."""
    now, heard = 0.0, []
    for wait, pitch, length in notes:
        now += wait
        heard.append(Heard(now, pitch, end=now + length))
    line = Timeline(90.0, BEAT) if clock else None
    kept = again(ASKED, heard, mark(ASKED, heard, timeline=line, rules=TABLES.marks), line)
    places = [place_of(one, ASKED) for one in kept]
    assert all(after >= before - 1e-9 for before, after in pairwise(places))
    assert all(one.length >= 0 for one in kept)
    assert len(kept) in (0, len(heard))
    assert [one.pitch for one in kept] in ([], [note.pitch for note in heard])


def test_with_no_clock_the_notes_lie_on_their_own_and_the_rest_between_them() -> None:
    """A wait in the middle is gone; a wrong extra note stays between its neighbours; a note let go keeps its length."""
    line = Timeline(60.0, BEAT)
    heard = played(ASKED, line)
    whole = line.whole
    waited = [
        note if k < 10 else replace(note, seconds=note.seconds + 7, end=(note.end or 0) + 7)
        for k, note in enumerate(heard)
    ]
    # A note that belongs nowhere, a quarter of the way from the last note before the wait to the one after it.
    gap = waited[10].seconds - waited[9].seconds
    odd = Heard(waited[9].seconds + gap / 4, 40, end=waited[9].seconds + gap / 4 + 0.1)
    came = [*waited[:10], odd, *waited[10:]]
    kept = again(ASKED, came, mark(ASKED, came, timeline=None, rules=TABLES.marks), None)
    places = [place_of(one, ASKED) for one in kept]
    assert [p for k, p in enumerate(places) if k != 10] == pytest.approx([float(n.at) for n in ASKED], abs=1e-9)
    between = float(ASKED[9].at) + float(ASKED[10].at - ASKED[9].at) / 4
    assert places[10] == pytest.approx(between, abs=1e-9)
    alone = again(ASKED, waited, mark(ASKED, waited, timeline=None, rules=TABLES.marks), None)
    short = replace(waited[9], end=waited[9].seconds + 0.25 * whole * float(ASKED[9].length))
    cut = [*waited[:9], short, *waited[10:]]
    kept = again(ASKED, cut, mark(ASKED, cut, timeline=None, rules=TABLES.marks), None)
    assert alone[9].length == pytest.approx(float(ASKED[9].length), abs=1e-6)
    assert kept[9].length == pytest.approx(0.25 * float(ASKED[9].length), abs=1e-6)


def test_a_note_without_an_end_lasts_to_the_next_and_a_shift_is_taken_off() -> None:
    line = Timeline(60.0, BEAT)
    heard = [replace(note, end=None, pitch=note.pitch + 2) for note in played(ASKED, line)]
    meant = [replace(note, pitch=note.pitch - 2) for note in heard]
    kept = again(ASKED, heard, mark(ASKED, meant, timeline=line, rules=TABLES.marks), line, shift=2)
    assert [one.pitch for one in kept] == [note.pitch for note in ASKED]
    assert [one.length for one in kept] == pytest.approx([float(note.length) for note in ASKED], abs=1e-9)


def test_a_piece_has_its_own_notes_and_the_cut_before_them() -> None:
    line = Timeline(100.0, BEAT)
    whole = piece(0, len(ROUND.notes) - 1)
    asked = asked_in(whole)
    heard = played(asked, line, {8: 0.03})
    cut = Heard(heard[8].seconds - 0.06, heard[8].pitch + 2, end=heard[8].seconds - 0.03)
    came = [*heard[:8], cut, *heard[8:]]
    kept = again(asked, came, mark(asked, came, timeline=line, rules=TABLES.marks), line)
    second = in_piece([kept], 0, piece(8, 15))
    assert [one.pitch for one in second] == [note.pitch for note in came[8:17]]
    late = 0.03 / line.whole
    assert [one.at for one in second[:3]] == pytest.approx([-late, late, 0.125], abs=1e-6)
    assert in_piece([], 0, piece(8, 15)) == ()


def test_a_piece_that_goes_round_begins_the_next_round() -> None:
    first, second = ([TakeNote(k, 0.0, 0.1, 60 + k + 30 * turn, 64) for k in range(32)] for turn in (0, 1))
    around = piece(28, 3)
    assert [one.pitch for one in in_piece([first, second], 0, around)] == [88, 89, 90, 91, 90, 91, 92, 93]
    # After the last round comes the first again.
    assert [one.pitch for one in in_piece([first, second], 1, around)] == [118, 119, 120, 121, 60, 61, 62, 63]
    assert [one.at for one in in_piece([first], 0, around)] == pytest.approx([k / 8 for k in range(8)])


def test_rounds_of_a_take_are_marked_each_with_its_own_beat() -> None:
    """Three rounds that begin where they like; every heard note has its mark in one of them."""
    heard: list[Heard] = []
    starts = (1.0, 41.0, 77.3)
    for start in starts:
        heard += played(ASKED, Timeline(100.0, BEAT, Fraction(0), start))
    found = tuple(mark_rounds(ASKED, heard, beat=BEAT, rules=TABLES.marks))
    assert [one.timeline.origin for one in found if one.timeline] == pytest.approx(list(starts), abs=1e-3)
    marked = [note.heard for one in found for note in one.marks.notes if note.heard is not None]
    assert marked == list(range(len(heard)))
    assert share_right(found) == 1.0


def test_another_tune_is_told_from_this_one() -> None:
    for seed in range(6, 26):
        other = made_tune(seed, bars=4)
        heard = played(other, Timeline(100.0, BEAT))
        assert is_of_the_tune(tuple(mark_rounds(other, heard, beat=BEAT, clock=False, rules=TABLES.marks)))
        assert not is_of_the_tune(tuple(mark_rounds(ASKED, heard, beat=BEAT, clock=False, rules=TABLES.marks)))
