"""What was practised and what it came to, as values, and in words: for the window's pages of it, and for `progress`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from companion.store.practice_history import BarMemory, Due, PieceDay, PieceMemory, TuneDay, TuneMemory
from companion.store.record import Record


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
    """What was practised on a box: minutes by day, the tunes, each day tune by tune, and those looked at closely."""

    box: str
    now: datetime
    days: Mapping[date, float]
    tunes: tuple[TuneMemory, ...]
    diary: tuple[TuneDay, ...] = ()
    details: tuple[Detail, ...] = ()


def report_of(record: Record, box: str, now: datetime) -> PracticeReport:
    """All that the record has of a box; `now` has the time zone whose days are counted."""
    return PracticeReport(box, now, record.days(box), record.tunes(box, now), record.diary(box))


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


def mistakes_in_words(mistakes: Mapping[str, int], most: int) -> str:
    """What goes wrong most often, and how many times: "other row: 6"."""
    return ", ".join(f"{cause_in_words(code)}: {times}" for code, times in list(mistakes.items())[:most])


def tempo_in_words(bpm: float | None, target: float | None = None) -> str:
    """A tempo in beats a minute, and the one it is on the way to: "96 of 112"; "" where there is none."""
    if bpm is None:
        return ""
    return f"{bpm:.0f}" if target is None else f"{bpm:.0f} of {target:.0f}"


def some_in_words(some: int, all_: int) -> str:
    """How many of how many: "3 of 16"; "" where it is not known."""
    return f"{some} of {all_}" if all_ else ""


def days_in_words(number: int) -> str:
    """A number of days."""
    return f"{number} day{'' if number == 1 else 's'}"


def minutes_in_words(minutes: float) -> str:
    """How long, in minutes and from two hours on in hours."""
    if minutes >= 120:
        return f"{minutes / 60:.1f} hours"
    return f"{minutes:.0f} minute{'' if round(minutes) == 1 else 's'}"


def tunes_in_words(tunes: Sequence[TuneMemory]) -> str:
    """How many tunes, and how many of them are in review and due."""
    now = sum(1 for one in tunes if one.due is not None and one.due.days <= 0)
    in_review = sum(one.due is not None for one in tunes)
    many = "1 tune" if len(tunes) == 1 else f"{len(tunes)} tunes"
    return f"{many}, {in_review} of them in review, {now} due now."


def practised_in_words(days: Mapping[date, float]) -> str:
    """On how many days was practised, and how long."""
    return f"{days_in_words(len(days))} practised in all, {minutes_in_words(sum(days.values()))}."
