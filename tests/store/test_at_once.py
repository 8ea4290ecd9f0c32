"""Several programs on one record: who writes is waited for, and nothing is lost."""

from __future__ import annotations

import contextlib
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from benchmarks import ten_years
from companion.errors import UserError
from companion.store import record_file
from companion.store.record import open_record
from tests.store.made import ROUND

HERE = Path(__file__).parents[2]


def names(folder: Path, what: str) -> list[Path]:
    return sorted(one for one in folder.iterdir() if what in one.name)


PROGRAM = """
import sys
from pathlib import Path
from companion.store.record import open_record
from tests.store.made import ROUND, kept
sys.stdin.readline()
record = open_record(Path(sys.argv[1]))
tune = record.tune(ROUND, "The Net Loft", "jig")
sitting = record.begin(tune, "bc-21")
for number in range(int(sys.argv[2])):
    record.keep(sitting, kept(clean=False, n1="other-row"), {"by": sys.argv[3], "number": number})
record.end(sitting)
print(record.notice)
"""


def at_once(path: Path, programs: int, rounds: int) -> None:
    """Let so many programs keep rounds in one record, all begun at the same moment."""
    running = [
        subprocess.Popen(
            [sys.executable, "-c", PROGRAM, str(path), str(rounds), str(number)],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=HERE,
        )
        for number in range(programs)
    ]  # fmt: skip
    for one in running:
        assert one.stdin is not None
        one.stdin.write("go\n")
        one.stdin.flush()
    for one in running:
        said, wrong = one.communicate(timeout=120)
        assert (one.returncode, said, wrong) == (0, "\n", "")


@pytest.mark.parametrize("there", ["none", "old"])
def test_programs_that_write_at_once_wait_for_each_other(tmp_path: Path, there: str) -> None:
    path = tmp_path / "record.sqlite3"
    if there == "old":
        ten_years.make(path, days=60, notes=60 * 550)
        ten_years.as_first_version(path)
    at_once(path, programs=3, rounds=20)
    record = open_record(path)
    tune = record.tune(ROUND, "The Net Loft", "jig")
    assert record.rounds(tune) == 60
    piece = record.memory(tune, "bc-21").pieces["A bar 1"]
    assert (piece.rounds, piece.mistakes) == (60, {"other-row": 60})
    assert names(tmp_path, "damaged") == []
    assert len(names(tmp_path, "before")) == (1 if there == "old" else 0)
    assert record_file.faults_of(path) == ""


def test_a_writer_that_is_kept_waiting_for_too_long_says_why(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(record_file, "PATIENCE", 0.2)
    path = tmp_path / "record.sqlite3"
    record = open_record(path)
    tune = record.tune(ROUND, "t", "jig")
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(UserError, match="another program"):
            record.begin(tune, "bc-21")
        assert record.rounds(tune) == 0  # reading does not wait
        other.execute("ROLLBACK")
    record.begin(tune, "bc-21")
