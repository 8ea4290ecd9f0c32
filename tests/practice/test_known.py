"""What is known of a move after it went right and wrong, and what makes a piece known before it is taken up."""

from __future__ import annotations

from dataclasses import replace

import pytest

from companion.practice.known_moves import is_known, learnt, moves_in, rung_known
from companion.practice.player_state import FRESH, IN_ORDER, IN_TIME, MoveKnown, Outcome, PlayerState, RoundTask, start
from tests.practice.lessons import RULES, demo, four_bars

BAR_1, PHRASE_1, JOIN, ROUND, TWICE = 0, 2, 6, 7, 9
TOP = len(RULES.rungs) - 1


def heard(state: PlayerState, *faults: int, piece: int = BAR_1, rung: int | None = 4) -> PlayerState:
    """A round of a piece, in time at a rung or with no clock."""
    step, share = (IN_ORDER, RULES.rungs[0]) if rung is None else (IN_TIME, RULES.rungs[rung])
    return learnt(state, Outcome(RoundTask(state.course[piece], step, share), not faults, frozenset(faults)), RULES)


def with_known(known: MoveKnown, *moves: int) -> PlayerState:
    state = start(four_bars(), RULES)
    return replace(state, known=tuple(known if move in moves else one for move, one in enumerate(state.known)))


def test_the_moves_of_a_piece_are_those_between_its_notes() -> None:
    state = start(four_bars(), RULES)
    assert moves_in(state, state.course[BAR_1]) == [1, 2, 3]
    assert moves_in(state, state.course[8]) == [13, 14, 15, 0, 1, 2, 3]  # round the end


def test_a_right_round_in_time_makes_its_moves_known_at_its_rung() -> None:
    state = heard(start(four_bars(), RULES))
    assert state.known[:5] == (MoveKnown(), MoveKnown(1, 4), MoveKnown(1, 4), MoveKnown(1, 4), MoveKnown())
    assert heard(state, rung=2).known[1] == MoveKnown(2, 4)  # the fastest counts
    assert heard(state, rung=6).known[1] == MoveKnown(2, 6)


def test_a_right_round_with_no_clock_says_nothing_of_a_tempo() -> None:
    state = heard(start(four_bars(), RULES), rung=None)
    assert state.known[1] == MoveKnown(1, FRESH)
    assert heard(heard(state, rung=4), rung=None).known[1] == MoveKnown(3, 4)


def test_a_wrong_note_ends_the_row_and_brings_the_tempo_below_the_one_it_failed_at() -> None:
    state = with_known(MoveKnown(5, 7, 1, 2), 2)
    assert heard(state, 2, rung=4).known[2] == MoveKnown(0, 3, 2, 2)
    assert heard(state, 2, rung=9).known[2] == MoveKnown(0, 7, 2, 2)
    assert heard(state, 2, rung=0).known[2] == MoveKnown(0, FRESH, 2, 2)
    assert heard(state, 2, rung=None).known[2] == MoveKnown(0, 7, 2, 2)
    assert heard(state, 2).known[1] == MoveKnown(1, 4)


def test_so_many_times_right_in_a_row_and_what_went_wrong_is_forgotten() -> None:
    state = with_known(MoveKnown(RULES.forgotten_after - 2, 4, 2, 1), 1)
    state = heard(state)
    assert state.known[1] == MoveKnown(RULES.forgotten_after - 1, 4, 2, 1)
    assert heard(state).known[1] == MoveKnown(RULES.forgotten_after, 4, 0, 1)


def test_a_place_that_has_long_gone_right_was_never_taken_out() -> None:
    state = heard(with_known(MoveKnown(RULES.settled_after - 2, 4, 0, 3), 1))
    assert state.known[1] == MoveKnown(RULES.settled_after - 1, 4, 0, 3)
    assert heard(state).known[1] == MoveKnown(RULES.settled_after, 4, 0, 0)


def test_a_move_that_comes_twice_in_a_piece_and_fails_once_has_failed() -> None:
    lesson = demo()
    assert lesson.moves[14] == 1
    part = next(index for index, piece in enumerate(lesson.pieces) if piece.name == "A part")
    state = heard(start(lesson, RULES), 14, piece=part)
    assert state.known[1].right == 0
    assert state.known[1].wrong == 1


def test_a_note_that_fails_beyond_the_round_is_passed_over() -> None:
    assert heard(start(four_bars(), RULES), 16).known == heard(start(four_bars(), RULES)).known


@pytest.mark.parametrize(("right", "rung", "known"), [(3, 5, 5), (3, FRESH, FRESH), (2, 5, None), (9, TOP, TOP)])
def test_a_piece_is_known_at_its_slowest_move_where_each_was_right_so_often(
    right: int, rung: int, known: int | None
) -> None:
    state = with_known(MoveKnown(9, TOP), 1, 2)
    state = replace(state, known=(*state.known[:3], MoveKnown(right, rung), *state.known[4:]))
    assert rung_known(state, state.course[BAR_1], RULES) == known


def test_some_moves_may_be_lacking_and_no_more() -> None:
    state = with_known(MoveKnown(9, 5), 1, 2, 3, 5, 7)  # two of the phrase's seven are not known
    phrase = state.course[PHRASE_1]
    assert [rung_known(state, phrase, RULES, lacking) for lacking in (0, 1, 2, 3)] == [None, None, 5, 5]


def test_a_piece_is_known_at_the_tempo_that_is_good_enough_for_it() -> None:
    top = RULES.top_rung(four_bars().pieces[BAR_1].kind)
    for rung, known in ((top, True), (top - 1, False), (top + 1, True)):
        assert is_known(with_known(MoveKnown(9, rung), 1, 2, 3), BAR_1, RULES) == known
    assert not is_known(with_known(MoveKnown(9, TOP), 1, 2), BAR_1, RULES)


def test_the_round_is_always_played_itself_and_so_is_a_bar_of_one_note() -> None:
    state = with_known(MoveKnown(9, TOP), *range(16))
    assert is_known(state, JOIN, RULES)
    assert not is_known(state, ROUND, RULES)
    assert not is_known(state, TWICE, RULES)
    lesson = four_bars()
    short = replace(lesson.pieces[BAR_1], last=lesson.pieces[BAR_1].first)
    state = replace(state, lesson=replace(lesson, pieces=(short, *lesson.pieces[1:])))
    assert not is_known(state, BAR_1, RULES)
