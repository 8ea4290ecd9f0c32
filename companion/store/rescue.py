"""Reads what can still be read of a damaged record, or of a backup, as the lines of an export.

A damaged page costs the rows that lie on it: SQLite reads on in the others where it is asked for one row at a time.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from companion.errors import Place, UserError
from companion.store.damage import FAULTS, object_of, plain_of
from companion.store.fields import LineError, checked
from companion.store.lines import FIRST, FORMAT, UNSURE, VERSION, to_line

_LEAST_ROW = 16  # the fewest bytes a row takes in a file, to bound the search for rows
_MARKS = "SELECT written, verdict, pitch, heard_pitch, late_ms, cause FROM note_mark WHERE round = ? ORDER BY seq"


@dataclass(slots=True)
class Rescued:
    """Reads a record row by row; `lost` counts the rows that are there but cannot be read."""

    db: sqlite3.Connection
    size: int
    lost: int = 0
    _prints: dict[int, str] = field(default_factory=dict)

    def lines(self) -> Iterator[str]:
        """The lines of all that can be read."""
        first = self._rows("PRAGMA user_version")[:1] == [(1,)]
        yield to_line({"format": FORMAT, "version": VERSION if self._rows(UNSURE, quiet=True) else FIRST})
        more = "NULL, NULL" if first else "bars, target"
        for number, mark, title, rhythm, bars, target in self._each("tune", f"id, print, title, rhythm, {more}"):
            plain = {"print": mark, "title": title, "rhythm": rhythm, "bars": None, "target": target}
            with contextlib.suppress(*FAULTS):
                plain["bars"] = plain_of(bars) if bars is not None else None
            line = self._line("tune", plain)
            if line:
                self._prints[number] = mark
                yield line
        yield from self._sittings()
        put = "''" if first else "put"
        for tune, box, standin, state, when in self._rows(f"SELECT tune, box, standin, state, {put} FROM standing"):
            with contextlib.suppress(*FAULTS):
                plain = {"box": box, "standin": bool(standin), "state": object_of(state), "put": when}
                yield self._line("standing", plain, tune)
        if not first:
            for tune, box, at, rating in self._rows("SELECT tune, box, at, rating FROM review"):
                yield self._line("review", {"box": box, "at": at, "rating": rating}, tune)
            for tune, box, card, due in self._rows("SELECT tune, box, card, due FROM card"):
                with contextlib.suppress(*FAULTS):
                    yield self._line("card", {"box": box, "card": object_of(card), "due": due}, tune)

    def _sittings(self) -> Iterator[str]:
        rounds: dict[int, list[Sequence[Any]]] = defaultdict(list)
        for row in self._each("round", "sitting, id, piece, step, bpm, clean, standin, ended"):
            rounds[row[0]].append(row[1:])
        for number, tune, box, began, ended in self._each("sitting", "id, tune, box, began, ended"):
            line = self._line("sitting", {"box": box, "began": began, "ended": ended}, tune)
            yield line
            for round_, piece, step, bpm, clean, standin, when in rounds.pop(number, ()) if line else ():
                plain = {"piece": piece, "step": step, "bpm": bpm, "clean": bool(clean), "standin": bool(standin)}
                marks = self._rows(_MARKS, round_, whole=True)
                if marks:  # with some missing it is no longer the round that was kept
                    yield self._line("round", {**plain, "ended": when, "marks": [list(mark) for mark in marks]})
        self.lost += sum(map(len, rounds.values()))

    def _line(self, kind: str, plain: dict[str, Any], tune: int | None = None) -> str:
        """A line, or "" where something in it is not what it should be."""
        if tune is not None:
            plain = {"tune": self._prints.get(tune), **plain}
        try:
            checked("", {"kind": kind, **plain})
        except LineError:
            self.lost += 1
            return ""
        return to_line({"kind": kind, **plain})

    def _each(self, table: str, columns: str) -> Iterator[Sequence[Any]]:
        """The rows of a table that has numbers, one at a time."""
        last = self._rows(f"SELECT max(id) FROM {table}", quiet=True)
        most = min(last[0][0] or 0 if last else self.size, self.size // _LEAST_ROW)
        for number in range(1, most + 1):
            yield from self._rows(f"SELECT {columns} FROM {table} WHERE id = ?", number)

    def _rows(self, sql: str, *values: object, quiet: bool = False, whole: bool = False) -> list[Sequence[Any]]:
        """The rows of a question: those before the damage where it meets some, or none if they are wanted whole."""
        found: list[Sequence[Any]] = []
        try:
            found.extend(self.db.execute(sql, values))
        except FAULTS:
            self.lost += not quiet
            return [] if whole else found
        return found


@contextlib.contextmanager
def rescue(path: Path) -> Iterator[Rescued]:
    """Open a record's file for reading only, whatever its state.

    Raises
    ------
    UserError
        Where there is no such file, or nothing of it can be read.
    """
    if not path.is_file():
        raise UserError("there is no such file; give a record that was set aside, or a backup", Place(path))
    with contextlib.closing(sqlite3.connect(path.resolve().as_uri() + "?mode=ro", uri=True)) as db:
        try:
            db.execute("SELECT count(*) FROM sqlite_schema").fetchone()
        except FAULTS as error:
            raise UserError(f"nothing of this file can be read ({error}); try a backup", Place(path)) from None
        yield Rescued(db, path.stat().st_size)
