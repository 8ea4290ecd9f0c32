"""What was practised and what it came to, as values, and in words: for `progress`, its tables and its plots."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from companion.store.practice_history import BarMemory, Due, PieceDay, PieceMemory, TuneMemory


@dataclass(frozen=True, slots=True)
class Detail:
    """One tune, piece by piece, bar by bar and day by day."""

    tune: TuneMemory
    pieces: tuple[PieceMemory, ...]
    bars: tuple[BarMemory, ...]
    history: tuple[PieceDay, ...]
    days: Mapping[date, float]


@dataclass(frozen=True, slots=True)
class PracticeReport:
    """What was practised on a box: minutes by day, the tunes, and those that are looked at closely."""

    box: str
    now: datetime
    days: Mapping[date, float]
    tunes: tuple[TuneMemory, ...]
    details: tuple[Detail, ...]


@dataclass(frozen=True, slots=True)
class Week:
    """A week, by its Monday: on how many days was practised, and for how many minutes."""

    monday: date
    days: int
    minutes: float


def weeks(days: Mapping[date, float]) -> tuple[Week, ...]:
    """Days and minutes by week, first to last, those without practice included."""
    if not days:
        return ()
    monday, last = _monday(min(days)), max(days)
    found = []
    while monday <= last:
        minutes = [days[day] for day in (monday + timedelta(days=n) for n in range(7)) if day in days]
        found.append(Week(monday, len(minutes), sum(minutes)))
        monday += timedelta(days=7)
    return tuple(found)


_VERDICTS = {"wrong": "wrong note", "missed": "missed", "extra": "extra"}  # where no cause is known


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


def cause_in_words(code: str) -> str:
    """A cause as a table names it: "other-direction+other-row" is "other direction or other row"."""
    if code in _VERDICTS:
        return _VERDICTS[code]
    return code.replace("-", " ").replace("+", " or ")


def due_in_words(due: Due | None) -> str:
    """When a tune comes back."""
    if due is None:
        return ""
    if due.days == 0:
        return "today"
    days = "day" if abs(due.days) == 1 else "days"
    return f"in {due.days} {days}" if due.days > 0 else f"{-due.days} {days} late"
