"""The order of the notes with no clock: what was begun again, what was waited for, which of several equal notes."""

from __future__ import annotations

from fractions import Fraction

import pytest

from companion.marking.in_order import last_attempts, match_in_order, visits
from companion.marking.mark_values import Asked, Heard
from tests.marking.small import asked_for, played
from tests.shipped_tables import TABLES

Q = Fraction(1, 8)
TUNE = asked_for(62, 64, 66, 67, 69, 71, 73, 74)


def at_pace(*pitches: int, step: float = 0.3, begin: float = 0.0) -> tuple[Heard, ...]:
    return played(*((begin + step * k, pitch) for k, pitch in enumerate(pitches)))


def test_what_was_played_again_counts_the_last_time() -> None:
    assert last_attempts(((0, 0), (1, 1), (2, 2), (1, 3), (2, 4), (3, 5))) == ((0, 0), (1, 3), (2, 4), (3, 5))
    assert last_attempts(((0, 0), (0, 1))) == ((0, 1),)
    assert last_attempts(()) == ()


def test_nothing_asked_or_nothing_heard_is_no_match() -> None:
    assert match_in_order((), played((0.0, 62)), rules=TABLES.marks) == ()
    assert match_in_order(TUNE, (), rules=TABLES.marks) == ()


@pytest.mark.parametrize("step", [0.05, 0.3, 2.0, 10.0])
def test_the_tempo_does_not_matter(step: float) -> None:
    heard = played(*((step * k, note.pitch) for k, note in enumerate(TUNE)), length=step * 0.8)
    assert match_in_order(TUNE, heard, rules=TABLES.marks) == tuple((k, k) for k in range(8))


@pytest.mark.parametrize("back", [0, 2, 4])
def test_a_phrase_begun_again_after_a_stop(back: int) -> None:
    first = at_pace(*(n.pitch for n in TUNE[:6]))
    again = at_pace(*(n.pitch for n in TUNE[back:]), begin=3.0)
    way = visits(TUNE, (*first, *again), TABLES.marks)
    assert way == (*((k, k) for k in range(6)), *((k, 6 + k - back) for k in range(back, 8)))
    kept = match_in_order(TUNE, (*first, *again), rules=TABLES.marks)
    assert kept == (*((k, k) for k in range(back)), *((k, 6 + k - back) for k in range(back, 8)))


def test_one_note_played_again_is_a_note_too_many_and_not_a_new_beginning() -> None:
    heard = at_pace(62, 64, 66, 66, 67, 69, 71, 73, 74)
    pairs = dict(match_in_order(TUNE, heard, rules=TABLES.marks))
    assert pairs == {0: 0, 1: 1, 2: pairs[2], 3: 4, 4: 5, 5: 6, 6: 7, 7: 8}
    assert pairs[2] in (2, 3)


def test_which_of_three_equal_notes_was_left_out_is_told_by_the_pace() -> None:
    asked = asked_for(62, 64, 67, 67, 67, 69, 71, 73)
    for missed in (2, 3, 4):
        heard = played(*((0.3 * k, note.pitch) for k, note in enumerate(asked) if k != missed))
        assert [i for i, _ in match_in_order(asked, heard, rules=TABLES.marks)] == [k for k in range(8) if k != missed]


@pytest.mark.parametrize("odd", [1, 5, 6])
def test_one_hesitation_beside_it_leads_nobody_astray(odd: int) -> None:
    """Another note comes late by half a step, and all after it go on from there or not."""
    asked = asked_for(62, 64, 67, 67, 67, 69, 71, 73)
    for missed in (2, 3, 4):
        for after in (0.0, 0.15):
            times = [0.3 * k + (0.15 if k == odd else after if k > odd else 0.0) for k in range(8)]
            heard = played(*((times[k], note.pitch) for k, note in enumerate(asked) if k != missed))
            assert [i for i, _ in match_in_order(asked, heard, rules=TABLES.marks)] == [
                k for k in range(8) if k != missed
            ]


def test_a_wrong_note_beside_a_cut_is_a_wrong_note() -> None:
    """And no note too many in a row with the cut."""
    for at, pitch in ((0.55, 72), (0.9, 72)):  # before the wrong note, or before the one after it
        heard = sorted(
            [*at_pace(62, 64, 65, 67, 69, 71, 73, 74), Heard(at, pitch, end=at + 0.04)], key=lambda note: note.seconds
        )
        pairs = match_in_order(TUNE, heard, rules=TABLES.marks)
        assert [(TUNE[i].pitch, heard[j].pitch) for i, j in pairs][2] == (66, 65)
        assert len(pairs) == 8


def test_a_stop_moves_nothing() -> None:
    """After a wait of three seconds the pace goes on as before, and each note is found."""
    asked = asked_for(62, 64, 67, 67, 67, 69, 71, 73)
    heard = played(*((0.3 * k + (3.0 if k >= 3 else 0.0), note.pitch) for k, note in enumerate(asked)))
    assert match_in_order(asked, heard, rules=TABLES.marks) == tuple((k, k) for k in range(8))


def test_long_and_short_notes_are_looked_for_where_they_are_written() -> None:
    """A crotchet and two quavers of one pitch: the quaver that is left out is the one that does not come."""
    lengths = (2, 1, 1, 2, 1, 1, 2, 2)
    asked, at = [], 0
    for k, (length, pitch) in enumerate(zip(lengths, (62, 67, 67, 67, 69, 69, 71, 73), strict=True)):
        asked.append(Asked(k, at * Q, length * Q, pitch))
        at += length
    for missed in (1, 2, 3):
        heard = played(*((float(note.at) * 2.4, note.pitch) for k, note in enumerate(asked) if k != missed))
        assert [i for i, _ in match_in_order(asked, heard, rules=TABLES.marks)] == [k for k in range(8) if k != missed]


def test_of_a_roll_the_first_note_is_the_written_one() -> None:
    asked = (Asked(0, 0 * Q, Q, 62), Asked(1, Q, 3 * Q, 67), Asked(2, 4 * Q, Q, 69), Asked(3, 5 * Q, Q, 71))
    roll = [(0.3, 67, 0.2), (0.55, 69, 0.05), (0.6, 67, 0.25), (0.9, 66, 0.05), (0.95, 67, 0.2)]
    heard = [
        Heard(0.0, 62, end=0.25),
        *(Heard(at, pitch, end=at + lasts) for at, pitch, lasts in roll),
        *played((1.2, 69), (1.5, 71)),
    ]
    assert match_in_order(asked, heard, rules=TABLES.marks) == ((0, 0), (1, 1), (2, 6), (3, 7))


def test_another_note_between_two_equal_ones_keeps_them_apart() -> None:
    """A wrong note, no cut, between: the second of them comes where the written one is due, so it is that."""
    asked = asked_for(62, 64, 67, 69, 71, 73)
    heard = at_pace(62, 67, 64, 67, 69, 71, 73)
    assert dict(match_in_order(asked, heard, rules=TABLES.marks))[2] == 3


def test_a_wrong_note_stands_for_the_one_it_took_the_place_of() -> None:
    heard = at_pace(62, 64, 65, 67, 69, 71, 73, 74)
    assert match_in_order(TUNE, heard, rules=TABLES.marks) == tuple((k, k) for k in range(8))


def test_notes_too_many_in_a_row_stand_for_none() -> None:
    heard = at_pace(62, 64, 66, 67, 80, 81, 83, 69, 71, 73, 74)
    assert match_in_order(TUNE, heard, rules=TABLES.marks) == (
        *((k, k) for k in range(4)),
        *((k, k + 3) for k in range(4, 8)),
    )


def test_notes_left_out_in_a_row() -> None:
    heard = at_pace(62, 64, 71, 73, 74)
    assert match_in_order(TUNE, heard, rules=TABLES.marks) == ((0, 0), (1, 1), (5, 2), (6, 3), (7, 4))


def test_a_slip_that_the_box_explains_is_taken_for_the_written_note() -> None:
    """Two written notes, one heard: it stands for the one that a slip makes of it, whichever comes first."""
    asked = asked_for(62, 64, 66, 71, 73, 74, 76)
    heard = at_pace(62, 64, 90, 73, 74, 76)
    nothing = frozenset[int]()
    for at in (2, 3):
        slips = [frozenset({90}) if k == at else nothing for k in range(7)]
        assert dict(match_in_order(asked, heard, slips=slips, rules=TABLES.marks))[at] == 2
