"""Opens the record's file: makes it, checks it, brings it up to date after a backup, or sets it aside if damaged.

What is checked at each opening has to cost little on a record of ten years. SQLite itself sees a file that is cut short
or is no database. Then the tables that a session stands on (tunes, sittings, where the player is, the reviews, the
running totals) are checked page by page, and of the rounds and their marks those that were kept last. The rest is
checked whole before a new step of the schema is taken, before it is exported, and by `companion check`; and whatever
turns out to be damaged while it is in use is set aside then.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

from companion.errors import Place, UserError
from companion.store.damage import FAULTS, Unsound, is_damage
from companion.store.schema import STEPS
from companion.store.totals import count_anew

MARK = 0x42_6F_78_43  # SQLite's application_id of a record: "BoxC"
PATIENCE = 30.0  # seconds to wait while another program writes
UNLIKELY = 1000  # a schema version this high means damage
LAST = 50  # rounds whose marks are read at each opening
_BIG = frozenset({"round", "note_mark"})


def open_whole(path: Path) -> tuple[sqlite3.Connection, str]:
    """A connection to a record that is whole and up to date, and what has to be said about it ("": nothing).

    Raises
    ------
    UserError
        Where the folder or the file cannot be written, or the record comes from a newer version of the program.
    """
    notices: list[str] = []
    for _ in range(3):  # another program may set the file aside or start a new one at the same moment
        seen = identity(path)
        try:
            if seen is None:
                make(path)
            return _up_to_date(path), " ".join(notices)
        except FAULTS as error:
            if not is_damage(error):
                raise cannot_open(path, error) from None
            aside = set_aside(path, seen)
            if aside is not None:
                notices.append(
                    f"The record was damaged; it is set aside as {aside}, and a new one is begun. "
                    "`companion record rescue` reads into it what can still be read."
                )
    raise UserError("the record is damaged and cannot be set aside; move the file away, then start again", Place(path))


def cannot_open(path: Path, error: Exception) -> UserError:
    """Why a record that is not damaged cannot be opened."""
    if "locked" in str(error):
        return UserError("another program holds the record; close it, then start again", Place(path))
    return UserError(
        f"the record cannot be opened ({error}); correct permissions or name another folder with BOX_COMPANION_DATA",
        Place(path),
    )


def make(path: Path) -> None:
    """Begin a record: written beside its place and put there whole, so that what is there is never half a record.

    Where another program was faster, its record stays.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}.{_stamp()}")
    try:
        with contextlib.closing(_connect(beside)) as connection:
            _set_up(connection)
            connection.execute("BEGIN IMMEDIATE")
            _steps(connection, 0)
            connection.execute("COMMIT")
        with _alone(path):
            if not path.exists():
                # A log left behind by a record that was taken away would be mistaken for the new one's.
                _move_sides(path, path.with_name(f"{path.stem}.left-{_stamp()}{path.suffix}"))
                beside.rename(path)
                _settle(path.parent)
    except OSError as error:
        reason = error.strerror or "no reason given"
        raise UserError(f"the record cannot be made here ({reason}); name another folder", Place(path)) from None
    finally:
        for tail in ("", "-wal", "-shm"):
            with contextlib.suppress(OSError):
                beside.with_name(beside.name + tail).unlink()


def set_aside(path: Path, seen: tuple[int, int] | None) -> Path | None:
    """Move a damaged record out of the way, its log with it; None where it is no longer the file that was seen."""
    aside = path.with_name(f"{path.stem}.damaged-{_stamp()}{path.suffix}")
    try:
        with _alone(path):
            if seen is None or identity(path) != seen:
                return None
            _move_sides(path, aside)
            path.replace(aside)
    except (OSError, sqlite3.Error) as error:
        reason = getattr(error, "strerror", None) or str(error)
        message = f"the record is damaged and cannot be set aside ({reason}); move it away, then start again"
        raise UserError(message, Place(path)) from None
    return aside


@contextlib.contextmanager
def _alone(path: Path) -> Iterator[None]:
    """Keep other programs from making or moving the record meanwhile. The lock goes with the program, also when it is
    killed: it is SQLite's own, on an empty file that stays."""
    with contextlib.closing(sqlite3.connect(path.with_name(f".{path.stem}.lock"), timeout=PATIENCE)) as lock:
        lock.isolation_level = None
        lock.execute("BEGIN EXCLUSIVE")
        yield
        lock.execute("ROLLBACK")


def faults(connection: sqlite3.Connection) -> str:
    """What is wrong anywhere in the file, looked at whole ("": nothing). Takes a while on a long record."""
    try:
        found = [str(row[0]) for row in connection.execute("PRAGMA quick_check(3)")]
        if found == ["ok"]:
            strays = connection.execute("PRAGMA foreign_key_check").fetchmany(3)
            found = [f"a row of {table} belongs to nothing" for table, *_ in strays] or found
    except FAULTS as error:
        if not is_damage(error):
            raise
        return str(error)
    return "" if found == ["ok"] else "; ".join(found)


def faults_of(path: Path) -> str:
    """`faults` of a record on file, which is only read; "" where there is none."""
    if not path.is_file():
        return ""
    try:
        with contextlib.closing(
            sqlite3.connect(path.resolve().as_uri() + "?mode=ro", uri=True, timeout=PATIENCE)
        ) as connection:
            return faults(connection)
    except FAULTS as error:
        return str(error)


def _connect(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(path, timeout=PATIENCE, isolation_level=None)


def _set_up(connection: sqlite3.Connection) -> None:
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = ON")


def _up_to_date(path: Path) -> sqlite3.Connection:
    if path.stat().st_size == 0:
        raise Unsound("the file is empty")
    connection = _connect(path)
    try:
        version = _version(connection)
        if len(STEPS) < version < UNLIKELY:
            message = "this record was written by a newer version of Box Companion; update the program"
            raise UserError(message, Place(path))
        _is_record(connection, version)
        _set_up(connection)  # not earlier: another program's file stays as it is
        if version < len(STEPS):
            _migrate(connection, path)
        _look_over(connection)
    except BaseException:
        connection.close()
        raise
    return connection


def _version(connection: sqlite3.Connection) -> int:
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    return int(version)


def _is_record(connection: sqlite3.Connection, version: int) -> None:
    """That the file is a record of this version, and not some other program's database."""
    (mark,) = connection.execute("PRAGMA application_id").fetchone()
    there = {str(name) for (name,) in connection.execute("SELECT name FROM sqlite_schema")}
    if not 0 < version <= len(STEPS) or mark != (MARK if version > 1 else 0) or not _names(version) <= there:
        raise Unsound("this is no record of Box Companion")


@cache
def _names(version: int) -> frozenset[str]:
    """The tables and indices of a version."""
    with contextlib.closing(sqlite3.connect(":memory:", isolation_level=None)) as blank:
        for step in STEPS[:version]:
            for statement in _statements(step):
                blank.execute(statement)
        return frozenset(str(name) for (name,) in blank.execute("SELECT name FROM sqlite_schema"))


def _look_over(connection: sqlite3.Connection) -> None:
    """The check at each opening: see the head of this file."""
    tables = [str(name) for (name,) in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")]
    for table in tables:
        if table not in _BIG and not table.startswith("sqlite_"):
            for (said,) in connection.execute(f'PRAGMA quick_check("{table}")'):
                if said != "ok":
                    raise Unsound(said)
    connection.execute(
        "SELECT count(*), sum(length(verdict)), sum(late_ms) FROM note_mark "
        f"WHERE round > (SELECT coalesce(max(id), 0) - {LAST} FROM round)"
    ).fetchone()


def _migrate(connection: sqlite3.Connection, path: Path) -> None:
    """Bring an older record up to date: all steps or none, after a backup. Two programs at once do it only once."""
    connection.execute("BEGIN IMMEDIATE")  # from here no other program writes, so the backup has everything
    try:
        version = _version(connection)
        if version < len(STEPS):
            wrong = faults(connection)
            if wrong:
                raise Unsound(wrong)
            backup = _back_up(path, version)
            try:
                _steps(connection, version)
            except FAULTS as error:
                raise UserError(
                    f"the record could not be brought up to date ({error}); it is as it was, a copy is {backup}; "
                    "make room, then start again",
                    Place(path),
                ) from None
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _steps(connection: sqlite3.Connection, version: int) -> None:
    """The steps of the schema from a version on, and the running totals, in the transaction that is open."""
    for step in STEPS[version:]:
        for statement in _statements(step):
            connection.execute(statement)
    count_anew(connection)
    strays = connection.execute("PRAGMA foreign_key_check").fetchone()
    if strays is not None:
        raise sqlite3.IntegrityError(f"a row of {strays[0]} belongs to nothing")
    connection.execute(f"PRAGMA application_id = {MARK}")
    connection.execute(f"PRAGMA user_version = {len(STEPS)}")


def _statements(script: str) -> Iterator[str]:
    """The statements of a script, one at a time (`executescript` would commit by itself)."""
    statement = ""
    for line in script.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            yield statement
            statement = ""


def _back_up(path: Path, version: int) -> Path:
    """A copy of the record as it is, under a name of its own, written whole."""
    copy = path.with_name(f"{path.stem}.before-{version + 1}{path.suffix}")
    if copy.exists():
        copy = path.with_name(f"{path.stem}.before-{version + 1}.{_stamp()}{path.suffix}")
    beside = copy.with_name(f".{copy.name}")
    try:
        with (
            contextlib.closing(sqlite3.connect(path, timeout=PATIENCE)) as source,
            contextlib.closing(sqlite3.connect(beside)) as target,
        ):
            source.backup(target)
        beside.replace(copy)
    except (sqlite3.Error, OSError) as error:
        message = f"no backup of the record can be made ({error}), so it is left as it is; make room, then start again"
        raise UserError(message, Place(copy)) from None
    finally:
        with contextlib.suppress(OSError):
            beside.unlink()
    return copy


def _settle(folder: Path) -> None:
    """Make a new name last through a loss of power, where the system has a way to."""
    if hasattr(os, "O_DIRECTORY"):
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _move_sides(path: Path, to: Path) -> None:
    """Move the files that SQLite keeps beside a database."""
    for tail in ("-wal", "-shm"):
        with contextlib.suppress(FileNotFoundError):
            path.with_name(path.name + tail).replace(to.with_name(to.name + tail))


def identity(path: Path) -> tuple[int, int] | None:
    """What tells this file from another of the same name; None where there is none."""
    try:
        found = path.stat()
    except FileNotFoundError:
        return None
    except OSError as error:
        reason = error.strerror or "no reason given"
        raise UserError(f"the record cannot be opened ({reason}); correct its permissions", Place(path)) from None
    return found.st_dev, found.st_ino


def _stamp() -> str:
    return datetime.now(UTC).strftime("%Y%m%d-%H%M%S-%f")
