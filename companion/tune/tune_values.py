"""What is written (`Tune`) and the order in which it is played (`OnceThrough`).

Conventions: places and lengths are exact fractions of a whole note; pitches are MIDI numbers (middle C is 60);
lines and columns count from 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal


@dataclass(frozen=True, slots=True)
class Problem:
    """A complaint about the text of a tune. An error cannot be played; a warning was read on from."""

    line: int
    column: int
    severity: Literal["error", "warning"]
    message: str


@dataclass(frozen=True, slots=True)
class Meter:
    """A meter as written (`6/8`, `C|`, `none`), the length of its bar (None where it is free) and of each beat."""

    text: str
    bar: Fraction | None
    beats: tuple[Fraction, ...]


@dataclass(frozen=True, slots=True)
class Key:
    """A key as written, and what its signature does: `{"F": 1, "C": 1}` for D major."""

    text: str
    tonic: str
    mode: str
    signature: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class Tempo:
    """A tempo: `per_minute` beats of `beat` whole notes; the words written beside it."""

    beat: Fraction
    per_minute: float
    words: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    """One note as written, ties joined.

    `bar` is 0 in a pick-up before the first full bar, else counts from 1; what follows a repeat sign within a bar
    belongs to the bar that it completes. `ornaments` are names of meaning ("roll", "cut", "trill", …); `grace`
    the pitches of the grace notes before it; `chord` the chord symbol over it, else None; `under` the lower notes
    of a written chord; `finger` a fingering that the tune asks for, else None.
    """

    onset: Fraction
    length: Fraction
    pitch: int
    bar: int
    ornaments: tuple[str, ...] = ()
    grace: tuple[int, ...] = ()
    chord: str | None = None
    under: tuple[int, ...] = ()
    finger: int | None = None
    line: int = 0
    column: int = 0


@dataclass(frozen=True, slots=True)
class Played:
    """One note of a round.

    `written` is the index of its `Note` in the tune, `part` the part's letter, `turn` which time through that part
    this is (1 the first), `bar` the written bar, `at` the place in the round (0 where it begins, pick-up included).
    """

    written: int
    part: str
    turn: int
    bar: int
    at: Fraction
    length: Fraction
    pitch: int
    ornaments: tuple[str, ...] = ()
    grace: tuple[int, ...] = ()
    chord: str | None = None
    finger: int | None = None


@dataclass(frozen=True, slots=True)
class BarSpan:
    """One bar of a round as it is played: the written bar's number, where it starts and how long it lasts."""

    bar: int
    part: str
    turn: int
    at: Fraction
    length: Fraction


@dataclass(frozen=True, slots=True)
class OnceThrough:
    """A tune unfolded: once through, with all its repeats.

    `length` is the distance from the beginning of one round to that of the next; `pickup` the length of what comes
    before the first full bar (0 without one); `form` the parts in order, one letter each ("AABB"); `signature` that of
    the key at the beginning, by which black notes are named.
    """

    notes: tuple[Played, ...]
    bars: tuple[BarSpan, ...]
    length: Fraction
    pickup: Fraction
    form: str
    signature: tuple[tuple[str, int], ...] = ()
