"""Each rule of the state machine at its edge, mostly on four bars of four notes in which no move comes twice."""

from __future__ import annotations

from dataclasses import replace

import pytest

from companion.lesson.lesson_rules import LessonRules
from companion.lesson.lesson_values import Kind
from companion.practice.machine import after_round, again, faster, following, go_back, go_on, needed, slower, turn
from companion.practice.player_state import (
    AGAIN,
    IN_ORDER,
    IN_TIME,
    SPOT,
    Focus,
    MoveKnown,
    Outcome,
    PieceState,
    PlayerState,
    start,
    task,
)
from tests.practice.lessons import RULES, demo, four_bars

TIME, ORDER = RULES.steps.index(IN_TIME), RULES.steps.index(IN_ORDER)
BAR_1, BAR_2, PHRASE_1, BAR_3, BAR_4, PHRASE_2, JOIN, ROUND, BACK, TWICE, THRICE = range(11)
IN_HAND = PieceState(TIME)  # in time, at the lowest rung
SOLID = MoveKnown(right=RULES.known_needed, rung=len(RULES.rungs) - 1)


def at(
    index: int, standing: PieceState = IN_HAND, done: tuple[int, ...] = (), rules: LessonRules = RULES
) -> PlayerState:
    """The four bars with one piece in hand, and some done."""
    state = start(four_bars(), rules)
    for other in done:
        state = state.put_at(other, PieceState(TIME, 4, done=True))
    return replace(state, current=index).put_at(index, standing)


def with_known(state: PlayerState, known: MoveKnown, *moves: int) -> PlayerState:
    """The state in which so much is known of some moves."""
    return replace(state, known=tuple(known if move in moves else one for move, one in enumerate(state.known)))


def played(state: PlayerState, *faults: int, rules: LessonRules = RULES) -> tuple[PlayerState, str]:
    return after_round(state, Outcome(task(state, rules), not faults, frozenset(faults)), rules)


def with_spots(state: PlayerState, *notes: int) -> PlayerState:
    """The state with spots taken out, the last one in hand."""
    spots = [Focus(state.lesson.around[note], SPOT, 0, 3, PieceState(TIME)) for note in notes]
    return replace(state, focus=tuple(spots))


# What the player wishes


def test_going_on_from_a_spot_leads_to_the_next_one_and_then_to_the_piece() -> None:
    state = with_spots(at(BAR_1), 1, 2)
    state = go_on(state)
    assert state.piece == state.lesson.around[1]
    state = go_on(state)
    assert (state.focus, state.current) == ((), BAR_1)


def test_going_back_from_a_spot_leads_to_the_piece_at_once() -> None:
    state = go_back(with_spots(at(BAR_2), 5, 6))
    assert (state.focus, state.current) == ((), BAR_2)


def test_going_back_is_one_piece_at_a_time() -> None:
    assert [go_back(at(index)).current for index in (0, 1, 2, 3)] == [0, 0, 1, 2]


@pytest.mark.parametrize(("wish", "rungs"), [(faster, (1, 5, 10, 10)), (slower, (0, 3, 8, 9))])
def test_faster_and_slower_are_one_rung_and_begin_every_count_anew(wish: object, rungs: tuple[int, ...]) -> None:
    for rung, expected in zip((0, 4, 9, 10), rungs, strict=True):
        state = wish(at(BAR_1, PieceState(TIME, rung, 2, 3, 4)), RULES)  # type: ignore[operator]
        assert state.standing == PieceState(TIME, expected, 0, 0, 4)


# Turns


def test_a_turn_leaves_a_spot_and_the_count_of_clean_rounds_behind() -> None:
    state = turn(with_spots(at(BAR_1, PieceState(TIME, 2, clean=2)), 1), RULES)
    assert state.focus == ()
    assert (state.current, state.aside) == (BAR_2, BAR_1)
    assert state.standings[BAR_1] == PieceState(TIME, 2, clean=0)


def test_what_is_played_once_again_is_not_turned_from() -> None:
    state = again(at(BAR_2, done=(BAR_1,)), BAR_1, AGAIN, RULES)
    assert turn(state, RULES) is state


def test_turns_go_to_and_fro_between_two_pieces() -> None:
    state = turn(at(BAR_1), RULES)
    for index, aside in ((BAR_1, BAR_2), (BAR_2, BAR_1), (BAR_1, BAR_2)):
        state = turn(state, RULES)
        assert (state.current, state.aside) == (index, aside)


def test_a_piece_known_already_begins_in_time_when_its_turn_comes() -> None:
    """Its moves have been right within a larger piece, at the lowest tempo: it need not be heard first."""
    state = with_known(at(BAR_1), MoveKnown(RULES.known_needed, 0), 5, 6, 7)
    turned = turn(state, RULES)
    assert (turned.current, turned.standing) == (BAR_2, PieceState(TIME))
    aside = replace(state, aside=BAR_2)
    assert turn(aside, RULES).standing == PieceState(TIME)


def test_the_turn_is_the_next_open_piece_that_shares_no_note() -> None:
    assert turn(at(BAR_1), RULES).current == BAR_2
    assert turn(at(PHRASE_1), RULES).current == BAR_3
    assert turn(at(BAR_1, done=(BAR_2,)), RULES).current == BAR_3
    known = with_known(at(BAR_1), SOLID, 5, 6, 7)
    assert turn(known, RULES).current == BAR_3


def test_a_turn_passes_over_what_is_to_come_within_a_larger_piece() -> None:
    """To a player who takes phrases at a bite, bars 3 and 4 come as the phrase."""
    assert turn(replace(at(PHRASE_1), size=1), RULES).current == PHRASE_2


def test_where_nothing_else_is_open_there_is_no_turn() -> None:
    for state in (at(ROUND), at(PHRASE_2), at(THRICE)):  # what comes after each shares its notes; before is no turn
        assert turn(state, RULES) is state


def test_a_join_round_the_end_shares_notes_with_both_ends() -> None:
    assert turn(at(BAR_4, done=(PHRASE_2,)), RULES).current == JOIN
    state = at(JOIN, done=(ROUND,))
    assert turn(state, RULES).current == BACK
    state = at(BACK, done=(TWICE, THRICE))
    assert turn(state, RULES) is state


# What fails


@pytest.mark.parametrize(("index", "length", "first"), [(ROUND, 16, 0), (PHRASE_1, 8, 0), (BACK, 8, 12)])
def test_a_long_piece_shrinks_to_a_place_that_failed_once(index: int, length: int, first: int) -> None:
    for long_piece, news in ((length, "shrunk"), (length + 1, "")):
        rules = replace(RULES, long_piece=long_piece)
        assert played(at(index), (first + 2) % 16, rules=rules)[1] == news


def test_a_shorter_one_shrinks_when_a_place_has_failed_so_often() -> None:
    state, said = at(BAR_1), []
    for _ in range(RULES.shrink_after):
        state, news = played(state, 2)
        said.append(news)
    assert said == [""] * (RULES.shrink_after - 1) + ["shrunk"]


def test_the_worst_place_comes_first_and_of_equals_the_earlier() -> None:
    state = with_known(at(ROUND), MoveKnown(wrong=3), 2, 9)
    state = with_known(state, MoveKnown(wrong=5), 13)
    state, _ = played(state, 9, 2, 13)
    assert [one.piece for one in reversed(state.focus)] == [state.lesson.around[note] for note in (13, 2, 9)]


def test_the_same_move_at_two_places_is_taken_out_at_the_first() -> None:
    lesson = demo()
    assert lesson.moves[14] == 1
    half = next(index for index, piece in enumerate(lesson.pieces) if piece.name == "A part")
    state = replace(start(lesson, RULES), current=half).put_at(half, PieceState(TIME))
    state = with_known(state, MoveKnown(wrong=RULES.shrink_after), 1)
    state, news = played(state, 1, 14)
    assert news == "shrunk"
    assert [one.piece for one in state.focus] == [lesson.around[1]]


def test_where_much_fails_and_nothing_smaller_is_left_as_many_spots_are_taken_as_may_be() -> None:
    faults = (1, 5, 9, 13)
    assert len(faults) == RULES.spots_at_once + 1
    smaller = (BAR_1, BAR_2, PHRASE_1, BAR_3, BAR_4, PHRASE_2, JOIN)
    state = with_known(at(ROUND, done=smaller), MoveKnown(wrong=RULES.shrink_after), *faults)
    shrunk, news = played(state, *faults)
    assert news == "shrunk"
    assert [one.piece for one in shrunk.focus] == [state.lesson.around[note] for note in (9, 5, 1)]
    # One smaller piece that is not done is enough, and it is what comes.
    state = state.put_at(BAR_3, PieceState())
    fewer, news = played(state, *faults)
    assert (news, fewer.piece.name) == ("smaller", "A bar 3")
    # With no more places than may be taken out at once, there is no need for it.
    assert played(state, *faults[1:])[1] == "shrunk"


def test_smaller_pieces_are_those_within_the_piece() -> None:
    """Bars 3 and 4 are open, and no part of the first phrase."""
    faults = (1, 2, 5, 6)
    state = with_known(at(PHRASE_1, done=(BAR_1, BAR_2)), MoveKnown(wrong=RULES.shrink_after), *faults)
    assert played(state, *faults)[1] == "shrunk"


def test_after_much_has_failed_the_bite_is_a_size_smaller_and_the_count_begins_anew() -> None:
    state = replace(at(PHRASE_1, PieceState(TIME, 3, failed=2)), size=2, stride=6)
    state = with_known(state, MoveKnown(wrong=RULES.shrink_after), 1, 2, 5, 6)
    state, news = played(state, 1, 2, 5, 6)
    assert news == "smaller"
    assert (state.size, state.stride) == (0, RULES.stride)
    assert state.standings[PHRASE_1].failed == 0
    assert state.piece.name == "A bar 1"


@pytest.mark.parametrize(("slower_by", "begins"), [(0, 4), (3, 1), (6, 0)])
def test_a_spot_is_begun_somewhat_slower_and_goes_up_to_where_it_failed(slower_by: int, begins: int) -> None:
    rules = replace(RULES, spot_slower=slower_by)
    state = with_known(at(BAR_1, PieceState(TIME, 4)), MoveKnown(wrong=RULES.shrink_after), 2)
    state, _ = played(state, 2, rules=rules)
    (spot,) = state.focus
    assert (spot.why, spot.goal, spot.standing) == (SPOT, 4, PieceState(TIME, begins))


def test_a_spot_that_failed_with_no_clock_is_played_with_none() -> None:
    state = with_known(at(BAR_1, PieceState(ORDER)), MoveKnown(wrong=RULES.shrink_after), 2)
    state, _ = played(state, 2)
    (spot,) = state.focus
    assert (spot.goal, spot.standing) == (None, PieceState(ORDER))
    for news in ("", "", "grown"):
        state, said = played(state)
        assert said == news
    assert state.standing.step == ORDER


def test_with_no_clock_too_a_spot_that_is_taken_out_again_is_asked_for_more_often() -> None:
    state = with_known(at(BAR_1, PieceState(ORDER)), MoveKnown(wrong=RULES.shrink_after, spots=1), 2)
    state, _ = played(state, 2)
    assert needed(state, RULES) == 6


def test_faults_beyond_the_round_are_passed_over() -> None:
    """Where a take went on into the next round."""
    state = at(BAR_1, PieceState(TIME, 2))
    after, news = played(state, 16, 17)
    assert (news, after.known[1:4]) == ("", tuple(MoveKnown(1, 2) for _ in range(3)))


def test_a_spot_is_asked_for_so_many_times_at_most() -> None:
    asked = []
    for spots in range(6):
        state = with_known(at(BAR_1), MoveKnown(wrong=RULES.shrink_after, spots=spots), 2)
        asked.append(played(state, 2)[0].focus[-1].needed)
    assert asked == [3, 6, 9, 9, 9, 9]


def test_failing_goes_down_a_rung_and_takes_the_pace_down() -> None:
    state = replace(at(BAR_1, PieceState(TIME, 4, clean=2, failed=RULES.failed_lower - 1)), stride=6, pace=3)
    down, news = after_round(state, Outcome(task(state, RULES), False), RULES)
    assert news == "slower"
    assert down.standing == PieceState(TIME, 3, slips=1)
    assert (down.stride, down.pace) == (RULES.stride, 2)
    state = state.put(replace(state.standing, failed=RULES.failed_lower - 2))
    same, news = after_round(state, Outcome(task(state, RULES), False), RULES)
    assert (news, same.standing.rung) == ("", 4)


def test_failing_on_the_lowest_rung_takes_the_clock_away() -> None:
    state = at(BAR_1, PieceState(TIME, 0, failed=RULES.failed_lower - 1))
    state, news = after_round(state, Outcome(task(state, RULES), False), RULES)
    assert (news, state.standing, state.pace) == ("step", PieceState(ORDER, slips=1), 0)


def test_failing_with_no_clock_only_begins_the_count_anew() -> None:
    state = at(BAR_1, PieceState(ORDER, 0, failed=RULES.failed_lower - 1))
    state, news = after_round(state, Outcome(task(state, RULES), False), RULES)
    assert (news, state.standing) == ("", PieceState(ORDER, slips=1))
    always = replace(RULES, steps=(IN_TIME,))  # a tutor's course with no other step
    state = at(BAR_1, PieceState(0, 0, failed=RULES.failed_lower - 1), rules=always)
    state, news = after_round(state, Outcome(task(state, always), False), always)
    assert (news, state.standing) == ("", PieceState(0, slips=1))


# What was learnt before


def test_what_is_in_hand_begins_its_count_anew_after_something_else_was_played() -> None:
    state = again(at(BAR_2, PieceState(TIME, 3, clean=2), done=(BAR_1,)), BAR_1, AGAIN, RULES)
    assert state.focus[-1] == Focus(state.course[BAR_1], AGAIN, 4, 1, PieceState(TIME, 4))
    state, news = played(state)
    assert news == AGAIN
    assert (state.current, state.standing) == (BAR_2, PieceState(TIME, 3))


def test_what_does_not_go_any_more_is_worked_on_from_somewhat_slower() -> None:
    """And comes at once, before the other pieces that were to be played again."""
    state = at(BAR_3, done=(BAR_1, BAR_2))
    state = again(again(state, BAR_2, AGAIN, RULES), BAR_1, AGAIN, RULES)
    state, news = played(state, 2)
    assert news == ""
    state, news = played(state, 2)
    assert news == "lost"
    assert [one.piece.name for one in state.focus] == ["A bar 2"]
    assert state.current == BAR_1
    assert state.standings[BAR_1] == PieceState(TIME, 4 - RULES.stride)


def test_what_was_in_hand_when_something_was_lost_is_not_a_round_further() -> None:
    state = again(at(BAR_2, PieceState(TIME, 3, clean=2), done=(BAR_1,)), BAR_1, AGAIN, RULES)
    for _ in range(RULES.again_tries):
        state, _ = played(state, 2)
    assert state.standings[BAR_2].clean == 0


def test_what_is_lost_at_a_low_rung_begins_at_the_lowest() -> None:
    state = again(at(BAR_3, done=(BAR_1,)), BAR_1, AGAIN, RULES)
    for _ in range(4):
        state = slower(state, RULES)
    for _ in range(RULES.again_tries):
        state, news = played(state, 2)
    assert news == "lost"
    assert state.standings[BAR_1] == PieceState(TIME, 0)


def test_a_piece_that_the_course_has_no_more_is_only_left() -> None:
    gone = replace(four_bars().pieces[BAR_1], name="A bar 1 of old")
    state = replace(at(BAR_3), focus=(Focus(gone, AGAIN, 4, 1, PieceState(TIME, 4)),))
    for _ in range(RULES.again_tries):
        state, news = played(state, 2)
    assert news == "lost"
    assert (state.focus, state.current, state.standing) == ((), BAR_3, PieceState(TIME))


# What is to come


def test_after_a_spot_comes_the_next_spot_and_then_the_piece() -> None:
    state = with_spots(at(BAR_1), 1, 2)
    assert following(state, RULES) == state.lesson.around[1]
    assert following(go_on(state), RULES) == state.course[BAR_1]


def test_after_a_turn_comes_what_rests() -> None:
    assert following(turn(at(BAR_1), RULES), RULES) == four_bars().pieces[BAR_1]


def test_what_will_be_known_then_is_not_what_comes() -> None:
    """Playing the phrase well makes its second bar known, so that the third comes."""
    assert following(at(BAR_1, PieceState(TIME, 0, slips=1)), RULES) == four_bars().pieces[BAR_2]
    state = at(PHRASE_1, PieceState(TIME, 0, slips=1), done=(BAR_1,))
    assert following(state, RULES) == four_bars().pieces[BAR_3]
    assert Kind.BAR is four_bars().pieces[BAR_3].kind
