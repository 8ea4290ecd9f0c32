"""A folder of takes: one table, a page each, and one bad take that does not cost the others."""

from __future__ import annotations

import json
import random
from pathlib import Path

import jsonschema
import pytest

import companion
from companion.cli.main import main
from companion.cli.ready_tune import open_tune
from companion.cli.show import note_name
from companion.input.take_file import write_take
from companion.lesson.stretch import stretch_of
from companion.marking.asking import asked_of
from companion.marking.learner import Learner, simulate_take
from companion.marking.mark_values import Heard
from companion.places import shipped
from companion.timeline import Timeline

BOOK = str(shipped("demo_tunes", "tanners_quay.abc"))
SCHEMAS = Path(companion.__file__).parent / "cli" / "schemas"


@pytest.fixture
def takes(tmp_path: Path) -> Path:
    """Simulated takes of the first demo tune: one without a mistake, one with some, and a file that is no take."""
    folder = tmp_path / "takes"
    folder.mkdir()
    opened = open_tune(BOOK, 1, "bc-21")
    beat = opened.tune.meter.beats[0]
    asked = asked_of(stretch_of(opened.round, 0, len(opened.round.notes) - 1, opened.tune.meter, beat))
    for name, learner in (("anna", Learner(spread_ms=8.0)), ("ben", Learner(spread_ms=8.0, wrong=0.08, missed=0.03))):
        heard, _ = simulate_take(asked, Timeline(80.0, beat), learner, random.Random(4), opened.fingering)
        write_take(folder / f"{name}.mid", heard)
    (folder / "cara.mid").write_bytes(b"no take")
    (folder / "notes.txt").write_text("not a take either", encoding="utf-8")
    return folder


def test_one_table_and_a_page_each(takes: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pages = tmp_path / "pages"
    assert main(["mark", BOOK, str(takes), "-o", str(pages)]) == 0
    said = capsys.readouterr().out
    assert "anna.mid" in said
    assert "ben.mid: " in said
    assert "cara.mid: This is not a Standard MIDI File" in said
    assert "notes.txt" not in said
    assert sorted(path.name for path in pages.iterdir()) == ["anna.txt", "ben.txt"]
    anna, ben = ((pages / f"{name}.txt").read_text(encoding="utf-8") for name in ("anna", "ben"))
    assert "Clean: " in anna
    assert " notes right.\n" in anna
    assert "went wrong" not in anna
    assert "Not clean yet: " in ben
    for heading in ("What to work on:", "Notes that went wrong:", "By bar:", "By join:", "By button:"):
        assert heading in ben


def test_one_take_is_told_as_its_page(takes: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["mark", BOOK, str(takes), "-o", str(tmp_path / "pages")]) == 0
    capsys.readouterr()
    assert main(["mark", BOOK, str(takes / "ben.mid")]) == 0
    assert capsys.readouterr().out == (tmp_path / "pages" / "ben.txt").read_text(encoding="utf-8")


def test_how_late_is_not_told_of_a_take_that_stops(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    opened = open_tune(BOOK, 1, "bc-21")
    beat = opened.target[1]
    asked = asked_of(stretch_of(opened.round, 0, len(opened.round.notes) - 1, opened.tune.meter, beat))
    line = Timeline(80.0, beat)
    half = len(asked) // 2
    heard = [
        Heard(line.seconds(one.at) + (4.0 if k >= half else 0.0), one.pitch, end=line.seconds(one.at) + 4.1)
        for k, one in enumerate(asked)
    ]
    write_take(tmp_path / "stops.mid", heard)
    assert main(["mark", BOOK, str(tmp_path / "stops.mid")]) == 0
    said = capsys.readouterr().out
    assert f": {len(asked)} of {len(asked)} notes right" in said
    assert "It stops on the way" in said
    assert " ms" not in said


def test_the_same_as_json(takes: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["mark", BOOK, str(takes), "--json"]) == 0
    report = json.loads(capsys.readouterr().out)
    schema = json.loads((SCHEMAS / "class.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(report)
    marks_schema = jsonschema.Draft202012Validator(json.loads((SCHEMAS / "marks.json").read_text(encoding="utf-8")))
    by_name = {one["take"]: one for one in report["takes"]}
    assert list(by_name) == ["anna.mid", "ben.mid", "cara.mid"]
    for name in ("anna.mid", "ben.mid"):
        marks_schema.validate(by_name[name]["marks"])
        assert main(["mark", BOOK, str(takes / name), "--json"]) == 0
        assert json.loads(capsys.readouterr().out) == by_name[name]["marks"]
    assert by_name["anna.mid"]["work"] == []
    assert 1 <= len(by_name["ben.mid"]["work"]) <= 3
    assert by_name["cara.mid"]["marks"] is None
    assert "Standard MIDI File" in by_name["cara.mid"]["problem"]


def test_mistakes(takes: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    (tmp_path / "file").write_text("", encoding="utf-8")
    for arguments, said in (
        ([str(empty)], "no take in this folder"),
        ([str(takes / "anna.mid"), "-o", str(tmp_path / "pages")], "for a folder of takes"),
        ([str(takes), "-o", str(tmp_path / "file" / "pages")], "cannot be made"),
    ):
        assert main(["mark", BOOK, *arguments]) == 2
        error = capsys.readouterr().err
        assert said in error
        assert error.count("\n") == 1


def test_a_take_of_a_part_is_looked_at_as_far_as_it_goes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    opened = open_tune(BOOK, 1, "bc-21")
    beat = opened.target[1]
    asked = asked_of(stretch_of(opened.round, 0, len(opened.round.notes) - 1, opened.tune.meter, beat))
    line = Timeline(80.0, beat)
    part = next(piece for piece in opened.pieces if piece.name == "A part")
    heard = [
        # One wrong note on the way.
        Heard(line.seconds(one.at), one.pitch + (one.index == part.first + 3), end=line.seconds(one.at + one.length))
        for one in asked[part.first : part.last + 1]
    ]
    write_take(tmp_path / "part.mid", heard)
    assert main(["mark", BOOK, str(tmp_path / "part.mid")]) == 0
    said = capsys.readouterr().out
    assert "You played from A bar 1, time 1 to A bar 8, time 1" in said
    assert "B bar" not in said
    assert sum(line.startswith("  1. ") for line in said.splitlines()) == 1
    assert "  2. " not in said
    assert main(["mark", BOOK, str(tmp_path)]) == 0
    assert "part.mid: You played from A bar 1, time 1 to A bar 8, time 1" in capsys.readouterr().out


def test_what_is_left_out_in_one_bar_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    opened = open_tune(BOOK, 1, "bc-21")
    beat = opened.target[1]
    asked = asked_of(stretch_of(opened.round, 0, len(opened.round.notes) - 1, opened.tune.meter, beat))
    line = Timeline(80.0, beat)
    bar = [k for k, note in enumerate(opened.round.notes) if (note.part, note.turn, note.bar) == ("A", 2, 3)]
    heard = [
        Heard(line.seconds(one.at), one.pitch, end=line.seconds(one.at + one.length))
        for one in asked
        if one.index not in bar
    ]
    write_take(tmp_path / "gap.mid", heard)
    assert main(["mark", BOOK, str(tmp_path / "gap.mid")]) == 0
    lines = capsys.readouterr().out.splitlines()
    wrong = lines[lines.index("Notes that went wrong:") + 1 : lines.index("By bar:") - 1]
    notes = " ".join(note_name(opened.round.notes[k].pitch, opened.round.signature) for k in bar)
    assert wrong == [f"  A bar 3, time 2, note {notes}: missed"]
