"""The player's record on disk: SQLite, one transaction a round, so that a crash loses at most the round in progress.

The stand-in player has a standing of its own: what it can do says nothing about the player.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from companion.errors import Place, UserError
from companion.hearing.model import Marks
from companion.places import own_data
from companion.store.schema import STEPS
from companion.tune.model import Round

FILE = "record.sqlite3"


@dataclass(frozen=True, slots=True)
class RoundKept:
    """One round as it is kept: what it was played for, and its marks. `bpm` is None where there was no clock."""

    piece: str
    step: str
    bpm: float | None
    standin: bool
    marks: Marks


def fingerprint(round_: Round) -> str:
    """What tells one tune from another whatever its title and file: its notes and their lengths, as played."""
    text = " ".join(f"{note.pitch}:{note.at}:{note.length}" for note in round_.notes)
    return hashlib.sha256(text.encode()).hexdigest()


class Record:
    """An open record. Use `open_record`."""

    def __init__(self, path: Path, connection: sqlite3.Connection, notice: str = "") -> None:
        self.path = path
        self.notice = notice
        self._db = connection

    def tune(self, round_: Round, title: str, rhythm: str) -> int:
        """The number under which a tune is kept; a new one where it is met for the first time."""
        mark = fingerprint(round_)
        with self._change() as db:
            db.execute(
                "INSERT INTO tune (print, title, rhythm) VALUES (?, ?, ?) "
                "ON CONFLICT (print) DO UPDATE SET title = excluded.title, rhythm = excluded.rhythm",
                (mark, title, rhythm),
            )
            (number,) = db.execute("SELECT id FROM tune WHERE print = ?", (mark,)).fetchone()
        return int(number)

    def begin(self, tune: int, box: str) -> int:
        """Begin a sitting; gives its number."""
        with self._change() as db:
            cursor = db.execute("INSERT INTO sitting (tune, box, began) VALUES (?, ?, ?)", (tune, box, _now()))
        return int(cursor.lastrowid or 0)

    def end(self, sitting: int) -> None:
        """End a sitting."""
        with self._change() as db:
            db.execute("UPDATE sitting SET ended = ? WHERE id = ?", (_now(), sitting))

    def keep(self, sitting: int, kept: RoundKept, state: Mapping[str, Any]) -> int:
        """Keep a round, its marks and where the player now is, all or nothing; gives the round's number."""
        with self._change() as db:
            cursor = db.execute(
                "INSERT INTO round (sitting, piece, step, bpm, clean, standin, ended) VALUES (?, ?, ?, ?, ?, ?, ?)",
                (sitting, kept.piece, kept.step, kept.bpm, kept.marks.clean, kept.standin, _now()),
            )
            number = int(cursor.lastrowid or 0)
            db.executemany(
                "INSERT INTO note_mark VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                [
                    (number, seq, n.written, n.verdict.value, n.pitch, n.heard_pitch, n.late_ms, n.cause)
                    for seq, n in enumerate(kept.marks.notes)
                ],
            )
            self._put_state(db, sitting, kept.standin, state)
        return number

    def put_state(self, sitting: int, standin: bool, state: Mapping[str, Any]) -> None:
        """Keep where the player is, without a round (after a wish of the player's)."""
        with self._change() as db:
            self._put_state(db, sitting, standin, state)

    def state(self, tune: int, box: str, standin: bool) -> dict[str, Any] | None:
        """Where the player was in a tune on a box, None where they have not begun."""
        row = self._db.execute(
            "SELECT state FROM standing WHERE tune = ? AND box = ? AND standin = ?", (tune, box, standin)
        ).fetchone()
        if row is None:
            return None
        plain = json.loads(row[0])
        return plain if isinstance(plain, dict) else None

    def rounds(self, tune: int) -> int:
        """How many rounds of a tune are kept."""
        (count,) = self._db.execute(
            "SELECT count(*) FROM round JOIN sitting ON sitting.id = round.sitting WHERE sitting.tune = ?", (tune,)
        ).fetchone()
        return int(count)

    def close(self) -> None:
        """Close the record."""
        self._db.close()

    def _put_state(self, db: sqlite3.Connection, sitting: int, standin: bool, state: Mapping[str, Any]) -> None:
        db.execute(
            "INSERT INTO standing (tune, box, standin, state) SELECT tune, box, ?, ? FROM sitting WHERE id = ? "
            "ON CONFLICT (tune, box, standin) DO UPDATE SET state = excluded.state",
            (standin, json.dumps(state), sitting),
        )

    @contextmanager
    def _change(self) -> Iterator[sqlite3.Connection]:
        try:
            with self._db:
                self._db.execute("BEGIN IMMEDIATE")
                yield self._db
        except sqlite3.OperationalError as error:
            raise UserError(
                f"the record cannot be written ({error}); make room or mend the permissions, then start again",
                Place(self.path),
            ) from None


def open_record(path: Path | None = None) -> Record:
    """Open the record, making it where there is none and bringing an older one up to date (after a backup).

    A file that is not a sound record is set aside under another name, and `Record.notice` says so. Raises `UserError`
    where the folder cannot be written or the record comes from a newer version of the program.
    """
    path = path or own_data() / FILE
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UserError(
            f"no folder for the record can be made here ({error.strerror}); name another with BOX_COMPANION_DATA",
            Place(path.parent),
        ) from None
    notice = ""
    try:
        connection = _sound(path)
    except sqlite3.DatabaseError as error:
        if isinstance(error, sqlite3.OperationalError):
            raise UserError(
                f"the record cannot be opened ({error}); mend the permissions or name another folder with "
                "BOX_COMPANION_DATA",
                Place(path),
            ) from None
        aside = _set_aside(path)
        notice = f"The record was damaged; it is set aside as {aside}, and a new one is begun."
        connection = _sound(path)
    return Record(path, connection, notice)


def _sound(path: Path) -> sqlite3.Connection:
    """A connection to a record that is whole and up to date."""
    connection = sqlite3.connect(path, timeout=10, isolation_level=None)
    try:
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
        (version,) = connection.execute("PRAGMA user_version").fetchone()
        if version > len(STEPS):
            message = "this record was written by a newer version of Box Companion; update the program"
            raise UserError(message, Place(path))
        if 0 < version < len(STEPS):
            _back_up(connection, path, version)
        for number in range(version, len(STEPS)):
            _take_step(connection, number)
        connection.execute("SELECT count(*) FROM standing").fetchone()
    except BaseException:
        connection.close()
        raise
    return connection


def _take_step(connection: sqlite3.Connection, number: int) -> None:
    """One step of the schema, in a transaction of its own; two programs at once take it only once."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        (version,) = connection.execute("PRAGMA user_version").fetchone()
        if version == number:
            for statement in _statements(STEPS[number]):
                connection.execute(statement)
            connection.execute(f"PRAGMA user_version = {number + 1}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _statements(script: str) -> Iterator[str]:
    """The statements of a script, one at a time (`executescript` would commit by itself)."""
    statement = ""
    for line in script.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            yield statement
            statement = ""


def _back_up(connection: sqlite3.Connection, path: Path, version: int) -> None:
    copy = sqlite3.connect(path.with_name(f"{path.stem}.before-{version + 1}{path.suffix}"))
    try:
        connection.backup(copy)
    finally:
        copy.close()


def _set_aside(path: Path) -> Path:
    stamp = datetime.now(UTC).strftime("%Y%m%d-%H%M%S-%f")
    aside = path.with_name(f"{path.stem}.damaged-{stamp}{path.suffix}")
    path.replace(aside)
    for tail in ("-wal", "-shm"):
        side = path.with_name(path.name + tail)
        if side.exists():
            side.replace(aside.with_name(aside.name + tail))
    return aside


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="milliseconds")
