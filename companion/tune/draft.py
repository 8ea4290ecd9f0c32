"""A melody while it is read: what a reader of any format fills in, and `companion.tune.build_tune` makes a tune of.

Times are in ticks (`companion.tune.ticks`).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import IntEnum
from typing import Literal

from companion.tune.ticks import Ticks
from companion.tune.tune_values import Problem

REST = -1
"""The pitch of a rest."""

Extras = tuple[tuple[str, ...], tuple[int, ...], str | None, tuple[int, ...], int | None]
"""Ornaments, grace notes, chord symbol, lower notes of a chord, finger."""

NO_EXTRAS: Extras = ((), (), None, (), None)


class Joint(IntEnum):
    """What stands before a span; the greater decides where several meet."""

    SOFT = 0  # no bar line at all
    DOTTED = 1  # a bar line that may stand within a bar
    PLAIN = 2
    STRONG = 3  # a repeat sign or a double bar
    ENDING = 4  # a variant ending


@dataclass(slots=True)
class Draft:
    """A written note or rest, before ties are joined."""

    onset: Ticks
    length: Ticks
    pitch: int
    tied: bool
    extras: Extras
    line: int
    column: int


@dataclass(slots=True)
class DraftSpan:
    """What stands between two signs. `full` is the length that the meter asks for (None: free); `more` the bars that
    it holds beyond the first (a rest of several bars)."""

    first: int
    last: int
    onset: Ticks
    length: Ticks
    full: Ticks | None
    joint: Joint
    line: int
    column: int
    more: int = 0
    bar: int = 0
    meter: str = ""


Sign = Literal["start", "end", "double", "ending", "part"]


@dataclass(slots=True)
class Mark:
    """A sign between spans: the start or end of a repeat (`times` is how often it is played in all), a double bar, a
    variant ending (its numbers), or the name of the part that follows."""

    sign: Sign
    line: int
    column: int
    times: int = 2
    numbers: tuple[int, ...] = ()
    name: str = ""


Jump = Literal["segno", "coda", "to coda", "fine", "D.C.", "D.S."]


@dataclass(slots=True)
class Melody:
    """One voice: its notes and rests, its spans, and between them the signs.

    `items` holds the indices of the spans and the signs in written order; `jumps` pairs each sign of a jump with the
    index of the span before which it stands.
    """

    name: str = ""
    drafts: list[Draft] = field(default_factory=list)
    spans: list[DraftSpan] = field(default_factory=list)
    items: list[int | Mark] = field(default_factory=list)
    jumps: list[tuple[Jump, int]] = field(default_factory=list)


@dataclass(slots=True)
class Complaints:
    """The problems found so far. Beyond `most`, only errors are kept."""

    problems: list[Problem] = field(default_factory=list)
    most: int = 200

    def warn(self, line: int, column: int, message: str) -> None:
        """Something that was read on from."""
        if len(self.problems) < self.most:
            self.problems.append(Problem(line, column, "warning", message))

    def error(self, line: int, column: int, message: str) -> None:
        """Something that cannot be played."""
        if len(self.problems) < 2 * self.most:
            self.problems.append(Problem(line, column, "error", message))
