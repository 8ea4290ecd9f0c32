"""Rounds in which some notes were not heard well enough to judge: the lesson holds them against nobody."""

from __future__ import annotations

from companion.practice.known_moves import learnt
from companion.practice.machine import after_round
from companion.practice.player_state import IN_TIME, MoveKnown, Outcome, RoundTask, start, task
from tests.practice.lessons import RULES, four_bars
from tests.practice.test_machine import in_time, once, play


def test_a_move_to_an_unsure_note_is_neither_right_nor_wrong() -> None:
    state = start(four_bars(), RULES)
    asked = RoundTask(state.course[0], IN_TIME, RULES.rungs[4])
    state = learnt(state, Outcome(asked, True, unsure=frozenset({2})), RULES)
    assert state.known[:4] == (MoveKnown(), MoveKnown(1, 4), MoveKnown(), MoveKnown(1, 4))
    # A sure mistake at the same note (an extra one before it, say) counts.
    state = learnt(state, Outcome(asked, False, frozenset({2}), frozenset({2})), RULES)
    assert state.known[2].wrong == 1
    beyond = learnt(state, Outcome(asked, True, unsure=frozenset({16})), RULES)
    assert beyond.known == learnt(state, Outcome(asked, True), RULES).known


def test_a_round_that_was_hardly_heard_fails_nothing_and_ends_no_row() -> None:
    state, _ = play(in_time(four_bars()), 2)
    before = state.standing
    for _ in range(20):  # as a failed round, it would have shrunk the piece or taken the tempo down
        outcome = Outcome(task(state, RULES), False, unsure=frozenset({1, 2}))
        assert outcome.unheard
        state, news = after_round(state, outcome, RULES)
        assert (state.standing, news) == (before, "")
    assert once(state)[1] == "faster"


def test_a_clean_round_with_an_unsure_note_counts_as_clean() -> None:
    state, _ = play(in_time(four_bars()), 2)
    outcome = Outcome(task(state, RULES), True, unsure=frozenset({1}))
    assert not outcome.unheard
    assert after_round(state, outcome, RULES)[1] == "faster"


def test_a_mistake_that_is_sure_counts_however_much_else_is_not() -> None:
    state, _ = play(in_time(four_bars()), 2)
    outcome = Outcome(task(state, RULES), False, frozenset({1}), frozenset({2, 3}))
    assert not outcome.unheard
    state, _ = after_round(state, outcome, RULES)
    assert (state.standing.clean, state.standing.failed) == (0, 1)
