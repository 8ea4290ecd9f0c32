"""What the state machine does where all goes well: steps, rungs, pace, bites, and what comes next."""

from __future__ import annotations

from dataclasses import replace

import pytest

from companion.lesson.learning_order import lesson_of
from companion.lesson.lesson_values import SIZES, Kind, Lesson, Piece
from companion.lesson.pieces import cut
from companion.practice.machine import after_round, go_back, needed, take_up, turn
from companion.practice.player_state import (
    BY_HEART,
    FRESH,
    IN_TIME,
    LISTEN,
    SPOT,
    Focus,
    MoveKnown,
    Outcome,
    PieceState,
    PlayerState,
    start,
    task,
)
from tests.melody import make_round
from tests.practice.lessons import RULES, demo, four_bars
from tests.practice.test_machine_rules import (
    BAR_1,
    BAR_2,
    JOIN,
    ORDER,
    PHRASE_1,
    ROUND,
    SOLID,
    THRICE,
    TIME,
    TWICE,
    at,
    played,
    with_known,
    with_spots,
)
from tests.shipped_tables import TABLES

TOP = RULES.top_rung(Kind.BAR)


def named(lesson: Lesson, name: str) -> int:
    return [piece.name for piece in lesson.pieces].index(name)


# Steps


def test_a_piece_is_heard_as_often_as_the_rules_say() -> None:
    rules = replace(RULES, listen_rounds=3)
    state, said = start(four_bars(), rules), []
    for _ in range(3):
        assert task(state, rules).step == LISTEN
        state, news = played(state, rules=rules)
        said.append(news)
    assert said == ["", "", "step"]
    assert state.standing == PieceState(ORDER)


@pytest.mark.parametrize(
    ("index", "slips", "times"), [(BAR_1, 0, 3), (PHRASE_1, 0, 1), (JOIN, 0, 1), (PHRASE_1, 1, 3), (ROUND, 0, 1)]
)
def test_what_is_larger_than_a_bar_and_right_at_sight_is_played_in_order_once(
    index: int, slips: int, times: int
) -> None:
    state = at(index, PieceState(ORDER, slips=slips))
    assert needed(state, RULES) == times
    for _ in range(times - 1):
        state, news = played(state)
        assert news == ""
    assert played(state)[1] == "step"


@pytest.mark.parametrize(("index", "times"), [(BAR_1, 3), (ROUND, 3), (TWICE, 2), (THRICE, 1)])
def test_several_rounds_without_a_stop_count_as_so_many(index: int, times: int) -> None:
    assert needed(at(index), RULES) == times


def test_the_clock_begins_at_the_players_pace_or_where_the_piece_has_been_right() -> None:
    """But no faster than is good enough for it."""
    for pace, known, rung in ((0, FRESH, 0), (2, FRESH, 2), (2, 3, 3), (3, 2, 3), (0, 10, TOP), (6, FRESH, TOP)):
        state = replace(at(BAR_1, PieceState(ORDER, clean=2)), pace=pace)
        # The last of three clean rounds makes its moves known as often as it takes, at what they were right before.
        state = with_known(state, MoveKnown(RULES.known_needed, known), 1, 2, 3)
        state, news = played(state)
        assert (news, state.standing) == ("step", PieceState(TIME, rung))


def test_a_step_begins_every_count_anew() -> None:
    rules = replace(RULES, in_order_needed=1)
    state = at(BAR_1, PieceState(ORDER, failed=2, slips=2), rules=rules)
    state, news = played(state, rules=rules)
    assert (news, state.standing) == ("step", PieceState(TIME, slips=2))


# Rungs


def test_each_rung_asks_for_three_clean_rounds_anew() -> None:
    """And a mistake in between for three more."""
    state = at(BAR_1, PieceState(TIME, slips=1))
    said = []
    for faults in ((), (), (), (), (2,), (), (), ()):
        state, news = played(state, *faults)
        said.append(news)
    assert said == ["", "", "faster", "", "", "", "", "faster"]


def test_a_clean_round_ends_the_row_of_failures() -> None:
    state = at(BAR_1, PieceState(TIME, 2, failed=RULES.failed_lower - 1))
    state, _ = played(state)
    assert state.standing == PieceState(TIME, 2, clean=1)


def test_the_tempo_goes_up_by_the_stride_and_the_stride_by_one() -> None:
    state = replace(at(ROUND, PieceState(TIME, 1, clean=2)), stride=4)
    state, news = played(state)
    assert (news, state.standing.rung, state.stride) == ("faster", 5, 5)
    state = replace(at(ROUND, PieceState(TIME, 8, clean=2)), stride=RULES.most_stride)
    state, _ = played(state)
    assert (state.standing.rung, state.stride) == (RULES.top_rung(Kind.ROUND), RULES.most_stride)


def test_after_a_slip_the_stride_and_the_pace_stay() -> None:
    state = replace(at(BAR_1, PieceState(TIME, clean=2, slips=1)), stride=4)
    state, news = played(state)
    assert (news, state.stride, state.pace) == ("faster", 4, 0)


def test_within_a_spot_the_stride_and_the_pace_stay() -> None:
    spot = Focus(four_bars().around[2], SPOT, 8, 3, PieceState(TIME, clean=2))
    state, news = played(replace(at(BAR_1), focus=(spot,)))
    assert (news, state.standing.rung, state.stride, state.pace) == ("faster", 3, RULES.stride, 0)


def test_the_pace_rises_where_a_piece_went_well_from_it() -> None:
    for rung, pace, after in ((0, 0, 3), (3, 3, 6), (5, 5, RULES.fastest_pace), (2, 0, 0), (0, 3, 3)):
        state = replace(at(ROUND, PieceState(TIME, rung, clean=2)), pace=pace)
        assert played(state)[0].pace == after


# Done


def test_a_piece_gone_back_to_is_counted_anew() -> None:
    state, news = played(at(BAR_1, PieceState(TIME, TOP, clean=2, slips=1)))
    assert news == "next"
    assert state.standings[BAR_1] == PieceState(TIME, TOP, slips=1, done=True)
    state = go_back(state)
    assert state.piece.name == "A bar 1"
    assert played(state)[1] == ""


@pytest.mark.parametrize(
    ("index", "size", "after"), [(BAR_1, 0, 1), (PHRASE_1, 0, 2), (PHRASE_1, 1, 2), (BAR_1, 1, 2), (ROUND, 0, 2)]
)
def test_the_bite_grows_by_one_size_to_a_half_at_most(index: int, size: int, after: int) -> None:
    rung = RULES.top_rung(four_bars().pieces[index].kind)
    state = replace(at(index, PieceState(TIME, rung, clean=2)), size=size)
    state, news = by_heart_too(played(state))
    assert (news, state.size) == ("next", after)
    assert SIZES[2] is Kind.HALF
    slipped = replace(at(index, PieceState(TIME, rung, clean=2, slips=1)), size=size)
    assert by_heart_too(played(slipped))[0].size == size


def by_heart_too(after: tuple[PlayerState, str]) -> tuple[PlayerState, str]:
    """Where the piece is to be played by heart before it counts, after that round too."""
    return played(after[0]) if after[1] == BY_HEART else after


def test_a_phrase_counts_once_it_has_gone_right_without_being_shown() -> None:
    rung = RULES.top_rung(Kind.PHRASE)
    state, news = played(at(PHRASE_1, PieceState(TIME, rung, clean=2)))
    assert (news, task(state, RULES).by_heart, task(state, RULES).step) == (BY_HEART, True, IN_TIME)
    assert not state.standings[PHRASE_1].done
    left, news = played(state)
    assert news == "next"
    assert left.standings[PHRASE_1].done
    assert not left.standings[PHRASE_1].by_heart
    # Where it goes wrong it is shown once more, at the same tempo, and then tried by heart again.
    task_now = task(state, RULES)
    shown, news = after_round(state, Outcome(task_now, False, frozenset({1})), RULES)
    assert (news, task(shown, RULES).by_heart, task(shown, RULES).share) == ("shown", False, task_now.share)
    again, news = played(shown)
    assert (news, task(again, RULES).by_heart) == (BY_HEART, True)
    # Nobody is kept at it for ever.
    for n in range(1, RULES.by_heart_tries):
        again, news = after_round(again, Outcome(task(again, RULES), False, frozenset({1})), RULES)
        assert news == ("next" if n == RULES.by_heart_tries - 1 else "shown")
        again, _ = played(again) if news == "shown" else (again, "")
    assert again.current != PHRASE_1


def test_a_bar_and_a_table_without_by_heart_need_none() -> None:
    assert played(at(BAR_1, PieceState(TIME, RULES.top_rung(Kind.BAR), clean=2)))[1] == "next"
    none = replace(RULES, by_heart=frozenset())
    state = at(PHRASE_1, PieceState(TIME, RULES.top_rung(Kind.PHRASE), clean=2))
    assert after_round(state, Outcome(task(state, none), True), none)[1] == "next"


def test_after_a_spot_the_next_one_comes_and_then_the_piece_with_its_counts_anew() -> None:
    state = with_spots(at(BAR_1, PieceState(TIME, 2, clean=1, failed=2, slips=3)), 1, 2)
    for note in (2, 1):
        assert state.piece == state.lesson.around[note]
        for _ in range(2):
            state, _ = played(state)
        state, news = played(state)
        assert news == "grown"
    assert (state.focus, state.standing) == ((), PieceState(TIME, 2, slips=3))


def test_after_a_turn_what_rested_comes_back() -> None:
    state = turn(at(BAR_1, PieceState(TIME, 2)), RULES).put(PieceState(TIME, TOP, clean=2))
    assert (state.current, state.aside) == (BAR_2, BAR_1)
    state, news = played(state)
    assert (news, state.current, state.aside, state.standing) == ("next", BAR_1, None, PieceState(TIME, 2))
    assert state.standings[BAR_2].done


def test_what_rested_untouched_begins_in_time_where_it_is_known_by_now() -> None:
    state = replace(at(BAR_2, PieceState(TIME, TOP, clean=2)), aside=BAR_1)
    state = with_known(state, MoveKnown(RULES.known_needed, 1), 1, 2, 3)
    state, _ = played(state)
    assert (state.current, state.standing) == (BAR_1, PieceState(TIME, 1))


# What comes next


def test_the_last_piece_stays() -> None:
    lesson = four_bars()
    everything = tuple(range(len(lesson.pieces)))
    state = take_up(replace(at(BAR_1, done=everything).put(PieceState(TIME, 4, done=True)), aside=BAR_2), RULES)
    assert (state.current, state.aside) == (THRICE, None)
    assert state.finished


def test_pieces_known_already_are_done() -> None:
    state = take_up(with_known(at(BAR_1), SOLID, *range(1, 16)), RULES)
    assert state.piece.name == "round"
    assert [standing.done for standing in state.standings] == [True] * 7 + [False] * 4


def test_in_a_tutors_order_nothing_is_passed_over() -> None:
    lesson = replace(four_bars(), fixed=True)
    state = take_up(replace(start(lesson, RULES), size=2), RULES)
    assert state.piece.name == "A bar 1"
    assert take_up(replace(start(four_bars(), RULES), size=2), RULES).piece.name == "A phrase 1"


def test_no_bite_is_larger_than_a_phrase_but_joins_are_passed_over_for_the_half() -> None:
    """To one for whom halves go well too: phrases come one by one, and the half joins them."""
    lesson = demo()
    phrases = (named(lesson, "A phrase 1"), named(lesson, "A phrase 2"))
    state = replace(start(lesson, RULES), size=SIZES.index(Kind.HALF))
    names = []
    for index in (*phrases, None):
        state = take_up(state, RULES)
        names.append(state.piece.name)
        if index is not None:
            state = state.put_at(index, PieceState(TIME, 6, done=True))
            for bar in ("A bar 1", "A bar 2") if index == phrases[0] else ("A bar 3", "A bar 4"):
                state = state.put_at(named(lesson, bar), PieceState(TIME, 6, done=True))
    assert names == ["A phrase 1", "A phrase 2", "A half 1"]
    by_phrases = take_up(replace(state, size=1), RULES)
    assert by_phrases.piece.name == "A phrase 1 into 2"


def test_two_bars_joined_are_less_than_a_phrase() -> None:
    lesson = four_bars()
    join = Piece("A bar 1 into 2", Kind.JOIN, 2, 6, None, 0.0)
    state = start(replace(lesson, pieces=(join, *lesson.pieces)), RULES)
    assert take_up(replace(state, size=1), RULES).piece.name == "A phrase 1"
    assert take_up(state, RULES).piece.name == "A bar 1 into 2"


# What need not be heard again


@pytest.mark.parametrize(("known", "step"), [(13, IN_TIME), (12, LISTEN)])
def test_a_round_of_which_so_much_is_known_begins_in_time(known: int, step: str) -> None:
    """Of 16 notes 15 in a hundred may be new: two of its moves."""
    state = with_known(at(BAR_1, done=tuple(range(1, 7))), MoveKnown(RULES.known_needed, 2), *range(1, known + 1))
    state = take_up(state.put_at(BAR_1, PieceState(TIME, done=True)), RULES)
    assert state.piece.name == "round"
    assert task(state, RULES) == replace(task(state, RULES), step=step)
    assert state.standing.rung == (2 if step == IN_TIME else 0)


def test_a_phrase_is_heard_where_a_single_move_of_it_is_new() -> None:
    state = with_known(at(BAR_2, done=(BAR_1,)), MoveKnown(RULES.known_needed, 2), 1, 2, 3, 5, 6, 7)
    state = take_up(state.put_at(BAR_2, PieceState(TIME, done=True)), RULES)
    assert (state.piece.name, state.standing) == ("A phrase 1", PieceState())
    state = with_known(state, MoveKnown(RULES.known_needed, FRESH), 4)
    assert take_up(state, RULES).standing == PieceState(TIME)


def test_a_half_may_lack_one_move_however_short_it_is() -> None:
    lesson = demo()
    half = named(lesson, "A half 1")
    moves = sorted(set(lesson.moves[1:13]))
    rules = replace(RULES, nearly_known=0.0)
    for lacking, step in ((1, TIME), (2, 0)):
        state = start(lesson, rules)
        for index in range(half):
            state = state.put_at(index, PieceState(TIME, 6, done=True))
        state = with_known(state, MoveKnown(rules.known_needed, 1), *moves[lacking:])
        state = take_up(state, rules)
        assert (state.current, state.standing.step) == (half, step)


def two_bars_but_for_one_note(differs: int = 3) -> Lesson:
    """Two bars of six notes, the same but for one."""
    bars = [[(60 + 2 * step, "1/8") for step in range(6)] for _ in range(2)]
    bars[1][differs] = (90, "1/8")
    round_ = make_round([("A", 1, bars)])
    return lesson_of(round_, (), cut(round_, (), rules=TABLES.lesson))


def test_what_is_new_in_a_bar_like_another_is_the_note_that_differs() -> None:
    lesson = two_bars_but_for_one_note()
    state = start(lesson, RULES).put(PieceState(TIME, 4, slips=1, done=True))
    same = sorted({lesson.moves[note] for note in range(7, 12)} - {9, 10})
    state = with_known(state, MoveKnown(RULES.known_needed, 2), *same)
    state = take_up(state, RULES)
    assert state.standings[state.current] == PieceState(TIME, 2)
    assert state.focus == (Focus(lesson.around[9], SPOT, None, RULES.in_order_needed, PieceState(ORDER)),)
    # Where a third move is not known, or the other bar is not good enough yet, it is heard as any other.
    missing = with_known(state, MoveKnown(), same[0])
    for before in (missing, state.put_at(0, PieceState(TIME, 2))):
        fresh = replace(before, focus=(), current=0).put_at(1, PieceState())
        turned = turn(fresh, RULES)
        assert (turned.current, turned.focus, turned.standing) == (1, (), PieceState())


def test_where_nothing_is_played_without_a_clock_the_note_that_differs_is_not_either() -> None:
    rules = replace(RULES, steps=(LISTEN, IN_TIME))
    lesson = two_bars_but_for_one_note()
    state = start(lesson, rules).put(PieceState(1, 4, done=True))
    state = with_known(state, MoveKnown(rules.known_needed, 2), *lesson.moves)
    state = replace(state, known=(*state.known[:9], MoveKnown(), MoveKnown(), *state.known[11:]))
    state = take_up(state, rules)
    assert (state.current, state.focus, state.standing) == (1, (), PieceState(1, 2))
