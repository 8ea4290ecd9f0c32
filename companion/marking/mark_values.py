"""What was asked, what was heard, and the marks, as values.

Conventions: seconds on one clock for asked and heard; lateness in milliseconds, negative where early.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Asked:
    """A note the player is asked for.

    `index` is its place in the round's notes; `at` and `length` its place in what is played, in whole notes;
    `ornaments` and `grace` what is written on it.
    """

    index: int
    at: Fraction
    length: Fraction
    pitch: int
    ornaments: tuple[str, ...] = ()
    grace: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Heard:
    """A note that came in: when it began and ended (None: still sounding), in seconds, with the delays taken off.

    `sure` is the chance that it was played at all: below 1 only where it was heard through a microphone.
    """

    seconds: float
    pitch: int
    velocity: int = 64
    channel: int = 0
    end: float | None = None
    sure: float = 1.0


class Verdict(StrEnum):
    """What became of a note. `UNSURE`: it may have gone wrong, but was not heard well enough to fault anyone."""

    RIGHT = "right"
    WRONG = "wrong"
    MISSED = "missed"
    EXTRA = "extra"
    ORNAMENT = "ornament"
    UNSURE = "unsure"


@dataclass(frozen=True, slots=True)
class NoteMark:
    """The mark of one note.

    `written` is an index into the round (None for an extra or an ornament), `heard` into the heard notes in order of
    onset (None for a missed one). `late_ms` is None where there is no clock or nothing to compare. `cause` is a name of
    `cause_table.py`, None where nothing explains it. `late_share` is the lateness as a share of a beat, `held` says
    "short" or "long" of a right note whose end came in and lies well off the written one.

    A note for which wrong ones were played before it came is wrong, by the first of those: `tries` are they, by index
    into the heard notes, `heard_pitch` is what the first of them sounded, and `heard` the right note in the end.
    """

    written: int | None
    heard: int | None
    verdict: Verdict
    pitch: int | None
    heard_pitch: int | None
    late_ms: float | None
    cause: str | None = None
    late_share: float | None = None
    held: str | None = None
    tries: tuple[int, ...] = ()
    sure: float = 1.0


@dataclass(frozen=True, slots=True)
class Marks:
    """The marks of one round: clean or not, the tempo asked and played (bpm, None where there is none), each note."""

    clean: bool
    asked_bpm: float | None
    played_bpm: float | None
    notes: tuple[NoteMark, ...]
