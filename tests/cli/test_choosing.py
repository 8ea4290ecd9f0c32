"""The commands that help to choose: boxes, keys, tunes, and the reasons for a fingering."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from companion.cli.main import main
from companion.places import shipped

BOOK = str(shipped("demo_tunes", "tanners_quay.abc"))


def test_boxes_are_listed_and_drawn(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main(["boxes"]) == 0
    listed = capsys.readouterr().out
    assert all(name in listed for name in ("bc-21", "bc-23", "csd-21", "csd-23", "dg-21", "d-10"))
    assert main(["boxes", "bc-21"]) == 0
    assert "D4" in capsys.readouterr().out
    for ending, start in (("svg", b"<"), ("png", b"\x89PNG")):
        out = tmp_path / f"box.{ending}"
        assert main(["boxes", "bc-23", "-o", str(out)]) == 0
        assert out.read_bytes().startswith(start)
    assert main(["boxes", "bc-21", "-o", str(tmp_path / "box.doc")]) == 2
    assert main(["boxes", "-o", str(tmp_path / "box.svg")]) == 2


def test_a_book_is_ranked(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["choose", BOOK]) == 0
    said = capsys.readouterr().out
    assert said.index("Salt on") < said.index("The Thursday Ferry")
    assert main(["choose", BOOK, "--level", "heavenly"]) == 2
    assert "heavenly" in capsys.readouterr().err


def test_the_reasons_and_another_key(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["buttons", BOOK, "--explain"]) == 0
    assert "the next best" in capsys.readouterr().out
    assert main(["buttons", BOOK, "--transpose", "-2", "--json"]) == 0
    moved = json.loads(capsys.readouterr().out)
    assert main(["buttons", BOOK, "--json"]) == 0
    plain = json.loads(capsys.readouterr().out)
    assert [note["pitch"] + 2 for note in moved["notes"]] == [note["pitch"] for note in plain["notes"]]
    assert main(["buttons", BOOK, "--transpose", "best", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["cost"] <= plain["cost"]
    assert main(["buttons", BOOK, "--transpose", "lots"]) == 2


def test_a_pin_beside_the_book_is_kept(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    book = tmp_path / "pinned.abc"
    book.write_text("X:1\nT:Pinned\nM:4/4\nL:1/4\nK:D\nD!2!E F G|\n", encoding="utf-8")
    assert main(["buttons", str(book), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["notes"][1]["finger"] == 2
