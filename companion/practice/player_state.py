"""Where a player is in a tune, as values: how far each piece has come, what is in hand, what is known of each move."""

from __future__ import annotations

from dataclasses import dataclass, replace

from companion.errors import UserError
from companion.lesson.lesson_rules import LessonRules
from companion.lesson.lesson_values import Lesson, Piece

LISTEN, IN_ORDER, IN_TIME = "listen", "in order", "in time"
BY_HEART = "by heart"
SPOT, AGAIN, ENDING = "spot", "again", "ending"  # why a piece is taken up in between
FRESH = -1  # a move that was never right in time has no rung


@dataclass(frozen=True, slots=True)
class PieceState:
    """How far one piece has come.

    `step` and `rung` are indices into the rules' steps and rungs; `clean` and `failed` count rounds in a row since
    either last changed; `slips` counts all rounds with a mistake; `done` says that the piece was good enough once;
    `by_heart` that it goes well in time, and is now played without being shown; `forgot` counts the rounds in which
    that went wrong.
    """

    step: int = 0
    rung: int = 0
    clean: int = 0
    failed: int = 0
    slips: int = 0
    done: bool = False
    by_heart: bool = False
    forgot: int = 0


@dataclass(frozen=True, slots=True)
class MoveKnown:
    """What has been heard of one move: how often in a row it was right, the fastest rung at which it was, how often it
    went wrong of late, and how often it has been taken out."""

    right: int = 0
    rung: int = FRESH
    wrong: int = 0
    spots: int = 0


@dataclass(frozen=True, slots=True)
class Focus:
    """A piece taken up in between, to go back afterwards to what was in hand: `why` is "spot" (what failed), "again"
    (what was learnt earlier) or "ending"; it is good enough at rung `goal` (None: in order, with no clock), `needed`
    clean times in a row."""

    piece: Piece
    why: str
    goal: int | None
    needed: int
    standing: PieceState


@dataclass(frozen=True, slots=True)
class PlayerState:
    """Where a player is in a tune.

    `current` is the piece in hand, an index into the lesson's; `focus` what has been taken up in between, the last one
    first to be done; `aside` the piece of the course that rests while another is in hand, so that nothing is ground
    on; `known` has an entry a note of the round, kept at the first note with the same move; `size` is how
    large a bite is taken, an index into `SIZES`, `stride` by how many rungs the tempo goes up, and `pace` the rung at
    which a new piece begins: all three are learnt from how it goes.
    """

    lesson: Lesson
    current: int
    standings: tuple[PieceState, ...]
    known: tuple[MoveKnown, ...]
    focus: tuple[Focus, ...] = ()
    aside: int | None = None
    size: int = 0
    stride: int = 1
    pace: int = 0

    @property
    def course(self) -> tuple[Piece, ...]:
        """The pieces in the order of learning."""
        return self.lesson.pieces

    @property
    def piece(self) -> Piece:
        """The piece that is played next: the one in hand, or what was taken up in between."""
        return self.focus[-1].piece if self.focus else self.course[self.current]

    @property
    def standing(self) -> PieceState:
        """How far that piece has come."""
        return self.focus[-1].standing if self.focus else self.standings[self.current]

    @property
    def finished(self) -> bool:
        """Whether there is nothing left to learn: every piece is good enough."""
        return all(standing.done for standing in self.standings)

    def put(self, standing: PieceState) -> PlayerState:
        """The same with another standing of the piece that is played."""
        if self.focus:
            return replace(self, focus=(*self.focus[:-1], replace(self.focus[-1], standing=standing)))
        return self.put_at(self.current, standing)

    def put_at(self, index: int, standing: PieceState) -> PlayerState:
        """The same with another standing of a piece of the course."""
        return replace(self, standings=(*self.standings[:index], standing, *self.standings[index + 1 :]))


@dataclass(frozen=True, slots=True)
class RoundTask:
    """What one round asks: the piece, the step, the tempo as a share of the target, and whether it is by heart."""

    piece: Piece
    step: str
    share: float
    by_heart: bool = False


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a round in which something was heard: the task it was played for, whether it was clean, and the
    notes of the round (by index) at which something went wrong, and those that were not heard well enough to judge."""

    task: RoundTask
    clean: bool
    faults: frozenset[int] = frozenset()
    unsure: frozenset[int] = frozenset()

    @property
    def unheard(self) -> bool:
        """Whether nobody can say if it was clean: nothing went wrong for sure, and too little was heard well."""
        return not self.clean and not self.faults and bool(self.unsure)


def start(lesson: Lesson, rules: LessonRules) -> PlayerState:
    """The state of a player who has not begun. Raises `UserError` where there is nothing to learn."""
    if not lesson.pieces:
        raise UserError("this tune has no notes, so there is nothing to practise; choose another tune")
    standings = (PieceState(),) * len(lesson.pieces)
    return PlayerState(lesson, 0, standings, (MoveKnown(),) * lesson.count, stride=rules.stride)


def task(state: PlayerState, rules: LessonRules) -> RoundTask:
    """What the next round asks."""
    standing = state.standing
    return RoundTask(state.piece, rules.steps[standing.step], rules.rungs[standing.rung], standing.by_heart)


def goal(state: PlayerState, rules: LessonRules) -> int | None:
    """The rung at which the piece that is played is good enough; None where it is played in order only."""
    return state.focus[-1].goal if state.focus else rules.top_rung(state.piece.kind)
