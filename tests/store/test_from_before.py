"""What a player has from the version before is read as it was: the record, its export, a lesson file, the settings.

The files in `before/` were written by version 0.1.0 as it stood on 27 November 2026: three sittings on its own session,
played by a script that leaves notes out and plays wrong ones; and four of the tables that came with it.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from companion.cli.main import main
from companion.pages.player_choices import load_choices
from companion.places import own_config, own_data, shipped
from companion.screen.actions import Action, load_keys
from companion.screen.words import load_words
from companion.session.all_tables import check_tables
from companion.store.record import FILE, open_record
from companion.tables import read_tables
from tests.session.fakes import Bench, play_every_round
from tests.shipped_tables import TABLES
from tests.store.made import quick_folder

BEFORE = Path(__file__).parent / "before"
KEYS = json.loads((BEFORE / "json_keys.json").read_text(encoding="utf-8"))
BOOK = shipped("demo_tunes", "tanners_quay.abc")


def put(folder: Path) -> Path:
    """The record of the version before, as a file."""
    path = folder / FILE
    folder.mkdir(parents=True, exist_ok=True)
    db = sqlite3.connect(path)
    db.executescript((BEFORE / "record.sql").read_text(encoding="utf-8"))
    db.close()
    return path


def shape(value: object, where: str = "") -> Iterator[str]:
    """Each key of some JSON by its way and its kind: ``.tunes[].title:str``."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from shape(inner, f"{where}.{key}")
    elif isinstance(value, list):
        for inner in value:
            yield from shape(inner, f"{where}[]")
    else:
        yield f"{where}:{type(value).__name__}"


def test_the_record_is_whole_and_says_the_same(tmp_path: Path) -> None:
    record = open_record(put(tmp_path))
    assert record.notice == ""
    assert [json.loads(line) for line in record.lines()] == [
        json.loads(line) for line in (BEFORE / "record.jsonl").read_text(encoding="utf-8").splitlines()
    ]
    record.close()


def test_its_export_is_read_into_a_new_record() -> None:
    with quick_folder() as name:
        record = open_record(Path(name) / FILE)
        added = record.take_in(BEFORE / "record.jsonl", rules=TABLES.memory)
        assert (added.tunes, added.sittings, added.rounds) == (1, 3, 45)
        record.close()


def test_the_player_goes_on_where_they_were(tmp_path: Path) -> None:
    put(tmp_path)
    bench = Bench(tmp_path, length=60.0)
    play_every_round(bench)
    bench.wind(20)
    assert bench.session.rounds
    first = bench.session.rounds[0]
    assert (first.piece, first.step, first.bpm, first.marks.clean) == ("A bar 1", "in time", 112 * 0.7, True)
    assert bench.record.rounds(bench.tune) == 45 + len(bench.session.rounds)


def test_progress_shows_it(capsys: pytest.CaptureFixture[str]) -> None:
    put(own_data())
    assert main(["progress"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "The Lamp on Tanner's Quay 16 of 16 3 of 4 button above: 8" in said


def test_a_lesson_file_is_used(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.copy(BOOK, tmp_path)
    shutil.copy(BEFORE / "lesson.toml", tmp_path / "tanners_quay.lesson.toml")
    assert main(["lesson", str(tmp_path / BOOK.name), "--tune", "1"]) == 0
    assert "A phrase 1 into 2" in capsys.readouterr().out


def test_the_settings_are_read() -> None:
    own_config().mkdir(parents=True, exist_ok=True)
    shutil.copy(BEFORE / "settings.toml", own_config())
    choices = load_choices()
    assert (choices.box, choices.level, choices.wait, choices.theme) == ("csd-21", 70, 20.0, "light")
    assert (choices.facing, choices.left_handed, choices.text) == ("mirrored", True, 1.2)


def test_a_players_own_tables_are_read_and_what_is_new_in_them_is_ours(own_table: Callable[[str, str], Path]) -> None:
    for one in sorted((BEFORE / "tables").iterdir()):
        own_table(one.name, one.read_text(encoding="utf-8"))
    check_tables()
    keys = load_keys()
    assert (keys[Action.THEME], keys[Action.LEFT_HANDED]) == (("t",), ("l",))  # as the player has them
    assert (keys[Action.TAP], keys[Action.LOOP]) == ((), ())  # what is new does not take them away
    assert keys[Action.WHOLE] == ("w",)
    rules = read_tables().lesson
    assert (rules.by_heart, rules.own_step) == (TABLES.lesson.by_heart, TABLES.lesson.own_step)
    assert load_words()("now_other_direction", other="pull", bellows="push") == "You pulled. This one is a push."


@pytest.mark.parametrize("command", sorted(KEYS))
def test_json_has_every_key_that_it_had(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    if command == "progress":
        put(own_data())
    book: list[Any] = [] if command == "progress" else [str(BOOK)]
    assert main([command, *book, "--json"]) == 0
    now = set(shape(json.loads(capsys.readouterr().out)))
    assert set(KEYS[command]) - now == set()
