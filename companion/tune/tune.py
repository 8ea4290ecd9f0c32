"""The tune as it is written, and what its unfolding needs.

Conventions: places and lengths are exact fractions of a whole note; pitches are MIDI numbers (middle C is 60); lines
and columns count from 1. What begins with `course` is in ticks (`companion.tune.ticks`).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from companion.tune.draft import Joint, Jump, Mark
from companion.tune.names import name_of
from companion.tune.ticks import Ticks
from companion.tune.tune_values import Key, Meter, Note, Problem, Tempo

Atom = tuple[int, Ticks, Ticks, int, bool]
"""A written note before ties are joined: the index of the joined note in `Tune.notes`, its onset, its length, its
pitch, and whether it is tied to the next."""


class Span(NamedTuple):
    """What stands between two bar lines (or signs) of any kind: atoms `first` to `last` (exclusive).

    `joint` is what stands before it, `meter` the meter in force as written, `more` how many bars of rest it holds
    beyond the first.
    """

    first: int
    last: int
    onset: Ticks
    length: Ticks
    bar: int
    joint: Joint = Joint.PLAIN
    meter: str = ""
    more: int = 0


class SpanPlayed(NamedTuple):
    """One span in the order of play: its index, the letter of its part, and which time through that part."""

    span: int
    part: str
    turn: int


@dataclass(frozen=True, slots=True)
class WayThrough:
    """The way through a tune: its atoms, its spans in written order, and the spans in the order of play.

    For the writers, the signs too: `items` holds the indices of the spans and the signs between them in written order,
    `jumps` each sign of a jump with the index of the span before which it stands, `order` the order of the parts.
    """

    atoms: tuple[Atom, ...] = ()
    spans: tuple[Span, ...] = ()
    steps: tuple[SpanPlayed, ...] = ()
    items: tuple[int | Mark, ...] = ()
    jumps: tuple[tuple[Jump, int], ...] = ()
    order: str = ""


@dataclass(frozen=True, slots=True)
class OtherVoice:
    """A voice beside the melody, kept for later: what it is called in the text and its notes as written."""

    name: str
    notes: tuple[Note, ...]


@dataclass(frozen=True, slots=True)
class Tune:
    """A tune as written.

    Parameters
    ----------
    number : its reference number in the book.
    title, titles : the first title and all of them; "" where there is none.
    rhythm : what kind of tune the text says it is ("reel"), as written; "" where it does not say.
    meter, key, tempo : as they stand at the beginning.
    unit : the unit note length at the beginning, in whole notes.
    notes : the melody in written order, ties joined, rests left out.
    bars : how many bars are written. A pick-up is bar 0 and does not count; a bar that a repeat sign splits counts
        once.
    form : the parts in the order of play, one letter each ("AABB").
    problems : what is wrong with the text. A tune with an error cannot be played.
    fields : the other fields of its header in order, each a letter and its text (("C", "Trad."), …).
    voices : the voices beside the melody.
    course : the way through the tune, for `companion.tune.unfold`.
    nth : which of the tunes with its number it is, from 1; 0 where it is the only one.
    """

    number: int
    title: str
    titles: tuple[str, ...]
    rhythm: str
    meter: Meter
    key: Key
    tempo: Tempo | None
    unit: Fraction
    notes: tuple[Note, ...]
    bars: int
    form: str
    problems: tuple[Problem, ...] = ()
    fields: tuple[tuple[str, str], ...] = ()
    voices: tuple[OtherVoice, ...] = ()
    course: WayThrough = WayThrough()
    nth: int = 0

    @property
    def name(self) -> str:
        """What it is called by in its book: "3", or "3.2" (`companion.tune.names`)."""
        return name_of(self.number, self.nth)

    @property
    def errors(self) -> tuple[Problem, ...]:
        """The problems for which the tune cannot be played."""
        return tuple(p for p in self.problems if p.severity == "error")

    def field(self, letter: str) -> str:
        """The text of a header field, "" where it is not there; several are joined by "; "."""
        return "; ".join(text for name, text in self.fields if name == letter)
