"""A piece of a tune, and the lesson: the pieces in the order in which they are learnt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class Kind(StrEnum):
    """What a piece is, smaller ones first."""

    MOVE = "move"
    BAR = "bar"
    JOIN = "join"
    PHRASE = "phrase"
    HALF = "half"
    PART = "part"
    ROUND = "round"
    ROUNDS = "rounds"


SIZES = (Kind.BAR, Kind.PHRASE, Kind.HALF, Kind.PART, Kind.ROUND)  # of what is taken up as new, small to large


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of the round, from note `first` to note `last` inclusive.

    A join whose `first` is greater than its `last` goes round: from the end of a round into the beginning of the next.
    `same_as` names an earlier piece with the very same notes, rhythm and presses; `like` one that is the same but for
    one note, which is note `differs` of the round; `difficulty` is 0 (anyone) upwards; `times` is how often it is
    played before it counts as once through (several rounds).
    """

    name: str
    kind: Kind
    first: int
    last: int
    same_as: str | None
    difficulty: float
    times: int = 1
    like: str | None = None
    differs: int | None = None

    def notes(self, count: int) -> tuple[int, ...]:
        """Its notes in the order of playing, once through, by index in a round of `count` notes."""
        if self.first <= self.last:
            return tuple(range(self.first, self.last + 1))
        return (*range(self.first, count), *range(self.last + 1))

    def within(self, other: Piece) -> bool:
        """Whether all of this piece is played in `other`."""
        if other.times > self.times:
            return other.kind is Kind.ROUNDS
        if self.first > self.last or other.first > other.last:
            return False
        return other.first <= self.first and self.last <= other.last and self.times == other.times


@dataclass(frozen=True, slots=True)
class Lesson:
    """A tune as it is learnt.

    `pieces` come in the order of learning. `moves` has an entry a note of the round: the first note to which the hand
    makes the very same move from the note before (itself, where it is the first). `around` has an entry a note too:
    the few notes round it, which practise the move to it. `sentences` are the tutor's, by the name of the piece;
    `target` the tutor's tempo in beats a minute, None for the dance's; `fixed` says that the order is the tutor's: then
    nothing is passed over.
    """

    pieces: tuple[Piece, ...]
    moves: tuple[int, ...]
    around: tuple[Piece, ...]
    sentences: Mapping[str, str] = field(default_factory=dict)
    target: float | None = None
    fixed: bool = False

    @property
    def count(self) -> int:
        """How many notes the round has."""
        return len(self.moves)
