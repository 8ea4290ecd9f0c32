"""The record of ten years (3,650 sittings, 2 million marked notes), beside plain sqlite3 on the same file.

`companion progress` is timed as a whole process, from its start to its end, as is Python's own sqlite3 that counts the
same from the rounds and their marks. A round that is kept waits for the disk, so its time says more of the machine than
of us. A table of how each thing grows from one day to ten years is printed besides.

    python -m benchmarks record
"""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from benchmarks import ten_years
from benchmarks.table import Row, at_most
from companion.marking.mark_values import Marks, NoteMark, Verdict
from companion.store import record_file
from companion.store.record import Record, RoundKept, open_record

OPENS, PROGRESS = 0.3, 2.0  # seconds that are aimed at
SQLITE = f"sqlite3 {sqlite3.sqlite_version}"
# What `progress` says of each tune, counted from the rounds themselves: rounds, clean ones, the best tempo, mistakes.
COUNTED = """
import sqlite3, sys
db = sqlite3.connect(sys.argv[1])
print(db.execute('''
    SELECT tune, count(*), sum(clean), max(CASE WHEN clean THEN bpm END)
    FROM round JOIN sitting ON sitting.id = round.sitting WHERE standin = 0 GROUP BY tune''').fetchall())
print(db.execute('''
    SELECT tune, coalesce(cause, verdict), count(*) FROM note_mark JOIN round ON round.id = note_mark.round
    JOIN sitting ON sitting.id = round.sitting
    WHERE standin = 0 AND (verdict <> 'right' OR cause IS NOT NULL) GROUP BY 1, 2''').fetchall())
"""


def seconds(what: Callable[[], object], times: int = 5) -> list[float]:
    """How long something takes, each of some times, the disk's time with it."""
    found = []
    for _ in range(times):
        begun = time.perf_counter()
        what()
        found.append(time.perf_counter() - begun)
    return found


def progress(folder: Path, *arguments: str) -> None:
    """`companion progress`, as a process."""
    subprocess.run(
        [sys.executable, "-m", "companion", "progress", *arguments],
        env={**os.environ, "BOX_COMPANION_DATA": str(folder)}, stdout=subprocess.DEVNULL, check=True,
        cwd=Path(__file__).parents[1],
    )  # fmt: skip


def counted(path: Path) -> None:
    """The same by sqlite3 alone, as a process."""
    subprocess.run([sys.executable, "-c", COUNTED, str(path)], stdout=subprocess.DEVNULL, check=True)


def opened(path: Path) -> None:
    """Opened and looked at whole by sqlite3."""
    with contextlib.closing(sqlite3.connect(path)) as db:
        assert db.execute("PRAGMA quick_check").fetchone() == ("ok",)


def a_round(notes: int = 128) -> RoundKept:
    """A round of so many right notes."""
    marks = Marks(True, 100.0, 100.0, tuple(NoteMark(n, n, Verdict.RIGHT, 62, 62, 3.0) for n in range(notes)))
    return RoundKept("A part", "in time", 100.0, False, marks)


def kept(record: Record, times: int) -> list[float]:
    """How long a round takes to be kept."""
    sitting = record.begin(1, ten_years.BOX)
    return seconds(lambda: record.keep(sitting, a_round(), {}), times)


def kept_plainly(path: Path, times: int) -> list[float]:
    """The same rows by sqlite3, in one transaction a round, as safe on the disk."""
    copy = path.with_name("plain.sqlite3")
    shutil.copyfile(path, copy)
    rows = [(n, n, "right", 62, 62, 3.0, None) for n in range(128)]
    with contextlib.closing(sqlite3.connect(copy, isolation_level=None)) as db:
        db.execute("PRAGMA journal_mode = WAL")

        def keep() -> None:
            db.execute("BEGIN IMMEDIATE")
            found = db.execute(
                "INSERT INTO round (sitting, piece, step, bpm, clean, standin, ended) "
                "VALUES (1, 'A part', 'in time', 100.0, 1, 0, '2026-01-01T19:00:00.000+01:00')"
            ).lastrowid
            db.executemany("INSERT INTO note_mark VALUES (?, ?, ?, ?, ?, ?, ?, ?)", [(found, *row) for row in rows])
            db.execute("COMMIT")

        found = seconds(keep, times)
    copy.unlink()
    return found


def details(folder: Path) -> list[tuple[str, float]]:
    """What has no place in the table: the least of some times, in seconds."""
    path, tune = folder / "record.sqlite3", "lamp coll bridge"
    found = [("opened", min(seconds(lambda: open_record(path).close())))]
    for name, arguments in (
        ("progress, whole process", ()),
        ("progress TUNE", (tune,)),
        ("progress -o all.png", ("-o", str(folder / "all.png"))),
    ):
        found.append((name, min(seconds(lambda arguments=arguments: progress(folder, *arguments), 2))))  # type: ignore[misc]
    with contextlib.closing(open_record(path)) as record:
        found.append(("memory of a tune", min(seconds(lambda: record.memory(1, ten_years.BOX)))))
        found.append(("looked at whole", min(seconds(lambda: record_file.faults_of(path), 2))))
        found.append(("exported", min(seconds(lambda: sum(map(len, record.lines())), 1))))
    return found


def main() -> list[Row]:
    """Measure; prints how it grows."""
    with tempfile.TemporaryDirectory() as name:
        times = []
        for kind, days, notes in (("day", 1, 550), ("years", ten_years.DAYS, ten_years.NOTES)):
            folder = Path(name) / kind
            folder.mkdir()
            path = folder / "record.sqlite3"
            begun = time.perf_counter()
            ten_years.make(path, days, notes)
            took = time.perf_counter() - begun
            print(
                f"{days} sittings, {notes} notes: {path.stat().st_size / 1e6:.1f} MB, made in {took:.1f} s", flush=True
            )
            times.append(details(folder))
        print(f"{'':34}{'one day':>12}{'ten years':>12}{'ratio':>8}")
        for (what, short), (_, long) in zip(*times, strict=True):
            print(f"{what:34}{short:10.3f} s{long:10.3f} s{long / short:8.1f}")
        rows = against_sqlite(folder, path)
        ten_years.as_first_version(path)
        print(f"brought up from version 1: {seconds(lambda: open_record(path).close(), 1)[0]:.1f} s")
    return rows


def against_sqlite(folder: Path, path: Path) -> list[Row]:
    """The rows of the table, on the record of ten years."""
    open_ = seconds(lambda: open_record(path).close(), 7)
    shown = seconds(lambda: progress(folder), 5)
    with contextlib.closing(open_record(path)) as record:
        keep = [1000 * took for took in kept(record, 30)]
    plain = [1000 * took for took in kept_plainly(path, 30)]
    whole, counts = seconds(lambda: opened(path), 3), seconds(lambda: counted(path), 3)
    return [
        Row("ten years opened", "s", open_, f"{SQLITE}, quick_check", whole, "times",
            at_most(OPENS, max(open_), "worst")),
        Row("ten years' progress, whole process", "s", shown, f"{SQLITE}, the same counted", counts, "times",
            at_most(PROGRESS, max(shown), "worst")),
        Row("a round of 128 notes kept", "ms", keep, f"{SQLITE}, the bare rows", plain, "times"),
    ]  # fmt: skip


if __name__ == "__main__":
    main()
