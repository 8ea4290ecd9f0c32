"""The minutes of a sitting: what was learnt before comes first, pieces take turns, and it ends on what goes well.

Pure: the seconds practised are handed in. What is played within the sitting is `companion.practice.machine`'s business.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from companion.lesson.lesson_rules import LessonRules
from companion.lesson.lesson_values import Kind, Piece
from companion.practice.machine import again, turn
from companion.practice.player_state import AGAIN, ENDING, PlayerState

MINUTE = 60.0


@dataclass(frozen=True, slots=True)
class Change:
    """What a round has done: the state before and after it, and what is new, as `after_round` and the sitting say."""

    before: PlayerState
    after: PlayerState
    news: str
    what: str


@dataclass(frozen=True, slots=True)
class Sitting:
    """A sitting under way.

    `length` is how long it is to be, in seconds (None: open); `practised` how much of it is over, rests and pauses not
    counted; `taken_up` where, on the same count, the piece in hand was taken up; `ending` says that it has turned to
    its end, `over` that it is over. Rests are `companion.practice.evening`'s business.
    """

    length: float | None
    practised: float = 0.0
    taken_up: float = 0.0
    ending: bool = False
    over: bool = False

    @property
    def left(self) -> float | None:
        """Seconds that are left of it, None where it is open."""
        return None if self.length is None else max(0.0, self.length - self.practised)


def begin(state: PlayerState, length: float | None, rules: LessonRules) -> tuple[Sitting, PlayerState]:
    """Begin a sitting with a tune: the largest pieces that were good enough the last time come first, once each."""
    if not state.focus and not state.finished:
        for index in reversed(largest_done(state)[: rules.again_pieces]):
            state = again(state, index, AGAIN, rules)
    return Sitting(length), state


def begin_review(state: PlayerState, length: float | None, rules: LessonRules) -> tuple[Sitting, PlayerState]:
    """Begin a sitting for which the tune only comes back to be kept in memory: the whole round, and then it is over."""
    whole = next((index for index, piece in enumerate(state.course) if piece.kind is Kind.ROUND), None)
    if whole is None:
        return begin(state, length, rules)
    return Sitting(length, ending=True), again(replace(state, focus=()), whole, ENDING, rules)


def largest_done(state: PlayerState) -> list[int]:
    """The pieces that are good enough and not part of a larger one that is, the largest first."""
    done = done_by_length(state)
    course = state.course
    return [
        index
        for index in done
        if course[index].kind is not Kind.ROUNDS
        and not any(other != index and course[index].within(course[other]) for other in done)
    ]


def done_by_length(state: PlayerState) -> list[int]:
    """The pieces that are good enough, the largest first."""
    done = [index for index, standing in enumerate(state.standings) if standing.done]
    return sorted(done, key=lambda index: -_length(state.course[index], state))


def after(
    sitting: Sitting, state: PlayerState, seconds: float, news: str, rules: LessonRules, notes: int
) -> tuple[Sitting, PlayerState, str]:
    """The sitting after a round of so many `notes` that took `seconds`, with what `after_round` has said of it.

    It turns to its end where another such round would go on for longer past that than it would be short of it now.

    Returns
    -------
    sitting, state, what : `what` is "" (nothing), "turn" (another piece takes its turn), "ending" (something that goes
        well) or "over".
    """
    practised = sitting.practised + seconds
    fresh = news in ("next", "again", "lost", "smaller")
    sitting = replace(sitting, practised=practised, taken_up=practised if fresh else sitting.taken_up)
    if sitting.ending:
        over = news in (ENDING, "lost") or _is_over(sitting, state, seconds)
        return replace(sitting, over=over), state, "over" if over else ""
    if sitting.length is not None and practised + seconds / 2 >= sitting.length - rules.ending_minutes * MINUTE:
        return _to_end(sitting, state, rules, seconds, notes)
    if practised - sitting.taken_up >= rules.turn_minutes * MINUTE:
        turned = turn(state, rules)
        return replace(sitting, taken_up=practised), turned, "turn" if turned is not state else ""
    return sitting, state, ""


def broken_off(sitting: Sitting, seconds: float) -> Sitting:
    """The sitting after a round that was broken off so many seconds after it began: they count as practised."""
    return replace(sitting, practised=sitting.practised + seconds)


def _to_end(
    sitting: Sitting, state: PlayerState, rules: LessonRules, seconds: float, notes: int
) -> tuple[Sitting, PlayerState, str]:
    """Turn to something that goes well and fits into what is left, a note taking as long as in the last round; where
    nothing goes well yet, or everything does, what is in hand is gone on with to the end."""
    left = sitting.left or 0.0
    well = [index for index in done_by_length(state) if state.course[index].kind is not Kind.ROUNDS]
    if not well or state.finished:
        over = _is_over(sitting, state, seconds)
        return replace(sitting, ending=True, over=over), state, "over" if over else ""
    room = max(left, rules.ending_minutes * MINUTE)
    fits = (index for index in well if _length(state.course[index], state) * seconds / notes <= room)
    state = again(replace(state, focus=()), next(fits, well[-1]), ENDING, rules)
    return replace(sitting, ending=True, taken_up=sitting.practised), state, ENDING


def _is_over(sitting: Sitting, state: PlayerState, seconds: float) -> bool:
    """Whether a sitting's minutes are over; where it goes on with what is in hand, whether they nearly are, so that
    another such round would go on for longer past its end than it is short of it."""
    to_end = bool(state.focus) and state.focus[-1].why == ENDING
    return sitting.left is not None and sitting.left <= (0.0 if to_end else seconds / 2)


def _length(piece: Piece, state: PlayerState) -> int:
    return len(piece.notes(state.lesson.count))
