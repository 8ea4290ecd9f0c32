"""The minutes of a sitting. The numbers are those of `config/lesson.toml`."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.practice.machine import after_round
from companion.practice.player_state import AGAIN, ENDING, LISTEN, Outcome, PlayerState, start, task
from companion.practice.sitting import MINUTE, Sitting, after, begin, largest_done
from tests.practice.lessons import RULES, demo


def practised(
    state: PlayerState, sitting: Sitting, seconds: float, rounds: int
) -> tuple[Sitting, PlayerState, list[str]]:
    """Clean rounds of so many seconds each."""
    said = []
    for _ in range(rounds):
        notes = notes_in_hand(state)
        state, news = after_round(state, Outcome(task(state, RULES), True), RULES)
        sitting, state, what = after(sitting, state, seconds, news, RULES, notes)
        said.append(what)
        if sitting.over:
            break
    return sitting, state, said


def notes_in_hand(state: PlayerState) -> int:
    """How many notes a round of the piece in hand has."""
    return len(state.piece.notes(state.lesson.count)) * state.piece.times


def learnt(rounds: int) -> PlayerState:
    """Where a player is after so many clean rounds of an open sitting."""
    sitting, state = begin(start(demo(), RULES), None, RULES)
    return practised(state, sitting, 1.0, rounds)[1]


def with_two_pieces() -> PlayerState:
    """Where a player is who has learnt two pieces of which neither is part of the other."""
    return next(state for rounds in range(200) if len(largest_done(state := learnt(rounds))) == 2)


def test_a_first_sitting_begins_with_the_first_piece() -> None:
    sitting, state = begin(start(demo(), RULES), 1200.0, RULES)
    assert state.focus == ()
    assert sitting.left == 1200.0


def test_a_later_one_begins_with_the_largest_pieces_that_were_good_enough() -> None:
    state = with_two_pieces()
    well = largest_done(state)
    _, state = begin(state, 1200.0, RULES)
    assert [one.why for one in state.focus] == [AGAIN] * RULES.again_pieces
    assert state.piece == state.course[well[0]]
    _, news = after_round(state, Outcome(task(state, RULES), True), RULES)
    assert news == AGAIN


def test_a_piece_that_is_part_of_a_larger_one_is_not_played_again_by_itself() -> None:
    state = learnt(200)
    well = [state.course[index] for index in largest_done(state)]
    assert all(not one.within(other) for one in well for other in well if one != other)


def test_pieces_take_turns_where_one_takes_long() -> None:
    sitting, state = begin(start(demo(), RULES), None, RULES)
    state, _ = after_round(state, Outcome(task(state, RULES), True), RULES)
    first = state.piece
    said = []
    for _ in range(20):  # out of time each round: never clean, and no single place to take out
        notes = notes_in_hand(state)
        state, news = after_round(state, Outcome(task(state, RULES), False), RULES)
        sitting, state, what = after(sitting, state, 20.0, news, RULES, notes)
        said.append(what)
        if what:
            break
    assert said[-1] == "turn"
    assert sitting.practised == RULES.turn_minutes * MINUTE
    assert state.piece != first


def test_it_ends_on_something_that_goes_well() -> None:
    sitting, state = begin(learnt(60), 600.0, RULES)
    sitting, state, said = practised(state, sitting, 15.0, 200)
    assert said[-1] == "over"
    assert ENDING in said
    assert sitting.practised <= 600.0
    assert state.focus == ()


def test_where_nothing_goes_well_yet_it_ends_all_the_same() -> None:
    sitting, state = begin(start(demo(), RULES), 120.0, RULES)
    for _ in range(20):
        asked, notes = task(state, RULES), notes_in_hand(state)
        state, news = after_round(state, Outcome(asked, asked.step == LISTEN), RULES)
        sitting, state, _ = after(sitting, state, 10.0, news, RULES, notes)
        if sitting.over:
            break
    assert sitting.over
    assert sitting.practised == 120.0


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.floats(0.0, 0.6), st.floats(30.0, 3000.0), st.floats(1.0, 60.0))
def test_every_sitting_ends_about_when_it_should(seed: int, wrong: float, length: float, each: float) -> None:
    rng = random.Random(seed)
    sitting, state = begin(start(demo(2), RULES), length, RULES)
    rounds = 0
    while not sitting.over:
        asked = task(state, RULES)
        notes = state.piece.notes(state.lesson.count)
        faults = frozenset(at for at in notes if rng.random() < wrong) if asked.step != LISTEN else frozenset()
        state, news = after_round(state, Outcome(asked, not faults, faults), RULES)
        sitting, state, _ = after(sitting, state, each, news, RULES, len(notes))
        rounds += 1
        assert rounds <= length / each + 3
    assert sitting.practised <= length + 2 * each


@pytest.mark.parametrize("note", [0.3, 0.6, 1.2])  # seconds: a tune that takes half a minute, and one that takes two
def test_a_long_tune_ends_about_when_it_should_too(note: float) -> None:
    length = 1200.0
    for rounds in range(60, 220, 8):
        state = learnt(rounds)
        sitting, state = begin(state, length, RULES)
        longest = 0.0
        while not sitting.over:
            notes = notes_in_hand(state)
            longest = max(longest, notes * note)
            state, news = after_round(state, Outcome(task(state, RULES), True), RULES)
            sitting, state, what = after(sitting, state, notes * note, news, RULES, notes)
            if what == ENDING:
                # What it ends on fits into what is left of it.
                assert notes_in_hand(state) * note <= max(length - sitting.practised, RULES.ending_minutes * MINUTE)
        assert abs(sitting.practised - length) <= RULES.ending_minutes * MINUTE + longest / 2
