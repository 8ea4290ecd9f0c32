"""The record as JSON lines: nothing lost, nothing doubled, nothing half read."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings

import companion
from companion.errors import UserError
from companion.lesson.review import WholeRound, card_of
from companion.store.record import Record, open_record
from tests.shipped_tables import TABLES
from tests.store.made import BEGAN, OTHER, ROUND, everything, kept, live, lives, open_at, quick_folder

SCHEMA = json.loads((Path(companion.__file__).parent / "cli" / "schemas" / "record.json").read_text(encoding="utf-8"))
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)
# More of them by hand.
EXAMPLES = 200 if os.environ.get("BOX_COMPANION_WHOLE_CORPUS") else 15


def export(record: Record, file: Path) -> bytes:
    file.write_text("".join(record.lines()), encoding="utf-8", newline="\n")
    return file.read_bytes()


@settings(max_examples=EXAMPLES)
@given(lives)
def test_in_and_out_gives_the_same_bytes_and_the_same_record(life: list[Any]) -> None:
    with quick_folder() as name:
        folder = Path(name)
        record, clock = open_at(folder / "one.sqlite3")
        live(record, clock, life)
        first = export(record, folder / "one.jsonl")
        for line in first.decode().split("\n")[:-1]:
            VALIDATOR.validate(json.loads(line))
        other, _ = open_at(folder / "two.sqlite3")
        other.take_in(folder / "one.jsonl", rules=TABLES.memory)
        assert export(other, folder / "two.jsonl") == first
        assert everything(other) == everything(record)
        again = other.take_in(folder / "one.jsonl", rules=TABLES.memory)
        assert (again.tunes, again.sittings, again.rounds, again.reviews) == (0, 0, 0, 0)
        assert export(other, folder / "three.jsonl") == export(record, folder / "four.jsonl")
        record.close()
        other.close()


@settings(max_examples=EXAMPLES)
@given(lives, lives, lives)
def test_two_records_become_one_whichever_way_round(common: list[Any], mine: list[Any], theirs: list[Any]) -> None:
    with quick_folder() as name:
        folder = Path(name)
        files = []
        for number, life in enumerate((mine, theirs)):
            record, clock = open_at(folder / f"{number}.sqlite3")
            live(record, clock, common)
            clock.on(minutes=1 + number)
            live(record, clock, life)
            files.append(folder / f"{number}.jsonl")
            export(record, files[-1])
            record.close()
        both = []
        for number, order in enumerate((files, files[::-1])):
            record = open_record(folder / f"both{number}.sqlite3")
            added = [record.take_in(file, rules=TABLES.memory) for file in order]
            both.append(export(record, folder / f"both{number}.jsonl"))
            if number == 0:
                assert added[0].sittings == len(common) + len(mine)
                assert added[1].sittings == len(theirs)
            record.close()
        assert both[0] == both[1]


def test_a_sitting_that_went_on_after_it_was_exported_is_completed(tmp_path: Path) -> None:
    record, clock = open_at(tmp_path / "one.sqlite3")
    tune = record.tune(ROUND, "t", "jig")
    sitting = record.begin(tune, "bc-21")
    record.keep(sitting, kept(), {"at": 1})
    export(record, tmp_path / "early.jsonl")
    clock.on(seconds=30)
    record.keep(sitting, kept(), {"at": 2})
    record.end(sitting)
    late = export(record, tmp_path / "late.jsonl")
    other = open_record(tmp_path / "two.sqlite3")
    other.take_in(tmp_path / "early.jsonl", rules=TABLES.memory)
    added = other.take_in(tmp_path / "late.jsonl", rules=TABLES.memory)
    assert (added.sittings, added.rounds) == (0, 1)
    assert export(other, tmp_path / "again.jsonl") == late
    assert other.take_in(tmp_path / "early.jsonl", rules=TABLES.memory).rounds == 0
    assert export(other, tmp_path / "again.jsonl") == late  # an older state does not come back


def test_reviews_made_on_two_machines_make_one_card(tmp_path: Path) -> None:
    for number in (0, 1):
        record, clock = open_at(tmp_path / f"{number}.sqlite3")
        tune = record.tune(ROUND, "t", "jig")
        record.review(tune, "bc-21", [WholeRound(1.0, True)], clock(), TABLES.memory)
        clock.on(days=3 + number)
        record.review(tune, "bc-21", [WholeRound(0.9, number == 1)], clock(), TABLES.memory)
        export(record, tmp_path / f"{number}.jsonl")
        record.close()
    record = open_record(tmp_path / "0.sqlite3")
    assert record.take_in(tmp_path / "1.jsonl", rules=TABLES.memory).reviews == 1
    tune = record.tune(ROUND, "t", "jig")
    reviews = record.reviews(tune, "bc-21")
    assert len(reviews) == 3
    card = card_of(reviews, TABLES.memory)
    assert card is not None
    assert record.due("bc-21", BEGAN)[0].due == card.due


def test_titles_stay_as_they_are_in_the_record(tmp_path: Path) -> None:
    record, _ = open_at(tmp_path / "one.sqlite3")
    record.tune(OTHER, "The old name", "reel")
    export(record, tmp_path / "one.jsonl")
    other, clock = open_at(tmp_path / "two.sqlite3")
    tune = other.tune(OTHER, "The new name", "reel")
    assert other.take_in(tmp_path / "one.jsonl", rules=TABLES.memory).tunes == 0
    other.keep(other.begin(tune, "bc-21"), kept(), {})
    assert [one.title for one in other.tunes("bc-21", clock())] == ["The new name"]


def changed(**fields: Any) -> Callable[[dict[str, Any]], str]:
    return lambda line: json.dumps({**line, **fields})


@pytest.mark.parametrize(
    ("kind", "change", "said"),
    [
        ("round", lambda line: json.dumps(line)[:-1], "not JSON"),
        ("round", lambda _: "[1]", "one JSON object"),
        ("round", changed(bpm="fast"), '"bpm" must be a number, or null'),
        ("round", changed(clean=1), '"clean" must be true or false'),
        ("round", changed(marks=[[0, "splendid", 62, 62, 0, None]]), '"marks" must be'),
        ("round", changed(ended="2026-03-01T19:00:00"), '"ended" must be a time with its zone'),
        ("round", lambda line: json.dumps({k: v for k, v in line.items() if k != "piece"}), 'lacks "piece"'),
        ("round", changed(colour="red"), 'no "colour"'),
        ("round", lambda line: json.dumps(line).replace("60.0", "1e999"), '"bpm" must be'),
        ("round", lambda line: json.dumps(line).replace("60.0", "NaN"), "this JSON cannot be read"),
        ("round", changed(piece="\ud800"), '"piece" must be text'),
        ("sitting", changed(tune="unknown"), "no line above has a tune"),
        ("sitting", changed(kind="siesta"), '"kind" must be one of'),
        ("standing", changed(state=[1]), '"state" must be an object'),
        ("review", changed(rating=5), '"rating" must be 1, 2, 3 or 4'),
        ("card", changed(card={"stability": 1}), '"card" must be a card'),
        ("tune", changed(bars=[["A", 1]]), '"bars" must be a list'),
    ],
)
def test_a_bad_line_is_named_and_nothing_is_taken_in(
    tmp_path: Path, kind: str, change: Callable[[dict[str, Any]], str], said: str
) -> None:
    record, clock = open_at(tmp_path / "one.sqlite3")
    tune = record.tune(ROUND, "t", "jig")
    record.keep(record.begin(tune, "bc-21"), kept(), {})
    record.review(tune, "bc-21", [WholeRound(1.0, True)], clock(), TABLES.memory)
    lines = list(record.lines())
    place = next(number for number, line in enumerate(lines) if json.loads(line).get("kind") == kind)
    lines[place] = change(json.loads(lines[place])) + "\n"
    file = tmp_path / "bad.jsonl"
    file.write_text("".join(lines), encoding="utf-8")
    other = open_record(tmp_path / "two.sqlite3")
    before = list(other.lines())
    with pytest.raises(UserError, match=said.replace("(", "\\(")) as caught:
        other.take_in(file, rules=TABLES.memory)
    where = caught.value.place
    assert where is not None
    assert (where.file, where.line) == (file, place + 1)
    assert 1 <= where.column <= len(lines[place])
    if '"' in said and "lacks" not in said and "JSON" not in said:
        assert lines[place][where.column - 1] == '"'
    assert list(other.lines()) == before


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (b"", "empty"),
        (b"\n\n", "empty"),
        (b"X:1\nT:No record\n", "not JSON"),
        (b'{"kind":"tune"}\n', "not an exported record"),
        (b'{"format":"box-companion record","version":99}\n', "versions 1 and 2"),
        (b'{"format":"box-companion record","version":1}\n{"kind":"round"\xff', "UTF-8"),
        (b'{"format":"box-companion record","version":1}\n' + b"[" * 100_000, "JSON"),
        (b'{"format":"box-companion record","version":1}\n{"kind":"round","piece":"A","step":"in time","bpm":null,'
         b'"clean":true,"standin":false,"ended":"2026-03-01T19:00:00+00:00","marks":[]}\n', "must follow the sitting"),
    ],
)  # fmt: skip
def test_what_is_no_exported_record_is_said(tmp_path: Path, text: bytes, said: str) -> None:
    file = tmp_path / "other.jsonl"
    file.write_bytes(text)
    record = open_record(tmp_path / "record.sqlite3")
    with pytest.raises(UserError, match=said):
        record.take_in(file, rules=TABLES.memory)
    with pytest.raises(UserError, match="cannot be read"):
        record.take_in(tmp_path / "nowhere.jsonl", rules=TABLES.memory)
