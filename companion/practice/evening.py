"""How long somebody has played without a rest: one clock for the evening, over all its tunes and sittings.

Pure. Moments are handed in, in seconds on any clock that runs on while the program is open. Time counts from one note
to the next, so the clock stands still while nobody plays; a gap as long as a rest is a rest, wherever it was taken.

>>> evening = heard(heard(Evening(), 10.0, rules), 12.5, rules)
>>> evening.played
2.5
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from companion.lesson.lesson_rules import LessonRules

MINUTE = 60.0


@dataclass(frozen=True, slots=True)
class Evening:
    """`played` seconds since the last rest; the moment of the `last` note (None: none yet); and, where a rest was
    offered since and not taken, how much was played by then (`offered`, else None)."""

    played: float = 0.0
    last: float | None = None
    offered: float | None = None


def heard(evening: Evening, now: float, rules: LessonRules) -> Evening:
    """The evening after a note at `now`."""
    if evening.last is None:
        return replace(evening, last=now)
    gap = max(0.0, now - evening.last)
    if gap >= rules.rest_minutes * MINUTE:
        return Evening(last=now)
    return replace(evening, last=now, played=evening.played + (gap if gap <= rules.still_seconds else 0.0))


def unheard(evening: Evening, began: float, now: float, rules: LessonRules) -> Evening:
    """The evening after a round that nobody could hear: it counts as played from beginning to end."""
    evening = heard(evening, began, rules)
    return replace(evening, last=now, played=evening.played + max(0.0, now - began))


def rest_due(evening: Evening, rules: LessonRules) -> bool:
    """Whether it is time for a rest; where one was passed over, only after some more minutes."""
    since = evening.played - (evening.offered or 0.0)
    minutes = rules.break_minutes if evening.offered is None else rules.remind_minutes
    return since >= minutes * MINUTE


def offered(evening: Evening) -> Evening:
    """The evening once a rest has been offered."""
    return replace(evening, offered=evening.played)
