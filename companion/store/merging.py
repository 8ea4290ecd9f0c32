"""Reads exported lines into a record: nothing is counted twice, and nothing is half read."""

from __future__ import annotations

import json
import sqlite3
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fsrs import Rating

from companion.errors import Place, UserError
from companion.lesson.review import MemoryRules, card_of, to_plain
from companion.store.damage import moment_of
from companion.store.fields import LineError, checked, column_of, parsed
from companion.store.lines import FIRST, FORMAT, VERSION, rounds_of
from companion.store.totals import count_anew

Fields = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Added:
    """What came into the record that was not there: tunes, sittings, rounds, reviews."""

    tunes: int
    sittings: int
    rounds: int
    reviews: int


def read_into(db: sqlite3.Connection, path: Path, rules: MemoryRules) -> Added:
    """Read a file of lines into the record, within the transaction that is open; `rules` say when tunes come back.

    Raises
    ------
    UserError
        Where the file cannot be read, or a line of it is none: its line, its column, and what is wrong. Then the
        transaction must be taken back.
    """
    reader = _ExportReader(db, rules)
    try:
        with path.open("rb") as file:
            for raw in file:
                reader.line += 1
                if raw.strip():
                    reader.read(*parsed(raw))
    except OSError as error:
        reason = (error.strerror or "no reason given").lower()
        raise UserError(f"this file cannot be read ({reason}); name another", Place(path)) from None
    except LineError as bad:
        message = f"{bad.message}; nothing was taken in: correct the line, or export the record again"
        raise UserError(message, Place(path, reader.line, bad.column)) from None
    if not reader.begun:
        raise UserError("this file is empty; export the record again", Place(path))
    count_anew(db)
    return Added(*(reader.added[kind] for kind in ("tune", "sitting", "round", "review")))


@dataclass(slots=True)
class _ExportReader:
    """Where the reading is: the tunes met, the sitting whose rounds follow, and what was new."""

    db: sqlite3.Connection
    rules: MemoryRules
    line: int = 0
    begun: bool = False
    added: Counter[str] = field(default_factory=Counter)
    _tunes: dict[str, int] = field(default_factory=dict)
    _met: Counter[tuple[int, str, str]] = field(default_factory=Counter)  # sittings that begin at the same moment
    _sitting: int | None = None
    _there: Counter[str] = field(default_factory=Counter)  # rounds of that sitting that the record has already
    _reviews: Counter[tuple[int, str]] = field(default_factory=Counter)  # in the file
    _new_reviews: Counter[tuple[int, str]] = field(default_factory=Counter)

    def read(self, text: str, plain: Mapping[str, Any]) -> None:
        """Take in one line. Raises `LineError`."""
        if not self.begun:
            _head(text, plain)
            self.begun = True
            return
        kind, fields = checked(text, plain)
        if "tune" in fields:
            if fields["tune"] not in self._tunes:
                raise LineError(column_of(text, "tune"), 'no line above has a tune with this "print"')
            fields["tune"] = self._tunes[fields["tune"]]
        if kind == "round" and self._sitting is None:
            raise LineError(1, "a round must follow the sitting that it belongs to")
        takers: dict[str, Callable[[Fields], None]] = {
            "tune": self._tune,
            "sitting": self._take_sitting,
            "round": self._round,
            "standing": self._standing,
            "review": self._review,
            "card": self._card,
        }
        takers[kind](fields)

    def _tune(self, fields: Fields) -> None:
        bars = None
        if fields["bars"] is not None:
            bars = json.dumps(fields["bars"], ensure_ascii=False, separators=(",", ":"))
        row = self.db.execute("SELECT id FROM tune WHERE print = ?", (fields["print"],)).fetchone()
        if row is None:
            row = self.db.execute(
                "INSERT INTO tune (print, title, rhythm, bars, target) VALUES (?, ?, ?, ?, ?) RETURNING id",
                (fields["print"], fields["title"], fields["rhythm"], bars, fields["target"]),
            ).fetchone()
            self.added["tune"] += 1
        else:
            self.db.execute(
                "UPDATE tune SET bars = coalesce(bars, ?), target = coalesce(target, ?) WHERE id = ?",
                (bars, fields["target"], row[0]),
            )
        self._tunes[fields["print"]] = row[0]

    def _take_sitting(self, fields: Fields) -> None:
        tune, box, began, ended = (fields[name] for name in ("tune", "box", "began", "ended"))
        rows = self.db.execute(
            "SELECT id, ended FROM sitting WHERE tune = ? AND box = ? AND began = ? ORDER BY id", (tune, box, began)
        ).fetchall()
        place = self._met[tune, box, began]
        self._met[tune, box, began] += 1
        if place >= len(rows):
            (self._sitting,) = self.db.execute(
                "INSERT INTO sitting (tune, box, began, ended) VALUES (?, ?, ?, ?) RETURNING id",
                (tune, box, began, ended),
            ).fetchone()
            self._there = Counter()
            self.added["sitting"] += 1
            return
        self._sitting, known = rows[place]
        assert self._sitting is not None
        self._there = Counter(json.dumps(one) for one in rounds_of(self.db, self._sitting))
        if _later(ended, known):
            self.db.execute("UPDATE sitting SET ended = ? WHERE id = ?", (ended, self._sitting))

    def _round(self, fields: Fields) -> None:
        if fields["bpm"] is not None:
            fields["bpm"] = float(fields["bpm"])
        for mark in fields["marks"]:
            if mark[4] is not None:
                mark[4] = float(mark[4])
        print_ = json.dumps(fields) if self._there else ""
        if self._there[print_]:
            self._there[print_] -= 1
            return
        names = ("piece", "step", "bpm", "clean", "standin", "ended")
        cursor = self.db.execute(
            "INSERT INTO round (sitting, piece, step, bpm, clean, standin, ended) VALUES (?, ?, ?, ?, ?, ?, ?)",
            (self._sitting, *(fields[name] for name in names)),
        )
        self.db.executemany(
            "INSERT INTO note_mark VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            [(cursor.lastrowid, seq, *mark) for seq, mark in enumerate(fields["marks"])],
        )
        self.added["round"] += 1

    def _standing(self, fields: Fields) -> None:
        key = tuple(fields[name] for name in ("tune", "box", "standin"))
        row = self.db.execute("SELECT put FROM standing WHERE tune = ? AND box = ? AND standin = ?", key).fetchone()
        if row is None or _later(fields["put"], row[0]):
            self.db.execute(
                "INSERT OR REPLACE INTO standing (tune, box, standin, state, put) VALUES (?, ?, ?, ?, ?)",
                (*key, json.dumps(fields["state"]), fields["put"]),
            )

    def _review(self, fields: Fields) -> None:
        tune, box, at, rating = (fields[name] for name in ("tune", "box", "at", "rating"))
        cursor = self.db.execute("INSERT OR IGNORE INTO review VALUES (?, ?, ?, ?)", (tune, box, at, rating))
        self._reviews[tune, box] += 1
        self._new_reviews[tune, box] += cursor.rowcount
        self.added["review"] += cursor.rowcount

    def _card(self, fields: Fields) -> None:
        """The card of the side that has all the reviews; where neither has, the one that all of them lead to."""
        tune, box = fields["tune"], fields["box"]
        there = self.db.execute("SELECT 1 FROM card WHERE tune = ? AND box = ?", (tune, box)).fetchone()
        if there is not None and not self._new_reviews[tune, box]:
            return
        card, due = fields["card"], fields["due"]
        rows = self.db.execute("SELECT at, rating FROM review WHERE tune = ? AND box = ?", (tune, box)).fetchall()
        if there is not None and len(rows) > self._reviews[tune, box]:
            reviews = sorted((moment_of(at), Rating(rating)) for at, rating in rows)
            found = card_of(reviews, self.rules)
            assert found is not None  # the record has a card of these reviews' own
            card, due = to_plain(found), found.due.isoformat()
        self.db.execute("INSERT OR REPLACE INTO card VALUES (?, ?, ?, ?)", (tune, box, json.dumps(card), due))


def _head(text: str, plain: Mapping[str, Any]) -> None:
    if plain.get("format") != FORMAT:
        raise LineError(1, f'this is not an exported record: its first line must be {{"format":"{FORMAT}",…}}')
    if plain.get("version") not in (FIRST, VERSION):
        message = f"this program reads versions {FIRST} and {VERSION} of the format; update the program"
        raise LineError(column_of(text, "version"), message)


def _later(one: str | None, other: str | None) -> bool:
    """Whether a moment is later than another; none is earlier than any."""
    if not one:
        return False
    return not other or moment_of(one) > moment_of(other)
