"""What was gained, for the window: tune by tune, the days, the diary. The figures are those of `companion progress`."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

from companion.pages.practised import PracticeReport, cause_in_words, weeks
from companion.screen.actions import Asked, Nav, Picked
from companion.screen.list_values import DiaryLine, GainedPage, Gains, TuneGain, WeekMinutes
from companion.screen.words import Say
from companion.store.practice_history import Due, TuneDay, TuneMemory

HOURS_FROM = 120.0  # minutes, from which on it is said in hours


class Progress:
    """The page while it is open.

    `glance` is what is to be seen, `chosen` the fingerprint of a tune that is to be practised ("" for none).
    """

    def __init__(self, found: PracticeReport, words: Say) -> None:
        self.chosen = ""
        self._found, self._words = found, words
        self._made: dict[Gains, GainedPage] = {}
        self.glance = self._view(Gains.TUNES)

    def take(self, asked: Asked) -> None:
        """Do what the player asks for on the page."""
        page = replace(self.glance, notice="")
        self.chosen = ""
        if asked in (Nav.LEFT, Nav.RIGHT):
            views = list(Gains)
            page = self._view(views[(views.index(page.view) + (1 if asked is Nav.RIGHT else -1)) % len(views)])
        elif asked in (Nav.UP, Nav.DOWN):
            # The weeks go back in time upwards, the rows down.
            down = (asked is Nav.DOWN) != (page.view is Gains.DAYS)
            last = max(0, len(page.weeks if page.view is Gains.DAYS else page.rows) - 1)
            page = replace(page, at=min(last, max(0, page.at + (1 if down else -1))))
        elif isinstance(asked, Picked) and asked.part in list(Gains):
            page = self._view(Gains(asked.part))
        elif isinstance(asked, Picked) and 0 <= asked.row < len(page.rows):
            self._choose(page, asked.row)
            page = replace(page, at=asked.row)
        elif asked is Nav.ENTER:
            self._choose(page, page.at)
        self.glance = page

    def say(self, notice: str) -> None:
        """Say something on the page."""
        self.glance = replace(self.glance, notice=notice)

    def _choose(self, page: GainedPage, at: int) -> None:
        row = page.rows[at] if at < len(page.rows) else None
        self.chosen = row.id if isinstance(row, TuneGain) else ""

    def _view(self, view: Gains) -> GainedPage:
        if view not in self._made:
            made = {Gains.TUNES: _tunes, Gains.DAYS: _days, Gains.DIARY: _diary}[view]
            self._made[view] = made(self._found, self._words)
        return self._made[view]


def _tunes(found: PracticeReport, words: Say) -> GainedPage:
    rows = tuple(
        TuneGain(
            one.title, (one.known, *one.bars), _tempo(one, words), _wrong(one, words), _due(one.due, words),
            one.due is not None and one.due.days <= 0, one.print,
        )
        for one in found.tunes
    )  # fmt: skip
    review = [one.due for one in found.tunes if one.due is not None]
    now = sum(due.days <= 0 for due in review)
    said = words("gain.sum", n=len(rows), review=len(review), due=now) if rows else words("gain.nothing")
    return GainedPage(Gains.TUNES, rows, said=said)


def _days(found: PracticeReport, words: Say) -> GainedPage:
    shown = []
    for week in weeks(found.days):
        minutes = tuple(found.days.get(week.monday + timedelta(days=n), 0.0) for n in range(7))
        said = words("gain.week", n=week.days, long=_long(week.minutes, words)) if week.days else ""
        shown.append(WeekMinutes(_date(week.monday, "gain.monday", words), minutes, said))
    long = _long(sum(found.days.values()), words)
    said = words("gain.practised", n=len(found.days), long=long) if shown else words("gain.nothing")
    return GainedPage(Gains.DAYS, weeks=tuple(shown), said=said)


def _diary(found: PracticeReport, words: Say) -> GainedPage:
    rows = tuple(
        _line(one, one.day != before.day if before is not None else True, found.now.date(), words)
        for before, one in pairwise((None, *found.diary))
        if one is not None
    )
    long = _long(sum(found.days.values()), words)
    said = words("gain.practised", n=len(found.days), long=long) if rows else words("gain.nothing")
    return GainedPage(Gains.DIARY, rows, said=said)


def _line(one: TuneDay, first: bool, today: date, words: Say) -> DiaryLine:
    key = "gain.day" if one.day.year == today.year else "gain.day_of_year"
    return DiaryLine(
        _date(one.day, key, words) if first else "",
        one.title,
        words("gain.rounds", n=one.rounds, clean=one.clean),
        words("gain.up_to", best=round(one.best)) if one.best is not None else "",
        _long(one.minutes, words),
    )


def _date(day: date, key: str, words: Say) -> str:
    weekday, month = words("gain.weekdays").split()[day.weekday()], words("gain.months").split()[day.month - 1]
    return words(key, weekday=weekday, day=day.day, month=month, year=day.year)


def _long(minutes: float, words: Say) -> str:
    """How long, in minutes and from two hours on in hours."""
    if minutes >= HOURS_FROM:
        return words("gain.hours", n=f"{minutes / 60:.1f}")
    return words("gain.minutes", n=f"{minutes:.0f}")


def _tempo(one: TuneMemory, words: Say) -> str:
    if one.best is None:
        return words("gain.no_tempo")
    if one.target is None:
        return words("gain.tempo_alone", best=f"{one.best:.0f}")
    return words("gain.tempo", best=f"{one.best:.0f}", target=f"{one.target:.0f}")


def _wrong(one: TuneMemory, words: Say) -> str:
    """What goes wrong most often."""
    code, times = next(iter(one.mistakes.items()), ("", 0))
    if not code:
        return ""
    first, *more = (_cause(cause, words) for cause in code.split("+"))
    what = words("gain.or", one=first, other=more[0]) if more else first
    return words("gain.wrong", n=times, what=what)


def _cause(code: str, words: Say) -> str:
    with suppress(KeyError):  # a later version's
        return words(f"cause.{code}")
    return cause_in_words(code)


def _due(due: Due | None, words: Say) -> str:
    if due is None:
        return ""
    if due.days == 0:
        return words("gain.today")
    return words("gain.in", n=due.days) if due.days > 0 else words("gain.late", n=-due.days)
