"""Several tunes as one round. That a tune comes in on its own pick-up is common practice."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.lesson.pieces import cut
from companion.notation import read_book
from companion.places import shipped
from companion.tune.sets import in_a_set
from companion.tune.tune_values import OnceThrough
from companion.tune.unfold import unfold
from tests.melody import make_round
from tests.shipped_tables import TABLES

Q = "1/8"
PLAIN = make_round([("A", 1, [[(60, Q), (62, Q), (64, Q), (65, Q)], [(67, "1/4"), (60, "1/4")]])])
UPBEAT = make_round([("A", 1, [[(72, Q)], [(71, Q)] * 4, [(69, "1/4"), (67, Q)]])], pickup=Q)


def test_one_after_the_other_with_parts_of_their_own() -> None:
    both = in_a_set([PLAIN, PLAIN])
    assert [note.part for note in both.notes] == ["1A"] * 6 + ["2A"] * 6
    assert both.length == 2 * PLAIN.length
    assert [note.at for note in both.notes[6:]] == [note.at + PLAIN.length for note in PLAIN.notes]
    assert both.notes[6].written == 6
    assert {piece.name for piece in cut(both, (), rules=TABLES.lesson)} >= {
        "1A bar 2",
        "1A into 2A",
        "2A back into 1A",
        "round",
    }


def test_a_tune_comes_in_on_its_pickup_and_what_is_held_is_cut_short() -> None:
    both = in_a_set([PLAIN, UPBEAT])
    assert both.notes[6].pitch == 72
    assert both.notes[6].at == PLAIN.length - Fraction(1, 8)
    assert both.notes[5].length == Fraction(1, 8)
    assert both.notes[7].at == PLAIN.length  # the bar line stays where it was


def test_after_a_pickup_without_one_the_last_bar_is_filled() -> None:
    both = in_a_set([UPBEAT, PLAIN])
    assert both.notes[7].at == UPBEAT.length + UPBEAT.pickup
    assert both.pickup == UPBEAT.pickup
    # Round again the pick-up comes before the bar line.
    assert both.length == UPBEAT.length + PLAIN.length


def test_none_is_no_set() -> None:
    with pytest.raises(ValueError, match="at least one"):
        in_a_set([])


BOOK = read_book(shipped("demo_tunes", "tanners_quay.abc"))
ROUNDS = [unfold(tune) for tune in BOOK.tunes]


@given(st.lists(st.sampled_from([*ROUNDS, PLAIN, UPBEAT]), min_size=1, max_size=5))
def test_nothing_overlaps_nothing_is_lost(rounds: list[OnceThrough]) -> None:
    made = in_a_set(rounds)
    assert sum(len(round_.notes) for round_ in rounds) - len(rounds) <= len(made.notes)
    for before, after in pairwise(made.notes):
        assert before.at + before.length <= after.at
        assert before.length > 0
    assert made.notes[-1].at + made.notes[-1].length <= made.length
    for one, other in pairwise(made.bars):
        assert one.at + one.length == other.at
    assert made.bars[-1].at + made.bars[-1].length == made.length
