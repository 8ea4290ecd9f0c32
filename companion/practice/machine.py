"""What a round does to where a player stands.

Pure: a value in, a value out; no clock and no device. A session of any length is `state = after_round(state, …)` once
a round. Nothing raises the tempo or leaves a piece but the clean rounds that the rules ask for, or the player's own
wish (`go_on`, `go_back`, `faster`, `slower`).

How a tutor goes about it, and this: a piece is heard, played in order, then in time and up the ladder. Where a place
fails, the piece shrinks to the move that fails, and grows again. Where all goes well the bites grow: what would come
next in the course is passed over as long as a larger piece round it is to be played, and counts as known once that has
gone well. ("Stop before errors, fix at once, locate exactly, change the tempo logically, repeat until the fix holds":
Duke, Simmons and Cash, It's not how much; it's how, 2009, as summarised by others.)
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil

from companion.lesson.lesson_rules import LessonRules
from companion.lesson.lesson_values import SIZES, Kind, Piece
from companion.practice.known_moves import is_known, learnt, rung_known
from companion.practice.player_state import (
    BY_HEART,
    IN_ORDER,
    IN_TIME,
    LISTEN,
    SPOT,
    Focus,
    Outcome,
    PieceState,
    PlayerState,
    RoundTask,
    goal,
    task,
)


def after_round(state: PlayerState, outcome: Outcome, rules: LessonRules) -> tuple[PlayerState, str]:
    """The state after a round, and what changed.

    A round that was played for another task than the one in hand changes nothing here; its marks are kept all the same.

    Returns
    -------
    state, news : `news` is "" (nothing), "step", "faster", "slower", "by heart" (it goes well, and is not shown any
        more), "shown" (it is, after all), "next" (another piece), "shrunk" (to what fails),
        "smaller" (smaller pieces first), "grown" (back to the piece in which it failed), "again" or "ending" (what was
        learnt before still goes), "lost" (it does not).
    """
    asked = task(state, rules)
    if outcome.task != asked:
        return state, ""
    standing = state.standing
    if asked.step == LISTEN:
        standing = replace(standing, clean=standing.clean + 1)
        return _stepped(state, rules) if standing.clean >= rules.listen_rounds else (state.put(standing), "")
    state = learnt(state, outcome, rules)
    if outcome.unheard:
        return state, ""
    if not outcome.clean:
        if standing.by_heart:  # it is shown once more before it is tried again; in the end within something larger
            forgot = standing.forgot + 1
            shown = replace(standing, by_heart=False, clean=max(0, rules.clean_needed - 1), forgot=forgot)
            return _left(state.put(shown), rules) if forgot >= rules.by_heart_tries else (state.put(shown), "shown")
        standing = replace(standing, clean=0, failed=standing.failed + 1, slips=standing.slips + 1)
        return _after_failing(state.put(standing), outcome, rules)
    standing = replace(standing, clean=standing.clean + 1, failed=0)
    if standing.clean < needed(state, rules):
        return state.put(standing), ""
    return _stepped(state, rules) if asked.step == IN_ORDER else _up(state.put(standing), rules)


def needed(state: PlayerState, rules: LessonRules) -> int:
    """How many clean times in a row are needed now: at the end of a spot more, if it had to be taken out often."""
    if state.standing.by_heart:
        return rules.by_heart_needed
    if state.focus and state.standing.rung == (state.focus[-1].goal or 0):
        return state.focus[-1].needed
    if rules.steps[state.standing.step] == IN_ORDER:
        at_sight = state.standing.slips == 0 and _size(state.piece) > 0
        return rules.in_order_at_sight if at_sight else rules.in_order_needed
    return -(-rules.clean_needed // state.piece.times)


def _stepped(state: PlayerState, rules: LessonRules) -> tuple[PlayerState, str]:
    """On to the next step of the piece; what was to be played in order only is done with."""
    standing = state.standing
    if rules.steps[standing.step] == IN_ORDER and goal(state, rules) is None:
        return _left(state, rules)
    next_one = replace(standing, step=standing.step + 1, clean=0, failed=0)
    # A tempo that the player has chosen before it is played in time is kept for that.
    rung = standing.rung or _first_rung(state, state.piece, rules)
    return state.put(replace(next_one, rung=rung)), "step"


def _first_rung(state: PlayerState, piece: Piece, rules: LessonRules) -> int:
    """The rung at which a piece begins in time: at the player's pace with new ones, or where all of it has been right
    before."""
    known = rung_known(state, piece, rules)
    top = goal(state, rules)
    return min(max(known or 0, state.pace), top if top is not None else 0)


def _up(state: PlayerState, rules: LessonRules) -> tuple[PlayerState, str]:
    """After the clean rounds that the rules ask for: faster, or done with the piece."""
    standing, top = state.standing, goal(state, rules)
    if top is None or standing.rung >= top:
        if state.piece.kind in rules.by_heart and not state.focus and not standing.by_heart:
            return state.put(replace(standing, by_heart=True, clean=0)), BY_HEART
        return _left(state, rules)
    rung = min(standing.rung + state.stride, top)
    if not state.focus and standing.slips == 0:
        at_pace = standing.rung == state.pace
        state = replace(
            state,
            stride=min(state.stride + 1, rules.most_stride),
            pace=min(state.pace + at_pace * rules.pace_step, rules.fastest_pace),
        )
    return state.put(replace(standing, rung=rung, clean=0)), "faster"


def _left(state: PlayerState, rules: LessonRules) -> tuple[PlayerState, str]:
    """Done with what is played: back to what it was taken out of, or on in the course."""
    if state.focus:
        why = state.focus[-1].why
        state = replace(state, focus=state.focus[:-1])
        return state.put(replace(state.standing, clean=0, failed=0)), {SPOT: "grown"}.get(why, why)
    standing = state.standing
    if standing.slips == 0 and state.piece.kind is not Kind.ROUNDS:
        state = replace(state, size=min(max(state.size, int(_size(state.piece))) + 1, SIZES.index(Kind.HALF)))
    state = state.put(replace(standing, clean=0, done=True, by_heart=False))
    if state.aside is not None:
        return entered(replace(state, current=state.aside, aside=None), rules), "next"
    return take_up(state, rules), "next"


def take_up(state: PlayerState, rules: LessonRules) -> PlayerState:
    """The state with the next piece of the course in hand: the first that is not done, not known already, and not to
    be played within a larger one. At the end the last piece stays."""
    state = replace(state, aside=None)
    for index, standing in enumerate(state.standings):
        if standing.done:
            continue
        if is_known(state, index, rules):
            state = state.put_at(index, replace(standing, done=True))
        elif not _passed_over(state, index, rules):
            return entered(replace(state, current=index), rules)
    return replace(state, current=len(state.course) - 1)


def following(state: PlayerState, rules: LessonRules) -> Piece | None:
    """The piece that comes after this one if it goes well; None where nothing more is to come."""
    if state.focus:
        return replace(state, focus=state.focus[:-1]).piece
    if state.aside is not None:
        return state.course[state.aside]
    well = Outcome(RoundTask(state.piece, IN_TIME, rules.rungs[rules.top_rung(state.piece.kind)]), True)
    for _ in range(rules.known_needed):
        state = learnt(state, well, rules)
    after, _ = _left(state, rules)
    return after.piece if after.current != state.current else None


def _passed_over(state: PlayerState, index: int, rules: LessonRules) -> bool:
    """Whether a larger piece, no larger than the bites that are taken, is still to be played round a piece."""
    if state.lesson.fixed:
        return False
    piece = state.course[index]
    largest = state.size if piece.kind is Kind.JOIN else min(state.size, SIZES.index(rules.largest_bite))
    return any(
        not state.standings[at].done and _size(piece) < _size(other) <= largest and piece.within(other)
        for at, other in enumerate(state.course)
        if at != index
    )


def _size(piece: Piece) -> float:
    """How large a piece is, as an index into `SIZES`; a join is a little larger than what it joins."""
    if piece.kind is Kind.ROUNDS:
        return len(SIZES)
    if piece.kind is Kind.JOIN:
        return 0.5
    return SIZES.index(piece.kind) if piece.kind in SIZES else -1


def entered(state: PlayerState, rules: LessonRules) -> PlayerState:
    """A piece newly in hand: what is known of it already need not be heard, or played without a clock, again."""
    standing, piece = state.standing, state.piece
    if standing != PieceState():
        return state
    like = _like_done(state, piece)
    known = rung_known(state, piece, rules, lacking=_may_lack(state, piece, like, rules))
    if known is None:
        return state
    in_time = rules.steps.index(IN_TIME)
    state = state.put(replace(standing, step=in_time, rung=min(max(known, 0), rules.top_rung(piece.kind))))
    # What is new in it is one note, and that comes first.
    if like and piece.differs is not None and IN_ORDER in rules.steps:
        first = PieceState(rules.steps.index(IN_ORDER))
        spot = Focus(state.lesson.around[piece.differs], SPOT, None, rules.in_order_needed, first)
        return replace(state, focus=(spot,))
    return state


def _may_lack(state: PlayerState, piece: Piece, like: bool, rules: LessonRules) -> int:
    """How many moves of a piece may be new, so that it need not be heard, or played without a clock, all over again."""
    if _size(piece) >= SIZES.index(Kind.HALF):  # the joins of the smaller pieces in it
        return max(1, round(rules.nearly_known * len(piece.notes(state.lesson.count))))
    return 2 if like else 0  # to the note that differs, and from it


def _like_done(state: PlayerState, piece: Piece) -> bool:
    """Whether a piece is the same, but for one note, as one that is good enough."""
    return any(
        standing.done and other.name == piece.like
        for other, standing in zip(state.course, state.standings, strict=True)
    )


# What was learnt before


def again(state: PlayerState, index: int, why: str, rules: LessonRules) -> PlayerState:
    """A piece that was good enough is played again, at the tempo at which it was, before what is in hand."""
    top = rules.top_rung(state.course[index].kind)
    first = PieceState(rules.steps.index(IN_TIME), top)
    state = state.put(replace(state.standing, clean=0))  # what comes after this is not in a row with what came before
    return replace(state, focus=(*state.focus, Focus(state.course[index], why, top, 1, first)))


def _not_yet(state: PlayerState, rules: LessonRules) -> tuple[PlayerState, str]:
    """What was learnt before does not go as it did: it is to be worked on again, from somewhat slower."""
    lost = state.focus[-1]
    state = replace(state, focus=state.focus[:-1])
    if lost.piece in state.course:
        rung = max(0, lost.standing.rung - rules.stride)
        at = state.course.index(lost.piece)
        state = replace(state, current=at).put_at(at, PieceState(rules.steps.index(IN_TIME), rung))
    return state, "lost"


# So that nothing is ground on


def turn(state: PlayerState, rules: LessonRules) -> PlayerState:
    """Another piece for a while, and back to this one after it; the same state where there is none to turn to.

    It is the next one in the course that is open and shares no notes with this one; with a piece aside already, that
    one.
    """
    if state.focus and state.focus[-1].why != SPOT:
        return state
    resting = state.current
    rested = replace(state, focus=()).put_at(resting, replace(state.standings[resting], clean=0))
    if state.aside is not None:
        return entered(replace(rested, current=state.aside, aside=resting), rules)
    here = set(state.course[resting].notes(state.lesson.count))
    for index in range(resting + 1, len(state.course)):
        if state.standings[index].done or is_known(state, index, rules) or _passed_over(state, index, rules):
            continue
        if here.isdisjoint(state.course[index].notes(state.lesson.count)):
            return entered(replace(rested, current=index, aside=resting), rules)
    return state


# What fails


def _after_failing(state: PlayerState, outcome: Outcome, rules: LessonRules) -> tuple[PlayerState, str]:
    """After a round with a mistake: to the spot, to smaller pieces, or slower."""
    standing = state.standing
    if state.focus and state.focus[-1].why != SPOT:
        return _not_yet(state, rules) if standing.failed >= rules.again_tries else (state, "")
    places = _places(state, outcome, rules)
    if not state.focus and len(places) > rules.spots_at_once and _has_smaller(state):
        state = state.put(replace(standing, failed=0))
        return take_up(replace(state, stride=rules.stride, size=max(0, ceil(_size(state.piece)) - 1)), rules), "smaller"
    if places and not state.focus:
        return _shrunk(state, places[: rules.spots_at_once], outcome.task.step, rules), "shrunk"
    if standing.failed >= rules.failed_lower:
        state = replace(state, stride=rules.stride, pace=max(0, state.pace - 1))
        if standing.rung > 0:
            return state.put(replace(standing, rung=standing.rung - 1, failed=0)), "slower"
        if outcome.task.step == IN_TIME and IN_ORDER in rules.steps:
            return state.put(replace(standing, step=rules.steps.index(IN_ORDER), failed=0)), "step"
        return state.put(replace(standing, failed=0)), ""
    return state, ""


def _places(state: PlayerState, outcome: Outcome, rules: LessonRules) -> list[int]:
    """The notes at which a round failed and which are worth taking out: those that went wrong before, and in a long
    piece, which takes long to come round again, those that went wrong once."""
    moves = state.lesson.moves
    piece = outcome.task.piece
    long = (piece.last - piece.first) % len(moves) + 1 >= rules.long_piece
    needed = 1 if long else rules.shrink_after
    found = {moves[at]: at for at in sorted(outcome.faults, reverse=True) if at < len(moves)}
    places = [at for move, at in found.items() if state.known[move].wrong >= needed]
    return sorted(places, key=lambda at: (-state.known[moves[at]].wrong, at))


def _has_smaller(state: PlayerState) -> bool:
    """Whether a smaller piece of the course, not done, is played within the piece in hand."""
    return any(
        not state.standings[index].done and _size(other) < _size(state.piece) and other.within(state.piece)
        for index, other in enumerate(state.course)
        if index != state.current
    )


def _shrunk(state: PlayerState, places: list[int], step: str, rules: LessonRules) -> PlayerState:
    """The state with the spots taken up, the worst to be played first, from somewhat slower up to where it failed."""
    in_time = step == IN_TIME
    top = state.standing.rung if in_time else None
    first = PieceState(rules.steps.index(step), max(0, state.standing.rung - rules.spot_slower) if in_time else 0)
    known = list(state.known)
    spots = []
    for at in reversed(places):
        move = state.lesson.moves[at]
        known[move] = replace(known[move], spots=known[move].spots + 1)
        needed = rules.clean_needed * min(known[move].spots, rules.most_times)
        spots.append(Focus(state.lesson.around[at], SPOT, top, needed, first))
    return replace(state, known=tuple(known), focus=(*state.focus, *spots))


# What the player wishes


def go_on(state: PlayerState) -> PlayerState:
    """On to the next piece; from a spot back to its piece. The last piece stays."""
    if state.focus:
        return replace(state, focus=state.focus[:-1])
    return replace(state, current=min(state.current + 1, len(state.course) - 1))


def go_back(state: PlayerState) -> PlayerState:
    """Back to the piece before; from a spot back to its piece. The first piece stays."""
    if state.focus:
        return replace(state, focus=())
    return replace(state, current=max(state.current - 1, 0))


def faster(state: PlayerState, rules: LessonRules) -> PlayerState:
    """A rung up."""
    return _at_rung(state, state.standing.rung + 1, rules)


def slower(state: PlayerState, rules: LessonRules) -> PlayerState:
    """A rung down."""
    return _at_rung(state, state.standing.rung - 1, rules)


def at_share(state: PlayerState, share: float, rules: LessonRules) -> PlayerState:
    """The rung that is nearest to a share of the target tempo."""
    return _at_rung(state, min(range(len(rules.rungs)), key=lambda rung: abs(rules.rungs[rung] - share)), rules)


def _at_rung(state: PlayerState, rung: int, rules: LessonRules) -> PlayerState:
    """The piece at another rung, where new pieces begin from now on too: what the player has chosen stays."""
    rung = min(max(rung, 0), len(rules.rungs) - 1)
    pace = min(rung, rules.fastest_pace)
    standing = replace(state.standing, rung=rung, clean=0, failed=0, by_heart=False)
    return replace(state.put(standing), pace=pace)
