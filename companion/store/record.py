"""The player's record on disk: SQLite, one transaction per round, so that a crash loses at most the round in progress.

The demonstration has its own place in it: what it can do says nothing about the player. Moments are kept in the
player's own time, with its distance from UTC: their first ten characters are the player's day.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from fsrs import Rating

from companion.errors import Place, UserError
from companion.lesson.review import MemoryRules, WholeRound, after_review, rate, to_plain
from companion.marking.mark_values import Marks
from companion.places import own_data
from companion.store import lines, merging, practice_history, record_file, round_bars
from companion.store.damage import FAULTS, Unsound, card_in, is_damage, moment_of, object_of
from companion.store.practice_history import BarMemory, Due, Memory, PieceDay, TuneDay, TuneMemory
from companion.store.totals import count_round
from companion.tune.part_bars import bars_of
from companion.tune.tune_values import OnceThrough

FILE = "record.sqlite3"
Clock = Callable[[], datetime]


@dataclass(frozen=True, slots=True)
class RoundKept:
    """One round as it is kept: what it was played for, and its marks. `bpm` is None where there was no clock."""

    piece: str
    step: str
    bpm: float | None
    standin: bool
    marks: Marks


def fingerprint(round_: OnceThrough) -> str:
    """What tells one tune from another whatever its title and file: its notes and their lengths, as played."""
    text = " ".join(f"{note.pitch}:{note.at}:{note.length}" for note in round_.notes)
    return hashlib.sha256(text.encode()).hexdigest()


def here() -> datetime:
    """The time, in the player's own time zone."""
    return datetime.now().astimezone()


class Record:
    """An open record. Use `open_record`."""

    def __init__(self, path: Path, connection: sqlite3.Connection, notice: str = "", clock: Clock = here) -> None:
        self.path = path
        self.notice = notice
        self._db = connection
        self._clock = clock
        self._file = record_file.identity(path)
        self._lost: UserError | None = None

    # Practising

    def tune(self, round_: OnceThrough, title: str, rhythm: str, target: float | None = None) -> int:
        """The number under which a tune is kept; a new one where it is met for the first time.

        `target` is the tempo it is learnt towards, in its beats a minute, where that is known.
        """
        mark = fingerprint(round_)
        with self._change() as db:
            db.execute(
                "INSERT INTO tune (print, title, rhythm, bars, target) VALUES (?, ?, ?, ?, ?) "
                "ON CONFLICT (print) DO UPDATE SET title = excluded.title, rhythm = excluded.rhythm, "
                "bars = excluded.bars, target = coalesce(excluded.target, target)",
                (mark, title, rhythm, round_bars.to_text(bars_of(round_)), target),
            )
            (number,) = db.execute("SELECT id FROM tune WHERE print = ?", (mark,)).fetchone()
        return int(number)

    def begin(self, tune: int, box: str) -> int:
        """Begin a sitting; gives its number."""
        with self._change() as db:
            cursor = db.execute("INSERT INTO sitting (tune, box, began) VALUES (?, ?, ?)", (tune, box, self._now()))
        return int(cursor.lastrowid or 0)

    def end(self, sitting: int) -> None:
        """End a sitting."""
        with self._change() as db:
            db.execute("UPDATE sitting SET ended = ? WHERE id = ?", (self._now(), sitting))

    def keep(self, sitting: int, kept: RoundKept, state: Mapping[str, Any]) -> int:
        """Keep a round, its marks and where the player now is, all or nothing; gives the round's number."""
        with self._change() as db:
            cursor = db.execute(
                "INSERT INTO round (sitting, piece, step, bpm, clean, standin, ended) VALUES (?, ?, ?, ?, ?, ?, ?)",
                (sitting, kept.piece, kept.step, kept.bpm, kept.marks.clean, kept.standin, self._now()),
            )
            number = int(cursor.lastrowid or 0)
            db.executemany(
                "INSERT INTO note_mark VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                [
                    (number, seq, n.written, n.verdict.value, n.pitch, n.heard_pitch, n.late_ms, n.cause)
                    for seq, n in enumerate(kept.marks.notes)
                ],
            )
            if not kept.standin:
                count_round(db, number)
            self._put_state(db, sitting, kept.standin, state)
        return number

    def put_state(self, sitting: int, standin: bool, state: Mapping[str, Any]) -> None:
        """Keep where the player is, without a round (after a wish of the player's)."""
        with self._change() as db:
            self._put_state(db, sitting, standin, state)

    def state(self, tune: int, box: str, standin: bool) -> dict[str, Any] | None:
        """Where the player was in a tune on a box, None where they have not begun."""
        with self._reading() as db:
            row = db.execute(
                "SELECT state FROM standing WHERE tune = ? AND box = ? AND standin = ?", (tune, box, standin)
            ).fetchone()
            return None if row is None else object_of(row[0])

    def rounds(self, tune: int) -> int:
        """How many rounds of a tune are kept."""
        with self._reading() as db:
            (count,) = db.execute(
                "SELECT count(*) FROM sitting JOIN round ON round.sitting = sitting.id WHERE sitting.tune = ?", (tune,)
            ).fetchone()
        return int(count)

    # Memory

    def memory(self, tune: int, box: str) -> Memory:
        """What came of each piece of a tune on a box, of the player's own rounds."""
        with self._reading() as db:
            return practice_history.memory(db, tune, box)

    def due(self, box: str, now: datetime) -> tuple[Due, ...]:
        """The tunes in review on a box, the most overdue first. `now` has the time zone whose days are counted."""
        with self._reading() as db:
            return practice_history.due(db, box, now)

    def review(
        self, tune: int, box: str, outcome: Iterable[WholeRound], now: datetime, rules: MemoryRules
    ) -> Due | None:
        """Keep how a sitting with a tune went, and when the tune comes back.

        Parameters
        ----------
        tune, box : what was played, on what.
        outcome : the sitting's whole rounds in the order of playing (`companion.lesson.review.WholeRound`).
        now : the time, with its time zone.
        rules : the rules of `config/memory.toml`.

        Returns
        -------
        Due | None
            When it comes back; None where it is not in review (it never was, and no round says that it is now).
        """
        rating = rate(outcome, rules)
        when = now.replace(microsecond=now.microsecond // 1000 * 1000)  # as kept; the card follows from its reviews
        with self._change() as db:
            row = db.execute("SELECT card FROM card WHERE tune = ? AND box = ?", (tune, box)).fetchone()
            card = card_in(row[0]) if row is not None else None
            after = after_review(card, rating, when, rules) if rating is not None else None
            if rating is not None and after is not None:
                at = when.astimezone(UTC).isoformat(timespec="milliseconds")
                db.execute("INSERT OR REPLACE INTO review VALUES (?, ?, ?, ?)", (tune, box, at, int(rating)))
                db.execute(
                    "INSERT OR REPLACE INTO card VALUES (?, ?, ?, ?)",
                    (tune, box, json.dumps(to_plain(after)), after.due.isoformat()),
                )
            return next((one for one in practice_history.due(db, box, now) if one.tune == tune), None)

    def reviews(self, tune: int, box: str) -> tuple[tuple[datetime, Rating], ...]:
        """Every review of a tune, in the order of time."""
        with self._reading() as db:
            rows = db.execute("SELECT at, rating FROM review WHERE tune = ? AND box = ? ORDER BY at", (tune, box))
            return tuple((moment_of(at), Rating(rating)) for at, rating in rows)

    # Progress

    def tunes(self, box: str, now: datetime) -> tuple[TuneMemory, ...]:
        """Every tune that was practised on a box: those in review first, the most overdue before; then the latest."""
        with self._reading() as db:
            return practice_history.tunes(db, box, now)

    def history(self, tune: int, box: str) -> tuple[PieceDay, ...]:
        """The pieces of a tune day by day."""
        with self._reading() as db:
            return practice_history.history(db, tune, box)

    def bars(self, tune: int, box: str) -> tuple[BarMemory, ...]:
        """Where on a tune its mistakes live; empty where its bars are not known (it was kept before they were)."""
        with self._reading() as db:
            return practice_history.bars(db, tune, box)

    def days(self, box: str | None = None, tune: int | None = None) -> dict[date, float]:
        """Minutes practised by day, on a box and in a tune where they are named."""
        with self._reading() as db:
            return practice_history.days(db, box, tune)

    def diary(self, box: str) -> tuple[TuneDay, ...]:
        """Each day practised on a box, tune by tune, the last day first."""
        with self._reading() as db:
            return practice_history.diary(db, box)

    def boxes(self) -> tuple[str, ...]:
        """The boxes that were practised on, the last one first."""
        with self._reading() as db:
            return practice_history.boxes(db)

    # In and out

    def lines(self) -> Iterator[str]:
        """The whole record as JSON lines (`companion.store.lines`), as it is at this moment."""
        with self._reading() as db:
            db.execute("BEGIN")
            try:
                wrong = record_file.faults(db)
                if wrong:
                    raise Unsound(wrong)
                yield from lines.written(db)
            finally:
                db.execute("ROLLBACK")

    def take_in(self, path: Path, rules: MemoryRules) -> merging.Added:
        """Read a file of JSON lines into the record: what is there already is not doubled; all or nothing.

        `rules` say when the tunes come back whose reviews are in both.

        Raises
        ------
        UserError
            Where the file cannot be read, or a line of it is none: its line, its column, and what is wrong.
        """
        with self._change() as db:
            return merging.read_into(db, path, rules)

    def close(self) -> None:
        """Close the record."""
        self._db.close()

    def _put_state(self, db: sqlite3.Connection, sitting: int, standin: bool, state: Mapping[str, Any]) -> None:
        db.execute(
            "INSERT INTO standing (tune, box, standin, state, put) SELECT tune, box, ?, ?, ? FROM sitting WHERE id = ? "
            "ON CONFLICT (tune, box, standin) DO UPDATE SET state = excluded.state, put = excluded.put",
            (standin, json.dumps(state), self._now(), sitting),
        )

    def _now(self) -> str:
        return self._clock().isoformat(timespec="milliseconds")

    @contextmanager
    def _change(self) -> Iterator[sqlite3.Connection]:
        """A transaction: all or nothing. Another program that writes is waited for."""
        with self._reading("written"):
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield self._db
                self._db.execute("COMMIT")
            except BaseException:
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")
                raise

    @contextmanager
    def _reading(self, what: str = "read") -> Iterator[sqlite3.Connection]:
        """Whatever goes wrong with the file, as one sentence; a record that turns out to be damaged is set aside."""
        if self._lost is not None:
            raise self._lost
        try:
            yield self._db
        except FAULTS as error:
            if is_damage(error):
                self._lost = self._damaged()
                raise self._lost from None
            if "locked" in str(error):
                message = "another program has held the record for too long; close it, then start again"
                raise UserError(message, Place(self.path)) from None
            if isinstance(error, sqlite3.OperationalError):
                message = f"the record cannot be {what} ({error}); make room or correct permissions, then start again"
                raise UserError(message, Place(self.path)) from None
            raise

    def _damaged(self) -> UserError:
        self._db.close()
        aside = record_file.set_aside(self.path, self._file)
        where = f"; it is set aside as {aside}" if aside is not None else ""
        return UserError(
            f"the record turned out to be damaged{where}; start again, and a new one is begun; "
            "`companion record rescue` reads into it what can still be read",
            Place(self.path),
        )


def open_record(path: Path | None = None, clock: Clock = here) -> Record:
    """Open the record, making it where there is none and bringing an older one up to date (after a backup).

    A file that is not a sound record is set aside under another name, and `Record.notice` says so. `clock` gives the
    time at which things are kept. Raises `UserError` where the folder cannot be written or the record comes from a
    newer version of the program.
    """
    path = path or own_data() / FILE
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UserError(
            f"no folder for the record can be made here ({error.strerror}); name another with BOX_COMPANION_DATA",
            Place(path.parent),
        ) from None
    connection, notice = record_file.open_whole(path)
    return Record(path, connection, notice, clock)
