"""A piece of a tune: what is practised at one time."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """What a piece is."""

    BAR = "bar"
    PHRASE = "phrase"
    HALF = "half"
    PART = "part"
    JOIN = "join"
    ROUND = "round"


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of the round, from note `first` to note `last` inclusive.

    A join whose `first` is greater than its `last` goes round: from the end of a round into the beginning of the next.
    `same_as` names an earlier piece with the very same notes, rhythm and presses; `difficulty` is 0 (anyone) upwards.
    """

    name: str
    kind: Kind
    first: int
    last: int
    same_as: str | None
    difficulty: float
