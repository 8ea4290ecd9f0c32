"""Notes that were not heard well enough to judge, in the record: kept, counted nowhere, and exported."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest

import companion
from companion.marking.mark_values import Verdict
from companion.store.record import Record, RoundKept, open_record
from companion.store.rescue import rescue
from tests.shipped_tables import TABLES
from tests.store.made import ROUND, kept, open_at

SCHEMA = Path(companion.__file__).parent / "cli" / "schemas" / "record.json"


def unsure(one: RoundKept, at: int) -> RoundKept:
    """The round with one note that was not heard well."""
    notes = (replace(n, verdict=Verdict.UNSURE, cause=None) if n.written == at else n for n in one.marks.notes)
    return replace(one, marks=replace(one.marks, notes=tuple(notes)))


def record_of(path: Path, *rounds: RoundKept) -> Record:
    record, _ = open_at(path)
    sitting = record.begin(record.tune(ROUND, "The Net Loft", "jig"), "bc-21")
    for one in rounds:
        record.keep(sitting, one, {})
    return record


def test_an_unsure_note_is_neither_asked_for_nor_mistaken(tmp_path: Path) -> None:
    record = record_of(tmp_path / "r.sqlite3", kept(n1="other-row"), unsure(kept(n1="wrong"), 1))
    first = record.bars(1, "bc-21")[0]
    assert (first.asked, first.mistaken) == (3, 1)  # two notes, twice, but for the one
    assert record.memory(1, "bc-21").pieces["A bar 1"].mistakes == {"other-row": 1}


def test_it_is_exported_and_read_in(tmp_path: Path) -> None:
    record = record_of(tmp_path / "r.sqlite3", unsure(kept(), 1))
    lines = [json.loads(line) for line in record.lines()]
    validator = jsonschema.Draft202012Validator(json.loads(SCHEMA.read_text(encoding="utf-8")))
    for line in lines:
        validator.validate(line)
    assert [mark[1] for line in lines if line.get("kind") == "round" for mark in line["marks"]] == [
        "right", "unsure", "right", "right",
    ]  # fmt: skip
    file = tmp_path / "r.jsonl"
    file.write_text("".join(record.lines()), encoding="utf-8")
    other = open_record(tmp_path / "other.sqlite3")
    assert other.take_in(file, rules=TABLES.memory).rounds == 1
    assert list(other.lines()) == list(record.lines())


@pytest.mark.parametrize(("with_unsure", "version"), [(False, 1), (True, 2)])
def test_an_older_program_can_read_what_has_no_unsure_note_in_it(
    tmp_path: Path, with_unsure: bool, version: int
) -> None:
    """And is told to be updated, by the version, where it could not."""
    path = tmp_path / "r.sqlite3"
    record = record_of(path, unsure(kept(), 1) if with_unsure else kept())
    assert json.loads(next(iter(record.lines())))["version"] == version
    record.close()
    with rescue(path) as found:
        lines = list(found.lines())
    assert json.loads(lines[0])["version"] == version
    assert (found.lost, len(lines)) == (0, 5)
