"""The record's file: made whole, brought up to date all or nothing, set aside where it is damaged, shared."""

from __future__ import annotations

import contextlib
import random
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchmarks import ten_years
from companion.errors import UserError
from companion.lesson.review import WholeRound
from companion.store import record_file
from companion.store.record import Record, open_record
from companion.store.schema import STEPS
from tests.shipped_tables import TABLES
from tests.store.made import ROUND, everything, kept, open_at, quick_folder

NOW = datetime(2026, 3, 1, 19, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def long_record(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The file of a record of two months."""
    path = tmp_path_factory.mktemp("long") / "record.sqlite3"
    ten_years.make(path, days=60, notes=60 * 550)
    with contextlib.closing(sqlite3.connect(path)) as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return path.read_bytes()


def names(folder: Path, what: str) -> list[Path]:
    return sorted(one for one in folder.iterdir() if what in one.name)


def root_of(path: Path, table: str) -> int:
    """Where the first page of a table begins in the file."""
    with contextlib.closing(sqlite3.connect(path)) as db:
        (page,) = db.execute("SELECT rootpage FROM sqlite_schema WHERE name = ?", (table,)).fetchone()
        (size,) = db.execute("PRAGMA page_size").fetchone()
    return (int(page) - 1) * int(size)


def overwrite(path: Path, at: int, length: int, seed: int = 1) -> None:
    with path.open("r+b") as file:
        file.seek(at)
        file.write(random.Random(seed).randbytes(length))


# Begun


def test_a_record_is_begun_whole_and_leaves_nothing_beside_it(tmp_path: Path) -> None:
    record = open_record(tmp_path / "record.sqlite3")
    assert record.notice == ""
    record.close()
    assert [one.name for one in sorted(tmp_path.iterdir())] == [".record.lock", "record.sqlite3"]


def test_the_log_of_a_record_that_was_taken_away_is_not_read_into_the_new_one(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    record, _ = open_at(path)
    record.keep(record.begin(record.tune(ROUND, "t", "jig"), "bc-21"), kept(), {})
    log = path.with_name("record.sqlite3-wal").read_bytes()
    assert len(log) > 0
    record.close()
    path.unlink()
    path.with_name("record.sqlite3-wal").write_bytes(log)
    record = open_record(path)
    assert record.notice == ""
    assert record.rounds(record.tune(ROUND, "t", "jig")) == 0
    assert [one.read_bytes() for one in names(tmp_path, "left")] == [log]


# Brought up to date


def first_version(path: Path, long_record: bytes) -> None:
    path.write_bytes(long_record)
    ten_years.as_first_version(path)


def as_lines(path: Path) -> list[str]:
    """Every table of an old record, row by row."""
    with contextlib.closing(sqlite3.connect(path)) as db:
        return list(db.iterdump())


def test_an_old_record_is_brought_up_to_date_after_a_backup(tmp_path: Path, long_record: bytes) -> None:
    path = tmp_path / "record.sqlite3"
    path.write_bytes(long_record)
    record = open_record(path)
    said = everything(record)
    days, tunes = record.days(), record.tunes("bc-21", NOW)
    record.close()
    first_version(path, long_record)
    before = as_lines(path)
    record = open_record(path)
    assert record.notice == ""
    assert record.days() == days
    for old, new in zip(tunes, record.tunes("bc-21", NOW), strict=True):
        assert (old.print, old.best, old.mistakes, old.minutes) == (new.print, new.best, new.mistakes, new.minutes)
        assert record.memory(new.tune, "bc-21") == said_of(said, old.print, new.tune)
        assert record.bars(new.tune, "bc-21") == ()  # not known before the tune is practised again
    record.close()
    assert as_lines(tmp_path / "record.before-2.sqlite3") == before
    assert names(tmp_path, ".record.before") == []


def said_of(said: dict[str, object], print_: str, tune: int) -> object:
    from companion.store.practice_history import Memory

    pieces = said[f"bc-21 {print_}"]
    assert isinstance(pieces, tuple)
    return Memory(tune, "bc-21", pieces[0])


def test_a_backup_is_never_overwritten(tmp_path: Path, long_record: bytes) -> None:
    path = tmp_path / "record.sqlite3"
    (tmp_path / "record.before-2.sqlite3").write_bytes(b"an earlier one")
    first_version(path, long_record)
    open_record(path).close()
    backups = names(tmp_path, "before-2")
    assert len(backups) == 2
    assert b"an earlier one" in [one.read_bytes() for one in backups]


def test_a_step_that_fails_midway_leaves_the_record_as_it_was(
    tmp_path: Path, long_record: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "record.sqlite3"
    first_version(path, long_record)
    before = as_lines(path)
    bad = "CREATE TABLE fresh (x INTEGER) STRICT;\nINSERT INTO fresh VALUES (1);\nINSERT INTO nowhere VALUES (1);\n"
    for steps in ((*STEPS, bad), (*STEPS, "INSERT INTO review VALUES (99999, 'bc-21', '', 1);")):
        monkeypatch.setattr(record_file, "STEPS", steps)
        with pytest.raises(UserError, match=r"could not be brought up to date.*as it was"):
            open_record(path)
        assert as_lines(path) == before
    assert names(tmp_path, "damaged") == []
    monkeypatch.setattr(record_file, "STEPS", STEPS)
    assert open_record(path).notice == ""


def test_without_a_backup_no_step_is_taken(tmp_path: Path, long_record: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "record.sqlite3"
    first_version(path, long_record)
    before = as_lines(path)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(UserError, match="no backup"):
        open_record(path)
    assert as_lines(path) == before
    assert names(tmp_path, "before") == []


# Damaged


def cut_short(path: Path) -> None:
    with path.open("r+b") as file:
        file.truncate(path.stat().st_size // 2)


def emptied(path: Path) -> None:
    path.write_bytes(b"")


def other_database(path: Path) -> None:
    path.unlink()
    with contextlib.closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE recipe (title TEXT)")
        db.execute("PRAGMA user_version = 1")


def headless(path: Path) -> None:
    overwrite(path, 0, 100)


def table_lost(path: Path) -> None:
    with contextlib.closing(sqlite3.connect(path)) as db:
        db.execute("DROP TABLE card")


def page_of(table: str) -> Callable[[Path], None]:
    return lambda path: overwrite(path, root_of(path, table), 4096)


KEPT_IN = ("tune", "sitting", "standing", "review", "card", "piece_day", "mistake_day", "note_month", "practice_day")


@pytest.mark.parametrize(
    "damage",
    [cut_short, emptied, other_database, headless, table_lost, *map(page_of, (*KEPT_IN, "round", "note_mark"))],
)
def test_a_damaged_record_is_set_aside_and_said(
    tmp_path: Path, long_record: bytes, damage: Callable[[Path], None]
) -> None:
    path = tmp_path / "record.sqlite3"
    path.write_bytes(long_record)
    damage(path)
    damaged = path.read_bytes()
    record = open_record(path)
    assert "damaged" in record.notice
    assert "set aside" in record.notice
    assert record.boxes() == ()
    aside = names(tmp_path, "damaged")
    assert [one.read_bytes() for one in aside] == [damaged]
    assert str(aside[0]) in record.notice
    record.close()
    assert open_record(path).notice == ""


def test_an_old_record_that_is_damaged_is_not_brought_up_to_date(tmp_path: Path, long_record: bytes) -> None:
    path = tmp_path / "record.sqlite3"
    first_version(path, long_record)
    overwrite(path, path.stat().st_size // 2 // 4096 * 4096, 4096)  # among the marks, far from what a session reads
    record = open_record(path)
    assert "damaged" in record.notice
    assert names(tmp_path, "before") == []


def test_damage_far_from_what_is_read_is_found_by_the_whole_check_and_by_export(
    tmp_path: Path, long_record: bytes
) -> None:
    path = tmp_path / "record.sqlite3"
    path.write_bytes(long_record)
    overwrite(path, a_leaf_of_marks(path), 2000)
    assert record_file.faults_of(path) != ""
    record = open_record(path)
    assert record.notice == ""
    tune = record.tune(ROUND, "t", "jig")
    record.keep(record.begin(tune, "bc-21"), kept(), {})  # the session goes on
    with pytest.raises(UserError, match="turned out to be damaged; it is set aside"):
        list(record.lines())
    assert len(names(tmp_path, "damaged")) >= 1
    assert open_record(path).rounds(1) == 0


def a_leaf_of_marks(path: Path) -> int:
    """Where a page from the middle of the marks begins in the file."""
    with contextlib.closing(sqlite3.connect(path)) as db:
        pages = db.execute("PRAGMA page_count").fetchone()[0]
    data = path.read_bytes()
    root = root_of(path, "note_mark")
    assert data[root] == 2  # an interior page of an index tree: https://www.sqlite.org/fileformat2.html#b_tree_pages
    count = int.from_bytes(data[root + 3 : root + 5], "big")
    cell = int.from_bytes(data[root + 12 + count // 3 * 2 :][:2], "big")
    child = int.from_bytes(data[root + cell :][:4], "big")
    assert 1 < child <= pages
    return (child - 1) * 4096


def test_damage_that_shows_while_it_is_open_is_said_and_set_aside(tmp_path: Path, long_record: bytes) -> None:
    path = tmp_path / "record.sqlite3"
    path.write_bytes(long_record)
    record = open_record(path)
    for table in ("standing", "tune", "card"):
        overwrite(path, root_of(path, table), 4096)
    record._db.execute("PRAGMA shrink_memory")  # what SQLite holds in memory would hide it
    with pytest.raises(UserError, match=r"turned out to be damaged; it is set aside as .*; start again") as caught:
        record.tunes("bc-21", NOW)
    assert caught.value.place is not None
    with pytest.raises(UserError) as again_said:  # as at the end of a session
        record.end(1)
    assert str(again_said.value) == str(caught.value)
    record.close()
    again = open_record(path)
    assert again.notice == ""
    assert again.boxes() == ()


def test_a_damaged_record_that_cannot_be_set_aside_is_said(
    tmp_path: Path, long_record: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(record_file, "PATIENCE", 0.2)
    path = tmp_path / "record.sqlite3"
    path.write_bytes(long_record[:50_000])
    with contextlib.closing(sqlite3.connect(tmp_path / ".record.lock", isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(UserError, match="damaged and cannot be set aside"):
            open_record(path)
    assert path.read_bytes() == long_record[:50_000]


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_whatever_is_overwritten_nothing_worse_than_a_sentence_comes_of_it(data: st.DataObject) -> None:
    with quick_folder() as name:
        path = Path(name) / "record.sqlite3"
        record, clock = open_at(path)
        tune = record.tune(ROUND, "t", "jig")
        sitting = record.begin(tune, "bc-21")
        for _ in range(3):
            record.keep(sitting, kept(clean=False, n1="other-row"), {"current": "A bar 1"})
        record.review(tune, "bc-21", [WholeRound(1.0, True)], clock(), TABLES.memory)
        record.close()
        size = path.stat().st_size
        said = []
        for _ in range(data.draw(st.integers(1, 3))):
            at = data.draw(st.integers(0, size - 1))
            overwrite(path, at, min(data.draw(st.integers(1, 6000)), size - at), data.draw(st.integers(0, 99)))
        for _ in range(12):  # a damaged one is set aside at the latest when it is used
            try:
                use(open_record(path))
                break
            except UserError as why:
                said.append(str(why))
        else:
            # Where its version was overwritten, a record cannot be told from that of a newer program.
            assert "newer version" in said[-1], said


def use(record: Record) -> None:
    """All that a session and `companion progress` do with a record."""
    try:
        tune = record.tune(ROUND, "t", "jig")
        record.state(tune, "bc-21", False)
        record.rounds(tune)
        sitting = record.begin(tune, "bc-21")
        record.keep(sitting, kept(), {"current": "A bar 1"})
        record.review(tune, "bc-21", [WholeRound(1.0, True)], NOW, TABLES.memory)
        record.end(sitting)
        everything(record)
        list(record.lines())
    finally:
        record.close()


def test_a_log_that_is_cut_short_costs_no_more_than_its_end(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    record, _ = open_at(path)
    sitting = record.begin(record.tune(ROUND, "t", "jig"), "bc-21")
    for _ in range(5):
        record.keep(sitting, kept(), {})
    whole, log = path.read_bytes(), path.with_name("record.sqlite3-wal").read_bytes()
    record.close()
    counts = []
    for share in (1.0, 0.7, 0.4):
        folder = tmp_path / str(share)
        folder.mkdir()
        (folder / "record.sqlite3").write_bytes(whole)
        (folder / "record.sqlite3-wal").write_bytes(log[: int(len(log) * share)])
        again = open_record(folder / "record.sqlite3")
        assert again.notice == ""
        counts.append(again.rounds(1))
        list(again.lines())
        again.close()
    assert counts[0] == 5
    assert counts == sorted(counts, reverse=True)
    assert counts[-1] < 5


def test_a_record_that_may_not_be_written_is_said_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    record = open_record(path)
    record._db.execute("PRAGMA query_only = ON")  # as where the permissions are missing
    with pytest.raises(UserError, match="cannot be written"):
        record.tune(ROUND, "t", "jig")
    assert names(tmp_path, "damaged") == []
