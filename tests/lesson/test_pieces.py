"""Cutting into pieces. That a part has two-bar phrases and two halves is common practice."""

from __future__ import annotations

import pytest

from companion.lesson.learning_order import course
from companion.lesson.lesson_values import Kind, Piece
from companion.lesson.pieces import cut
from companion.tune.tune_values import OnceThrough
from tests.melody import make_round
from tests.shipped_tables import TABLES

Q = "1/8"


def bar(*pitches: int, length: str = Q) -> list[tuple[int, str]]:
    return [(pitch, length) for pitch in pitches]


def two_parts() -> OnceThrough:
    """AABB, four bars a part of 2/4; bars 1 and 3 of A are the same, B ends otherwise the second time."""
    a = [bar(62, 64, 66, 69), bar(71, 69, 66, 64), bar(62, 64, 66, 69), bar(64, 64, 62, 62)]
    b = [bar(74, 73, 71, 69), bar(71, 69, 66, 64), bar(74, 73, 71, 69)]
    first, second = [*b, bar(66, 64, 62, 69)], [*b, [(62, "1/2")]]
    return make_round([("A", 1, a), ("A", 2, a), ("B", 1, first), ("B", 2, second)])


def by_name(pieces: tuple[Piece, ...]) -> dict[str, Piece]:
    names = {piece.name: piece for piece in pieces}
    assert len(names) == len(pieces)
    return names


def test_a_part_is_cut_into_bars_phrases_and_the_part() -> None:
    names = by_name(cut(two_parts(), (), rules=TABLES.lesson))
    assert (names["A bar 2"].first, names["A bar 2"].last) == (4, 7)
    assert (names["A phrase 2"].first, names["A phrase 2"].last) == (8, 15)
    assert (names["A part"].first, names["A part"].last) == (0, 15)
    assert (names["B part"].first, names["B part"].last) == (32, 47)


def test_an_eight_bar_part_has_two_halves() -> None:
    eight = [bar(62 + i, 64, 66, 69) for i in range(8)]
    names = by_name(cut(make_round([("A", 1, eight)]), (), rules=TABLES.lesson))
    assert (names["A half 1"].first, names["A half 1"].last) == (0, 15)
    assert (names["A half 2"].first, names["A half 2"].last) == (16, 31)


def test_what_is_the_same_is_said_and_not_taught_twice() -> None:
    pieces = cut(two_parts(), (), rules=TABLES.lesson)
    names = by_name(pieces)
    assert names["A bar 3"].same_as == "A bar 1"
    assert names["A bar 2"].same_as is None
    assert names["B bar 2"].same_as == "A bar 2"
    taught = [piece.name for piece in course(pieces)]
    assert "A bar 3" not in taught
    assert taught[:3] == ["A bar 1", "A bar 2", "A phrase 1"]
    assert taught[-3:] == ["round", "round, twice", "round, three times"]


def test_a_second_ending_is_a_bar_of_its_own() -> None:
    names = by_name(cut(two_parts(), (), rules=TABLES.lesson))
    assert (names["B bar 4, time 2"].first, names["B bar 4, time 2"].last) == (60, 60)
    assert "A bar 4, time 2" not in names


def test_joins_lead_from_the_last_bar_into_the_first_and_round_again() -> None:
    round_ = two_parts()
    names = by_name(cut(round_, (), rules=TABLES.lesson))
    assert (names["A into B"].first, names["A into B"].last) == (28, 35)
    back = names["B back into A"]
    assert (back.first, back.last) == (60, 3)
    assert back.notes(len(round_.notes)) == (60, 0, 1, 2, 3)
    assert back.kind is Kind.JOIN


def test_every_piece_lies_in_the_round() -> None:
    round_ = two_parts()
    for piece in cut(round_, (), rules=TABLES.lesson):
        assert 0 <= piece.first < len(round_.notes)
        assert 0 <= piece.last < len(round_.notes)
        assert piece.difficulty > 0


def test_a_pickup_belongs_to_the_bar_it_leads_into() -> None:
    part = [bar(69), bar(62, 64, 66, 69), bar(71, 69, 66)]
    round_ = make_round([("A", 1, part), ("A", 2, part)], pickup=Q)
    names = by_name(cut(round_, (), rules=TABLES.lesson))
    assert (names["A bar 1"].first, names["A bar 1"].last) == (0, 4)
    assert (names["A into A"].first, names["A into A"].last) == (5, 12)


@pytest.mark.parametrize("bars", [1, 2, 3, 5, 7])
def test_odd_numbers_of_bars_are_cut_without_loss(bars: int) -> None:
    round_ = make_round([("A", 1, [bar(62 + i, 64, 66, 69) for i in range(bars)])])
    pieces = cut(round_, (), rules=TABLES.lesson)
    covered = {i for piece in pieces if piece.kind is Kind.BAR for i in range(piece.first, piece.last + 1)}
    assert covered == set(range(len(round_.notes)))
    assert sum(piece.kind is Kind.BAR for piece in pieces) == bars


def test_quick_notes_are_harder_and_the_faster_the_tempo_the_more() -> None:
    round_ = two_parts()
    slow, quick, quicker = (
        by_name(cut(round_, (), whole=whole, rules=TABLES.lesson))["A bar 1"].difficulty for whole in (4.0, 1.0, 0.5)
    )
    assert slow < quick < quicker


def test_what_is_the_same_but_for_one_note_is_found() -> None:
    bars = [bar(62, 64, 66, 69), bar(71, 69, 66, 64), bar(62, 64, 66, 74), bar(71, 69, 64, 62)]
    names = by_name(cut(make_round([("A", 1, bars)]), (), rules=TABLES.lesson))
    assert (names["A bar 3"].like, names["A bar 3"].differs) == ("A bar 1", 11)
    assert names["A bar 2"].like is None
    assert names["A bar 4"].like is None  # two notes differ


def test_several_rounds_are_pieces_too() -> None:
    names = by_name(cut(two_parts(), (), rules=TABLES.lesson))
    twice = names["round, twice"]
    assert (twice.kind, twice.times, twice.first, twice.last) == (Kind.ROUNDS, 2, 0, names["round"].last)
    assert names["round"].within(twice)
    assert names["B back into A"].within(twice)
    assert not twice.within(names["round"])
