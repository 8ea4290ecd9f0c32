"""The record on disk: nothing lost, nothing believed that is damaged."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import threading
from fractions import Fraction
from pathlib import Path

import pytest

from companion.errors import UserError
from companion.marking.mark_values import Marks, NoteMark, Verdict
from companion.store.record import Record, RoundKept, fingerprint, open_record
from companion.store.schema import STEPS
from companion.tune.tune_values import OnceThrough, Played
from tests.melody import make_round
from tests.shipped_tables import TABLES

ROUND = make_round([("A", 1, [[(62, "1/4"), (64, "1/4")]])])
MARKS = Marks(
    True, 60.0, 59.5, (NoteMark(0, 0, Verdict.RIGHT, 62, 62, 4.5), NoteMark(1, 1, Verdict.WRONG, 64, 65, None, "x"))
)


def keep(record: Record, sitting: int, number: int, standin: bool = False) -> None:
    record.keep(
        sitting, RoundKept("A bar 1", "in time", 60.0, standin, MARKS), {"current": "A bar 1", "number": number}
    )


def begun(path: Path) -> tuple[Record, int, int]:
    record = open_record(path)
    tune = record.tune(ROUND, "The Net Loft", "jig")
    return record, tune, record.begin(tune, "bc-21")


def test_a_round_and_the_state_after_it_are_there_when_it_is_opened_again(tmp_path: Path) -> None:
    record, tune, sitting = begun(tmp_path / "record.sqlite3")
    keep(record, sitting, 1)
    record.end(sitting)
    record.close()
    again = open_record(tmp_path / "record.sqlite3")
    assert again.tune(ROUND, "The Net Loft", "jig") == tune
    assert again.rounds(tune) == 1
    assert again.state(tune, "bc-21", standin=False) == {"current": "A bar 1", "number": 1}
    with sqlite3.connect(tmp_path / "record.sqlite3") as db:
        rows = db.execute("SELECT written, verdict, heard_pitch, late_ms, cause FROM note_mark ORDER BY seq").fetchall()
    assert rows == [(0, "right", 62, 4.5, None), (1, "wrong", 65, None, "x")]


def test_the_stand_in_player_has_a_standing_of_its_own(tmp_path: Path) -> None:
    record, tune, sitting = begun(tmp_path / "record.sqlite3")
    keep(record, sitting, 7, standin=True)
    assert record.state(tune, "bc-21", standin=True) == {"current": "A bar 1", "number": 7}
    assert record.state(tune, "bc-21", standin=False) is None


def test_a_tune_is_known_by_its_notes(tmp_path: Path) -> None:
    record, tune, _ = begun(tmp_path / "record.sqlite3")
    assert record.tune(ROUND, "Another title", "reel") == tune
    other = OnceThrough((Played(0, "A", 1, 1, Fraction(0), Fraction(1, 4), 62),), (), Fraction(1, 4), Fraction(0), "A")
    assert fingerprint(other) != fingerprint(ROUND)
    assert record.tune(other, "The Net Loft", "jig") != tune


def test_a_damaged_record_is_set_aside_and_said(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    path.write_bytes(b"this is no record\n" * 400)
    record = open_record(path)
    assert "set aside" in record.notice
    kept = [one for one in tmp_path.iterdir() if "damaged" in one.name]
    assert [one.read_bytes()[:17] for one in kept] == [b"this is no record"]
    assert record.rounds(record.tune(ROUND, "t", "jig")) == 0


def test_a_record_of_a_newer_version_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    open_record(path).close()
    with sqlite3.connect(path) as db:
        db.execute(f"PRAGMA user_version = {len(STEPS) + 1}")
    with pytest.raises(UserError, match="newer version"):
        open_record(path)


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(UserError, match="folder"):
        open_record(tmp_path / "file" / "record.sqlite3")


def test_two_programs_at_once_do_not_lose_a_round(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    first, tune, _ = begun(path)

    def other() -> None:
        record, _, sitting = begun(path)
        for number in range(25):
            keep(record, sitting, number)
        record.close()

    threads = [threading.Thread(target=other) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert first.rounds(tune) == 50


WRITER = """
import sys
from pathlib import Path
from tests.store.test_record import begun, keep
record, tune, sitting = begun(Path(sys.argv[1]))
for number in range(100000):
    keep(record, sitting, number)
    print(number, flush=True)
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no SIGKILL on this system")
def test_a_killed_program_loses_at_most_the_round_it_was_writing(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    for rounds in (1, 3, 8):
        before = 0
        if path.exists():
            record = open_record(path)
            before = record.rounds(record.tune(ROUND, "The Net Loft", "jig"))
            record.close()
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE, text=True, cwd=Path(__file__).parents[2]
        )
        assert writer.stdout is not None
        said = [int(writer.stdout.readline()) for _ in range(rounds)]
        os.kill(writer.pid, signal.SIGKILL)
        said += [int(line) for line in writer.stdout.read().splitlines() if line.isdigit()]
        writer.wait()
        record = open_record(path)
        tune = record.tune(ROUND, "The Net Loft", "jig")
        kept = record.rounds(tune) - before
        assert record.notice == ""
        assert len(said) <= kept <= len(said) + 1
        state = record.state(tune, "bc-21", standin=False)
        assert state is not None
        assert state["number"] == kept - 1
        record.close()


def target(record: Record) -> float | None:
    (found,) = record._db.execute("SELECT target FROM tune").fetchone()
    return None if found is None else float(found)


def test_a_tempo_that_is_not_said_leaves_the_one_that_is_kept(tmp_path: Path) -> None:
    record = open_record(tmp_path / "record.sqlite3")
    record.tune(ROUND, "The Net Loft", "jig")
    assert target(record) is None
    record.tune(ROUND, "The Net Loft", "jig", target=112.0)
    record.tune(ROUND, "The Net Loft", "jig")
    assert target(record) == 112.0
    record.tune(ROUND, "The Net Loft", "jig", target=96.0)
    assert target(record) == 96.0
    record.close()


@pytest.mark.parametrize(("kept", "read_in", "after"), [(112.0, None, 112.0), (112.0, 96.0, 112.0), (None, 96.0, 96.0)])
def test_a_record_that_is_read_in_leaves_the_tempo_that_is_kept(
    tmp_path: Path, kept: float | None, read_in: float | None, after: float | None
) -> None:
    other = open_record(tmp_path / "other.sqlite3")
    other.begin(other.tune(ROUND, "The Net Loft", "jig", target=read_in), "bc-21")
    record = open_record(tmp_path / "record.sqlite3")
    record.tune(ROUND, "The Net Loft", "jig", target=kept)
    exported = tmp_path / "other.jsonl"
    exported.write_text("".join(other.lines()), encoding="utf-8", newline="\n")
    record.take_in(exported, rules=TABLES.memory)
    assert target(record) == after
    for one in (other, record):
        one.close()
