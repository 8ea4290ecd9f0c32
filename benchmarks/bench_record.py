"""The record of ten years (3,650 sittings, 2 million marked notes), against a record of one day in the same run.

Opened in this process; `companion progress` as a whole process, from its start to its end. The ratio is to the record
of one day. A round that is kept waits for the disk, so its time says more of the machine than of us.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from benchmarks import ten_years
from companion.hearing.model import Marks, NoteMark, Verdict
from companion.store import opening
from companion.store.record import RoundKept, open_record

OPENS, PROGRESS = 0.3, 2.0  # seconds that are aimed at


def seconds(what: Callable[[], object], times: int = 5) -> float:
    """The least of some runs: what the machine does besides only adds."""
    found = []
    for _ in range(times):
        begun = time.perf_counter()
        what()
        found.append(time.perf_counter() - begun)
    return min(found)


def progress(folder: Path, *arguments: str) -> None:
    """`companion progress`, as a process."""
    subprocess.run(
        [sys.executable, "-m", "companion", "progress", *arguments],
        env={**os.environ, "BOX_COMPANION_DATA": str(folder)}, stdout=subprocess.DEVNULL, check=True,
        cwd=Path(__file__).parents[1],
    )  # fmt: skip


def measured(folder: Path) -> list[tuple[str, float]]:
    """What is timed, on one record."""
    path = folder / "record.sqlite3"
    found = [("opened", seconds(lambda: open_record(path).close()))]
    tune = "lamp coll bridge"
    for name, arguments in (
        ("progress, whole process", ()),
        ("progress --json", ("--json",)),
        ("progress TUNE", (tune,)),
        ("progress -o all.png", ("-o", str(folder / "all.png"))),
        ("progress TUNE -o one.svg", (tune, "-o", str(folder / "one.svg"))),
    ):
        found.append((name, seconds(lambda arguments=arguments: progress(folder, *arguments), 3)))  # type: ignore[misc]
    with contextlib.closing(open_record(path)) as record:
        sitting = record.begin(1, ten_years.BOX)
        marks = Marks(True, 100.0, 100.0, tuple(NoteMark(n, n, Verdict.RIGHT, 62, 62, 3.0) for n in range(128)))
        kept = RoundKept("A part", "in time", 100.0, False, marks)
        found.append(("a round of 128 notes kept", seconds(lambda: record.keep(sitting, kept, {}), 20)))
        found.append(("memory of a tune", seconds(lambda: record.memory(1, ten_years.BOX))))
        found.append(("looked at whole", seconds(lambda: opening.faults_of(path), 2)))
        found.append(("exported", seconds(lambda: sum(map(len, record.lines())), 1)))
    ten_years.as_first_version(path)
    found.append(("brought up from version 1", seconds(lambda: open_record(path).close(), 1)))
    return found


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as name:
        times = []
        for kind, days, notes in (("day", 1, 550), ("years", ten_years.DAYS, ten_years.NOTES)):
            folder = Path(name) / kind
            folder.mkdir()
            begun = time.perf_counter()
            ten_years.make(folder / "record.sqlite3", days, notes)
            made = time.perf_counter() - begun
            size = (folder / "record.sqlite3").stat().st_size / 1e6
            print(f"{days} sittings, {notes} notes: {size:.1f} MB, made and imported in {made:.1f} s")
            times.append(measured(folder))
        print(f"{'':34}{'one day':>12}{'ten years':>12}{'ratio':>8}")
        for (what, short), (_, long) in zip(*times, strict=True):
            print(f"{what:34}{short:10.3f} s{long:10.3f} s{long / short:8.1f}")
        opened, shown = dict(times[1])["opened"], dict(times[1])["progress, whole process"]
        for what, took, aim in (("opens", opened, OPENS), ("progress", shown, PROGRESS)):
            print(f"{what} in {took:.3f} s, {'within' if took < aim else 'NOT WITHIN'} {aim} s")


if __name__ == "__main__":
    main()
