"""The state machine: what a round does to where a player stands. The numbers are those of `config/lesson.toml`."""

from __future__ import annotations

import json
import random
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.errors import UserError
from companion.lesson.learning_order import lesson_of
from companion.lesson.lesson_values import Kind, Lesson
from companion.lesson.pieces import cut
from companion.practice.machine import after_round, again, faster, following, go_back, go_on, slower, turn
from companion.practice.player_state import AGAIN, FRESH, IN_ORDER, IN_TIME, LISTEN, Outcome, PlayerState, start, task
from companion.practice.state_json import from_plain, to_plain
from tests.melody import make_round
from tests.practice.lessons import RULES, demo, four_bars
from tests.shipped_tables import TABLES

Player = Callable[[PlayerState], frozenset[int]]


def once(state: PlayerState, *faults: int) -> tuple[PlayerState, str]:
    """Play the task in hand once, with mistakes at some notes of the round."""
    return after_round(state, Outcome(task(state, RULES), not faults, frozenset(faults)), RULES)


def play(state: PlayerState, times: int) -> tuple[PlayerState, list[str]]:
    """Play clean rounds, each for the task in hand."""
    news = []
    for _ in range(times):
        state, what = once(state)
        news.append(what)
    return state, news


def until(state: PlayerState, news: str, most: int = 50) -> PlayerState:
    """Play clean rounds until something happens."""
    for _ in range(most):
        state, what = once(state)
        if what == news:
            return state
    raise AssertionError(f"no {news!r} in {most} clean rounds")


def in_time(lesson: Lesson) -> PlayerState:
    state, _ = play(start(lesson, RULES), RULES.listen_rounds + RULES.in_order_needed)
    assert task(state, RULES).step == IN_TIME
    return state


def taken_up(state: PlayerState, name: str) -> PlayerState:
    """The state with a piece of the course in hand that nobody has touched."""
    names = [piece.name for piece in state.course]
    for _ in range(names.index(name)):
        state = go_on(state)
    assert state.piece.name == name
    return state


def test_a_bar_is_heard_then_played_in_order_three_times_then_in_time() -> None:
    state = start(demo(), RULES)
    assert state.piece.kind is Kind.BAR
    assert task(state, RULES).step == LISTEN
    state, news = play(state, RULES.listen_rounds)
    assert news[-1] == "step"
    assert task(state, RULES).step == IN_ORDER
    state, news = play(state, 3)
    assert news == ["", "", "step"]
    assert task(state, RULES).step == IN_TIME
    assert task(state, RULES).share == RULES.rungs[0]


def test_a_mistake_in_order_begins_the_count_again() -> None:
    state, _ = play(start(demo(), RULES), RULES.listen_rounds + 2)
    state, _ = once(state, state.piece.last)
    state, news = play(state, 3)
    assert news == ["", "", "step"]


def test_three_clean_rounds_in_a_row_raise_the_tempo() -> None:
    state, news = play(in_time(demo()), 3)
    assert news == ["", "", "faster"]
    assert task(state, RULES).share > RULES.rungs[0]


def test_a_mistake_begins_the_count_of_clean_rounds_again() -> None:
    state, _ = play(in_time(demo()), 2)
    state, _ = once(state, state.piece.last)
    state, news = play(state, 2)
    assert news == ["", ""]
    assert state.standing.clean == 2
    assert task(state, RULES).share == RULES.rungs[0]


def test_the_step_of_the_tempo_grows_when_all_goes_well_and_is_small_again_after_failing() -> None:
    state = until(in_time(demo()), "faster")
    assert state.stride == RULES.stride + 1
    for _ in range(RULES.failed_lower):
        state, news = after_round(state, Outcome(task(state, RULES), False), RULES)
    assert news == "slower"
    assert state.stride == RULES.stride


def test_good_enough_at_its_tempo_and_the_next_piece_comes() -> None:
    state = in_time(demo())
    first = state.piece
    state = until(state, "next")
    assert state.piece != first
    assert state.standings[0].done
    assert state.standings[0].rung == RULES.top_rung(Kind.BAR)


def test_where_all_goes_well_the_bite_grows_to_a_phrase() -> None:
    state = until(start(demo(), RULES), "next")
    assert state.piece.name == "A phrase 1"


def test_a_bar_that_was_played_well_within_the_phrase_is_not_taken_up() -> None:
    state = until(until(start(demo(), RULES), "next"), "next")
    names = [piece.name for piece in state.course]
    assert state.standings[names.index("A bar 2")].done
    assert state.piece.name == "A phrase 2"


def test_after_a_mistake_the_next_bar_comes_as_it_stands_in_the_course() -> None:
    state = start(demo(), RULES)
    state, _ = play(state, RULES.listen_rounds)
    state, _ = once(state, state.piece.last)
    assert until(state, "next").piece.name == "A bar 2"


def test_where_one_place_keeps_failing_the_piece_shrinks_to_the_move_and_grows_again() -> None:
    state = in_time(demo())
    at = state.piece.first + 1
    for _ in range(RULES.shrink_after):
        state, news = once(state, at)
    assert news == "shrunk"
    assert state.piece.kind is Kind.MOVE
    assert at in state.piece.notes(state.lesson.count)
    assert following(state, RULES) == state.course[0]
    state = until(state, "grown")
    assert state.piece == state.course[0]


def test_a_place_that_has_to_be_taken_out_again_needs_more_clean_rounds() -> None:
    state = in_time(demo())
    at = state.piece.first + 1
    needed = []
    for _ in range(2):
        while not state.focus:
            state, _ = once(state, at)
        needed.append(state.focus[-1].needed)
        state = until(state, "grown")
    assert needed == [RULES.clean_needed, 2 * RULES.clean_needed]


def test_where_much_fails_at_once_smaller_pieces_come_first() -> None:
    state = taken_up(start(four_bars(), RULES), "round")
    state = until(state, "step")
    notes = range(1, 1 + 3 * (RULES.spots_at_once + 1), 3)
    for _ in range(RULES.shrink_after):
        state, news = once(state, *notes)
    assert news == "smaller"
    assert state.piece.kind is not Kind.ROUND


def test_failing_lowers_the_tempo_and_at_the_bottom_takes_the_clock_away() -> None:
    state = until(in_time(demo()), "faster")
    said = []
    for _ in range(200):
        state, news = after_round(state, Outcome(task(state, RULES), False), RULES)
        said.append(news)
        if task(state, RULES).step == IN_ORDER:
            break
    assert "slower" in said
    assert said[-1] == "step"


def test_what_is_the_same_but_for_one_note_begins_with_that_note() -> None:
    bars = [[(60 + step, "1/8") for step in range(6)], [(60 + step + 9 * (step == 3), "1/8") for step in range(6)]]
    round_ = make_round([("A", 1, bars)])
    lesson = lesson_of(round_, (), cut(round_, (), rules=TABLES.lesson))
    state = start(lesson, RULES)
    state, _ = play(state, RULES.listen_rounds)
    state = until(once(state, 5)[0], "next")  # a slip, so that the bite stays a bar
    assert task(state, RULES).step == IN_ORDER
    assert state.piece.kind is Kind.MOVE
    assert 9 in state.piece.notes(lesson.count)
    state = until(state, "grown")
    assert state.piece.name == "A bar 2"
    assert state.piece.like == "A bar 1"
    assert task(state, RULES).step == IN_TIME


def test_what_comes_next_is_foreseen() -> None:
    state = start(demo(), RULES)
    for _ in range(60):
        foreseen = following(state, RULES)
        state, news = once(state)
        if news == "next":
            assert state.piece == foreseen
    while not state.finished:
        state, _ = once(state)
    assert following(state, RULES) is None


def test_a_round_played_for_another_task_changes_nothing() -> None:
    state = in_time(demo())
    other = task(go_on(state), RULES)
    assert after_round(state, Outcome(other, True), RULES) == (state, "")


def test_the_player_may_go_on_back_faster_and_slower() -> None:
    state = start(demo(), RULES)
    assert go_back(state) == state
    assert go_on(state).piece == state.course[1]
    quick = faster(in_time(demo()), RULES)
    assert task(quick, RULES).share == RULES.rungs[1]
    assert task(slower(quick, RULES), RULES).share == RULES.rungs[0]
    last = state
    for _ in range(len(state.course) + 3):
        last = go_on(last)
    assert last.piece == state.course[-1]


def test_what_was_learnt_before_is_played_once_and_worked_on_again_where_it_fails() -> None:
    state = until(start(demo(), RULES), "next")
    back = again(state, 0, AGAIN, RULES)
    assert back.piece == state.course[0]
    assert task(back, RULES).step == IN_TIME
    assert once(back)[1] == AGAIN
    assert once(back)[0].piece == state.piece
    for _ in range(RULES.again_tries):
        back, news = once(back, back.piece.last)
    assert news == "lost"
    assert not back.standings[0].done
    assert back.piece == state.course[0]


def test_pieces_take_turns() -> None:
    state = in_time(demo())
    other = turn(state, RULES)
    assert other.piece != state.piece
    assert set(other.piece.notes(other.lesson.count)).isdisjoint(state.piece.notes(state.lesson.count))
    home = turn(other, RULES)
    assert home.piece == state.piece
    assert home.standing == state.standing


def test_without_notes_there_is_nothing_to_practise() -> None:
    with pytest.raises(UserError, match="no notes"):
        start(Lesson((), (), ()), RULES)


def learner(seed: int, wrong: float) -> Player:
    """Somebody who makes mistakes by chance."""
    rng = random.Random(seed)

    def faults(state: PlayerState) -> frozenset[int]:
        return frozenset(at for at in state.piece.notes(state.lesson.count) if rng.random() < wrong)

    return faults


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from([0.0, 0.02, 0.1, 0.4, 1.0]), st.integers(0, 400), st.integers(1, 5))
def test_no_tempo_is_raised_and_no_piece_left_without_the_clean_rounds(
    seed: int, wrong: float, rounds: int, number: int
) -> None:
    lesson = demo(number)
    player, rng = learner(seed, wrong), random.Random(seed)
    state = start(lesson, RULES)
    clean_in_a_row = 0
    fastest = [FRESH] * lesson.count  # the rung at which each move was right when it was last played in time
    in_a_row = [0] * lesson.count  # how often in a row each move was right
    for _ in range(rounds):
        if rng.random() < 0.02 and (turned := turn(state, RULES)) is not state:
            state, clean_in_a_row = turned, 0
        asked, before = task(state, RULES), state
        faults = frozenset() if asked.step == LISTEN else player(state)
        state, news = after_round(state, Outcome(asked, not faults, faults), RULES)
        clean_in_a_row = 0 if faults else clean_in_a_row + 1
        if asked.step != LISTEN:
            for move in {lesson.moves[at] for at in asked.piece.notes(lesson.count)[1:]}:
                in_a_row[move] += 1
            for at in faults:
                in_a_row[lesson.moves[at]] = 0
        if asked.step == IN_TIME:
            rung = RULES.rungs.index(asked.share)
            for at in asked.piece.notes(lesson.count)[1:]:
                fastest[lesson.moves[at]] = max(fastest[lesson.moves[at]], rung)
            for at in faults:
                fastest[lesson.moves[at]] = min(fastest[lesson.moves[at]], rung - 1)
        after = task(state, RULES)
        if after.piece == asked.piece and after.step == asked.step == IN_TIME and after.share > asked.share:
            assert news == "faster"
            assert clean_in_a_row * asked.piece.times >= RULES.clean_needed
        for index, (was, now) in enumerate(zip(before.standings, state.standings, strict=True)):
            if now.done and not was.done and not (asked.by_heart and faults):  # forgotten often: it goes on for now
                piece = lesson.pieces[index]
                moves = [lesson.moves[at] for at in piece.notes(lesson.count)[1:]]
                assert all(fastest[move] >= RULES.top_rung(piece.kind) for move in moves)
                enough = asked.by_heart or clean_in_a_row * piece.times >= RULES.clean_needed
                by_itself = piece == asked.piece and enough
                assert by_itself or all(in_a_row[move] >= RULES.known_needed for move in moves)
        if after != asked:
            clean_in_a_row = 0
        plain = json.loads(json.dumps(to_plain(state, RULES)))
        assert from_plain(lesson, plain, RULES) == state


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 150), st.integers(1, 5))
def test_whatever_went_before_clean_rounds_lead_to_the_end(seed: int, rounds: int, number: int) -> None:
    player = learner(seed, 0.15)
    state = start(demo(number), RULES)
    for _ in range(rounds):
        faults = frozenset() if task(state, RULES).step == LISTEN else player(state)
        state, _ = after_round(state, Outcome(task(state, RULES), not faults, faults), RULES)
    for _ in range(60 * len(state.course)):
        if state.finished:
            break
        state, _ = once(state)
    assert state.finished
    assert state.piece == state.course[-1]


def test_a_state_survives_a_course_that_has_changed() -> None:
    state, _ = play(start(demo(), RULES), 40)
    plain = to_plain(state, RULES)
    other = from_plain(demo(2), plain, RULES)
    assert len(other.standings) == len(demo(2).pieces)
    assert len(other.known) == demo(2).count
