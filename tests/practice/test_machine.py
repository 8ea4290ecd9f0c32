"""The state machine: what a round does to where a player stands. The numbers are those of `config/lesson.toml`."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.errors import UserError
from companion.lesson.model import Kind, Piece
from companion.lesson.rules import lesson_rules
from companion.practice.machine import (
    IN_ORDER,
    IN_TIME,
    LISTEN,
    Outcome,
    State,
    after_round,
    faster,
    from_plain,
    go_back,
    go_on,
    slower,
    start,
    task,
    to_plain,
)

RULES = lesson_rules()
COURSE = (
    Piece("A bar 1", Kind.BAR, 0, 3, None, 1.0),
    Piece("A bar 2", Kind.BAR, 4, 7, None, 1.0),
    Piece("A part", Kind.PART, 0, 7, None, 2.0),
    Piece("round", Kind.ROUND, 0, 7, None, 2.0),
)


def play(state: State, *rounds: bool) -> tuple[State, list[str]]:
    """Play rounds, clean or not, each for the task in hand."""
    news = []
    for clean in rounds:
        state, what = after_round(state, Outcome(task(state, RULES), True, clean), RULES)
        news.append(what)
    return state, news


def in_time() -> State:
    state, _ = play(start(COURSE), *[True] * (RULES.listen_rounds + RULES.in_order_needed))
    assert task(state, RULES).step == IN_TIME
    return state


def test_a_piece_is_heard_then_played_in_order_then_in_time() -> None:
    state = start(COURSE)
    assert task(state, RULES).step == LISTEN
    state, news = play(state, *[True] * RULES.listen_rounds)
    assert news[-1] == "step"
    assert task(state, RULES).step == IN_ORDER
    state, news = play(state, True, True, True)
    assert news == ["", "", "step"]
    assert task(state, RULES) == task(in_time(), RULES)


def test_three_clean_rounds_in_a_row_raise_the_tempo_by_one_rung() -> None:
    state, news = play(in_time(), True, True, True)
    assert news == ["", "", "faster"]
    assert task(state, RULES).share == RULES.rungs[1]


def test_a_mistake_begins_the_count_again() -> None:
    state, news = play(in_time(), True, True, False, True, True)
    assert news == [""] * 5
    assert task(state, RULES).share == RULES.rungs[0]
    assert state.standing.clean == 2


def test_at_the_top_rung_the_next_piece_comes() -> None:
    top = RULES.top_rung(Kind.BAR)
    state, news = play(in_time(), *[True] * (3 * (top + 1)))
    assert news[-1] == "next"
    assert state.piece.name == "A bar 2"
    assert state.standings[0].done


def test_failing_lowers_the_tempo_but_not_below_the_lowest_rung() -> None:
    state, _ = play(in_time(), True, True, True)
    state, news = play(state, *[False] * RULES.failed_lower)
    assert news[-1] == "slower"
    assert task(state, RULES).share == RULES.rungs[0]
    state, news = play(state, *[False] * (3 * RULES.failed_lower))
    assert set(news) == {""}
    assert task(state, RULES).share == RULES.rungs[0]


def test_a_silent_round_and_a_round_for_another_task_change_nothing() -> None:
    state = in_time()
    asked = task(state, RULES)
    assert after_round(state, Outcome(asked, False, False), RULES) == (state, "")
    moved = go_on(state)
    assert after_round(moved, Outcome(asked, True, True), RULES) == (moved, "")


def test_the_players_own_wishes_stay_within_the_course_and_the_ladder() -> None:
    state = go_back(start(COURSE))
    assert state.current == 0
    for _ in range(10):
        state = faster(go_on(state), RULES)
    assert state.piece.name == "round"
    for _ in range(10):
        state = faster(state, RULES)
    assert task(state, RULES).share == RULES.rungs[-1]
    for _ in range(20):
        state = slower(state, RULES)
    assert task(state, RULES).share == RULES.rungs[0]


def test_a_tune_without_notes_cannot_be_practised() -> None:
    with pytest.raises(UserError, match="no notes"):
        start(())


@given(st.lists(st.tuples(st.booleans(), st.booleans()), max_size=200))
def test_no_tempo_rises_and_no_piece_is_left_without_its_clean_rounds(rounds: list[tuple[bool, bool]]) -> None:
    state = start(COURSE)
    run = 0  # clean rounds in a row for the task in hand, counted apart from the machine
    for heard, clean in rounds:
        before, asked = state, task(state, RULES)
        state, news = after_round(state, Outcome(asked, heard, clean), RULES)
        if asked.step != LISTEN and heard:
            run = run + 1 if clean else 0
        if news in ("faster", "next"):
            assert run >= RULES.clean_needed
        if task(state, RULES) != asked:
            assert news in ("step", "faster", "slower", "next")
            run = 0
        if state.current != before.current:
            assert state.current > before.current
            assert all(standing.done for standing in state.standings[: state.current])
        elif news == "next":
            run = 0


@given(st.lists(st.booleans(), max_size=120))
def test_it_comes_back_from_the_record_to_the_state_it_was_in(rounds: list[bool]) -> None:
    state, _ = play(start(COURSE), *rounds)
    assert from_plain(COURSE, json.loads(json.dumps(to_plain(state))), RULES) == state


def test_a_course_that_has_changed_keeps_what_it_can() -> None:
    state, _ = play(in_time(), True, True, True)
    changed = (Piece("A bar 9", Kind.BAR, 8, 9, None, 1.0), *COURSE)
    back = from_plain(changed, to_plain(state), RULES)
    assert back.piece.name == "A bar 1"
    assert back.standing == state.standing
    assert (
        from_plain(COURSE, {"current": "gone", "standings": {"A bar 1": {"rung": 99, "step": -4}}}, RULES).standing.rung
        == len(RULES.rungs) - 1
    )
