"""What the record knows of a player: each piece, each tune, each day. Fast, because it reads the running totals.

Conventions: days are the player's own; tempi are in beats of the tune a minute, of clean rounds in time; the stand-in's
rounds count nowhere. A mistake is told by its cause (`cause_table.py`, two equally good ones joined by "+"),
or by its verdict ("wrong", "missed", "extra") where nothing explains it.
"""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby

from companion.lesson.review import days_until
from companion.store.damage import day_of, moment_of
from companion.store.round_bars import from_text
from companion.tune.part_bars import Bar

ROUND = "round"  # the name of the piece that is the whole tune
FEW_NOTES = "%round note %"  # how the few notes round a single one are called: "A bar 1, around note 3"


@dataclass(frozen=True, slots=True)
class PieceMemory:
    """What came of a piece: rounds, clean ones, the best clean tempo (None: none in time), mistakes by cause."""

    name: str
    rounds: int
    clean: int
    best: float | None
    first: date
    last: date
    mistakes: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class BarMemory:
    """How often the notes of a bar were asked for and went wrong: ever, and since the month before the last one."""

    bar: Bar
    asked: int
    mistaken: int
    lately_asked: int
    lately_mistaken: int


@dataclass(frozen=True, slots=True)
class PieceDay:
    """A piece on one day."""

    piece: str
    day: date
    rounds: int
    clean: int
    best: float | None


@dataclass(frozen=True, slots=True)
class Memory:
    """A tune on a box: its pieces by name, those first practised first."""

    tune: int
    box: str
    pieces: Mapping[str, PieceMemory]


@dataclass(frozen=True, slots=True)
class Due:
    """When a tune comes back: the date, and the days until then by the calendar (0 or less: now)."""

    tune: int
    title: str
    rhythm: str
    print: str
    due: datetime
    days: int


@dataclass(frozen=True, slots=True)
class TuneMemory:
    """A tune on a box, as a whole.

    `pieces` counts those begun (the few notes round a single one are none), `learnt` those of them that were once
    played clean in time; `bars` how many of its bars were begun, and how many it has (0 where they are not known);
    `known` how many of them were once played through clean in time.
    `best` is the best clean tempo of the whole tune,
    `target` the tempo it is learnt towards (both None where there is none); `due` is None outside review.
    """

    tune: int
    title: str
    rhythm: str
    print: str
    target: float | None
    pieces: int
    learnt: int
    bars: tuple[int, int]
    best: float | None
    mistakes: Mapping[str, int]
    days: int
    minutes: float
    first: date
    last: date
    due: Due | None
    known: int = 0


@dataclass(frozen=True, slots=True)
class TuneDay:
    """A tune on one day: its rounds, clean ones, the best clean tempo of any piece (None: none in time), minutes."""

    day: date
    tune: int
    title: str
    rounds: int
    clean: int
    best: float | None
    minutes: float


def memory(db: sqlite3.Connection, tune: int, box: str) -> Memory:
    """The pieces of a tune."""
    mistakes: dict[str, dict[str, int]] = defaultdict(dict)
    for piece, cause, times in db.execute(
        "SELECT piece, cause, sum(times) FROM mistake_day WHERE tune = ? AND box = ? GROUP BY 1, 2 ORDER BY 3 DESC, 2",
        (tune, box),
    ):
        mistakes[piece][cause] = times
    rows = db.execute(
        "SELECT piece, sum(rounds), sum(clean), max(best), min(day), max(day) FROM piece_day "
        "WHERE tune = ? AND box = ? GROUP BY 1 ORDER BY 5, 1",
        (tune, box),
    )
    pieces = {
        name: PieceMemory(name, rounds, clean, best, day_of(first), day_of(last), mistakes.get(name, {}))
        for name, rounds, clean, best, first, last in rows
    }
    return Memory(tune, box, pieces)


def history(db: sqlite3.Connection, tune: int, box: str) -> tuple[PieceDay, ...]:
    """The pieces of a tune day by day."""
    rows = db.execute(
        "SELECT piece, day, rounds, clean, best FROM piece_day WHERE tune = ? AND box = ? ORDER BY day, piece",
        (tune, box),
    )
    return tuple(PieceDay(piece, day_of(day), rounds, clean, best) for piece, day, rounds, clean, best in rows)


def bars(db: sqlite3.Connection, tune: int, box: str) -> tuple[BarMemory, ...]:
    """Where on the tune its mistakes live, bar by bar as they stand in it; empty where its bars are not known yet."""
    (text,) = db.execute("SELECT bars FROM tune WHERE id = ?", (tune,)).fetchone()
    of_note = from_text(text)
    months = [
        month
        for (month,) in db.execute(
            "SELECT DISTINCT month FROM note_month WHERE tune = ? AND box = ? ORDER BY 1 DESC LIMIT 2", (tune, box)
        )
    ]
    sums: dict[Bar, list[int]] = {bar: [0, 0, 0, 0] for bar in of_note}
    for written, month, asked, mistaken in db.execute(
        "SELECT written, month, asked, mistaken FROM note_month WHERE tune = ? AND box = ?", (tune, box)
    ):
        if 0 <= written < len(of_note):
            counts = sums[of_note[written]]
            counts[0] += asked
            counts[1] += mistaken
            if month in months:
                counts[2] += asked
                counts[3] += mistaken
    parts = list(dict.fromkeys(bar.part for bar in of_note))
    order = sorted(sums, key=lambda bar: (parts.index(bar.part), bar.number, bar.time))
    return tuple(BarMemory(bar, *sums[bar]) for bar in order)


def due(db: sqlite3.Connection, box: str, now: datetime) -> tuple[Due, ...]:
    """The tunes in review, the most overdue first."""
    rows = db.execute(
        "SELECT tune.id, title, rhythm, print, due FROM card JOIN tune ON tune.id = card.tune WHERE box = ?", (box,)
    )
    found = []
    for tune, title, rhythm, mark, text in rows:
        when = moment_of(text)
        found.append(Due(tune, title, rhythm, mark, when, days_until(when, now)))
    return tuple(sorted(found, key=lambda one: (one.due, one.title, one.tune)))


def tunes(db: sqlite3.Connection, box: str, now: datetime) -> tuple[TuneMemory, ...]:
    """Every tune that was practised on a box: those in review first, the most overdue before; then the latest."""
    dues = {one.tune: one for one in due(db, box, now)}
    mistakes: dict[int, dict[str, int]] = defaultdict(dict)
    for tune, cause, times in db.execute(
        "SELECT tune, cause, sum(times) FROM mistake_day WHERE box = ? GROUP BY 1, 2 ORDER BY 3 DESC, 2", (box,)
    ):
        mistakes[tune][cause] = times
    minutes = dict(db.execute("SELECT tune, sum(ms) / 60000.0 FROM practice_day WHERE box = ? GROUP BY 1", (box,)))
    rows = db.execute(
        """
        SELECT tune.id, title, rhythm, print, target, count(DISTINCT CASE WHEN piece NOT LIKE :few THEN piece END),
            count(DISTINCT CASE WHEN best IS NOT NULL AND piece NOT LIKE :few THEN piece END),
            max(CASE WHEN piece = :whole THEN best END), count(DISTINCT day), min(day), max(day)
        FROM piece_day JOIN tune ON tune.id = piece_day.tune WHERE box = :box GROUP BY tune.id
        """,
        {"few": FEW_NOTES, "whole": ROUND, "box": box},
    )
    of_notes = {number: from_text(text) for number, text in db.execute("SELECT id, bars FROM tune")}
    begun, known = _bars_begun(db, box, of_notes), _bars_known(db, box, of_notes)
    found = [
        TuneMemory(
            number, title, rhythm, mark, target, pieces, learnt, begun.get(number, (0, 0)), best,
            mistakes.get(number, {}), days, minutes.get(number, 0.0), day_of(first), day_of(last), dues.get(number),
            known.get(number, 0),
        )
        for number, title, rhythm, mark, target, pieces, learnt, best, days, first, last in rows
    ]  # fmt: skip
    found.sort(key=lambda one: (one.title, one.tune))
    found.sort(key=lambda one: one.last, reverse=True)
    order = {number: place for place, number in enumerate(dues)}
    return tuple(sorted(found, key=lambda one: order.get(one.tune, len(order))))


def diary(db: sqlite3.Connection, box: str) -> tuple[TuneDay, ...]:
    """Each day practised on a box, tune by tune: the last day first, and in it the tune with the most rounds."""
    minutes = {
        (day, tune): ms / 60000.0
        for day, tune, ms in db.execute("SELECT day, tune, ms FROM practice_day WHERE box = ?", (box,))
    }
    rows = db.execute(
        "SELECT day, tune, title, sum(rounds) AS played, sum(clean), max(best) FROM piece_day "
        "JOIN tune ON tune.id = tune WHERE box = ? GROUP BY day, tune ORDER BY day DESC, played DESC, title, tune",
        (box,),
    )
    return tuple(
        TuneDay(day_of(day), tune, title, played, clean, best, minutes.get((day, tune), 0.0))
        for day, tune, title, played, clean, best in rows
    )


_OfNotes = Mapping[int, tuple[Bar, ...]]  # by tune: the bar of each of its notes


def _bars_begun(db: sqlite3.Connection, box: str, of_notes: _OfNotes) -> dict[int, tuple[int, int]]:
    """For each tune practised on a box: how many of its bars had a note asked for, and how many bars it has."""
    asked = _notes_by_tune(
        db.execute("SELECT DISTINCT tune, written FROM note_month WHERE box = ? AND asked > 0", (box,))
    )
    found = {}
    for tune, notes in asked.items():
        of_note = of_notes[tune]
        begun = {of_note[written] for written in notes if 0 <= written < len(of_note)}
        found[tune] = (len(begun), len(set(of_note)))
    return found


def _bars_known(db: sqlite3.Connection, box: str, of_notes: _OfNotes) -> dict[int, int]:
    """For each tune practised on a box: how many of its bars were once played through clean in time.

    A piece has the same notes in every round, so one clean round of each is looked at.
    """
    played = _notes_by_tune(
        db.execute(
            """
            SELECT once.tune, written FROM (
                SELECT s.tune AS tune, max(r.id) AS round FROM sitting s JOIN round r ON r.sitting = s.id
                WHERE s.box = ? AND r.clean AND r.bpm IS NOT NULL AND NOT r.standin GROUP BY s.tune, r.piece
            ) once JOIN note_mark ON note_mark.round = once.round WHERE written IS NOT NULL
            """,
            (box,),
        )
    )
    found = {}
    for tune, notes in played.items():
        times = groupby(enumerate(of_notes[tune]), key=lambda one: one[1])
        found[tune] = len({bar for bar, time in times if all(written in notes for written, _ in time)})
    return found


def _notes_by_tune(rows: Iterable[tuple[int, int]]) -> dict[int, set[int]]:
    notes: dict[int, set[int]] = defaultdict(set)
    for tune, written in rows:
        notes[tune].add(written)
    return notes


def days(db: sqlite3.Connection, box: str | None = None, tune: int | None = None) -> dict[date, float]:
    """Minutes practised by day, on a box and in a tune where they are named."""
    rows = db.execute(
        "SELECT day, sum(ms) / 60000.0 FROM practice_day "
        "WHERE (:box IS NULL OR box = :box) AND (:tune IS NULL OR tune = :tune) GROUP BY 1 ORDER BY 1",
        {"box": box, "tune": tune},
    )
    return {day_of(day): minutes for day, minutes in rows}


def boxes(db: sqlite3.Connection) -> tuple[str, ...]:
    """The boxes that were practised on, the last one first."""
    return tuple(box for (box,) in db.execute("SELECT box FROM practice_day GROUP BY 1 ORDER BY max(day) DESC, 1"))
