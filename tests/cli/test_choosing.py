"""The commands that help to choose: boxes, keys, tunes, and the reasons for a fingering."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from companion.box.box_values import Bellows, Press
from companion.box.layout import load_box
from companion.cli.main import main
from companion.notation import read_book
from companion.places import shipped
from tests.cli.test_reports import printed

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
    assert "would cost" in capsys.readouterr().out
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


LOW = "X:1\nT:Too Low\nM:4/4\nL:1/4\nK:D\nD,E,F,G,|\n"


def test_a_tune_that_does_not_fit_is_told_what_would(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    book = tmp_path / "low.abc"
    book.write_text(LOW, encoding="utf-8")
    assert main(["buttons", str(book)]) == 0
    said = capsys.readouterr().out
    assert "no D3 on your box" in said
    assert "it would fit an octave up" in said
    assert "--transpose +" in said
    for command in ("bellows", "basses", "ornaments"):
        assert main([command, str(book)]) == 0
        assert "it would fit an octave up" in capsys.readouterr().out
    fits = printed(capsys, "buttons", str(book), "--json")["would_fit"]
    assert 12 in fits["octaves"]
    for by in fits["semitones"]:
        moved = printed(capsys, "buttons", str(book), "--json", f"--transpose={by}")
        assert moved["playable"]
        assert "would_fit" not in moved


def test_a_layout_of_ones_own_with_one_reed_changed(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    own = tmp_path / "mine.toml"
    own.write_text('parent = "bc-21"\n[[reeds]]\nrow = "C"\nbutton = 1\npush = "D3"\n', encoding="utf-8")
    book = tmp_path / "low.abc"
    book.write_text(LOW.replace("D,E,F,G,", "D,GAB"), encoding="utf-8")
    assert not printed(capsys, "buttons", str(book), "--json")["playable"]
    report = printed(capsys, "buttons", str(book), "--json", "--box", str(own))
    first = report["notes"][0]
    assert (report["box"], first["row"], first["button"], first["bellows"]) == ("mine", "C", 1, "push")
    assert main(["boxes", str(own)]) == 0
    assert "D3" in capsys.readouterr().out


def test_the_ranking_for_programs(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    report = printed(capsys, "choose", BOOK, "--json")
    points = [tune["points"] for tune in report["tunes"]]
    assert points == sorted(points)
    for tune in report["tunes"]:
        assert tune["points"] == pytest.approx(sum(tune["parts"].values()), abs=1e-4)
    book = tmp_path / "low.abc"
    book.write_text(LOW, encoding="utf-8")
    (low,) = printed(capsys, "choose", str(book), "--json")["tunes"]
    assert (low["fits"], low["points"], low["level"]) == (False, None, None)
    assert "an octave up" in low["reason"]


def test_only_the_tunes_of_a_kind_are_ranked(capsys: pytest.CaptureFixture[str]) -> None:
    every = printed(capsys, "choose", BOOK, "--json")["tunes"]
    polkas = printed(capsys, "choose", BOOK, "--rhythm", "polka", "--json")["tunes"]
    kinds = {tune.number: tune.rhythm for tune in read_book(Path(BOOK)).tunes}
    assert [one for one in every if kinds[one["number"]] == "polka"] == polkas
    assert 0 < len(polkas) < len(every)
    assert main(["choose", BOOK, "--rhythm", "polka"]) == 0
    assert f"--tune {polkas[0]['number']}" in capsys.readouterr().out
    assert main(["choose", BOOK, "--title", "no such words"]) == 2
    assert "no match among" in capsys.readouterr().err


def test_the_first_tune_of_the_demo_book_is_one_for_beginners(capsys: pytest.CaptureFixture[str]) -> None:
    tunes = {tune["number"]: tune["level"] for tune in printed(capsys, "choose", BOOK, "--json")["tunes"]}
    assert tunes[1] == "first"
    assert main(["choose", BOOK, "--level", "first"]) == 0
    assert "The Lamp on Tanner's Quay" in capsys.readouterr().out


@pytest.mark.parametrize("number", range(1, 6))
@pytest.mark.parametrize("box", ["bc-21", "dg-21"])
def test_the_bellows_agree_with_the_buttons(capsys: pytest.CaptureFixture[str], number: int, box: str) -> None:
    tune = ("--tune", str(number), "--box", box, "--json")
    buttons, plan = printed(capsys, "buttons", BOOK, *tune), printed(capsys, "bellows", BOOK, *tune)
    assert [note["bellows"] for note in plan["notes"]] == [note["bellows"] for note in buttons["notes"]]
    used = {use["note"]: use["amount"] for use in plan["air_button"]}
    opening = plan["start"]
    for index, note in enumerate(plan["notes"]):
        if index not in used:
            moved = note["opening"] - opening
            assert (moved if note["bellows"] == "pull" else -moved) >= 0
        opening = note["opening"]
    for saving in plan["savings"]:
        assert plan["notes"][saving["note"]]["bellows"] not in saving["instead"]


def test_louder_takes_more_air(capsys: pytest.CaptureFixture[str]) -> None:
    soft, loud = (printed(capsys, "bellows", BOOK, "--json", "--loudness", mark) for mark in ("pp", "ff"))
    assert abs(loud["drift"]) == pytest.approx(4 * abs(soft["drift"]), abs=1e-5)
    assert main(["bellows", BOOK, "--loudness", "fff"]) == 2
    assert "fff" in capsys.readouterr().err


def test_a_long_run_on_the_pull_runs_out_and_is_said(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    book = tmp_path / "pull.abc"
    book.write_text("X:1\nT:All Pulled\nM:4/4\nL:1/8\nK:D\n" + "AdAd AdAd|" * 40 + "\n", encoding="utf-8")
    assert printed(capsys, "bellows", str(book), "--json")["runs_out"]
    assert main(["bellows", str(book)]) == 0
    assert "run out of air" in capsys.readouterr().out


@pytest.mark.parametrize("box", ["bc-21", "csd-21", "dg-21"])
def test_the_left_hand_goes_with_the_right(capsys: pytest.CaptureFixture[str], box: str) -> None:
    tune = ("--tune", "1", "--box", box, "--json")
    notes, left = printed(capsys, "buttons", BOOK, *tune)["notes"], printed(capsys, "basses", BOOK, *tune)
    basses = load_box(box).basses
    assert not left["guessed"]
    assert left["stretches"][0]["chord"] == "D"
    assert [one["first"] for one in left["stretches"][1:]] == [one["last"] + 1 for one in left["stretches"][:-1]]
    for one in left["stretches"]:
        assert {note["bellows"] for note in notes[one["first"] : one["last"] + 1]} == {one["bellows"]}
        for index in (one["bass"], one["chord_button"]):
            if index is not None:
                sounds = basses[index].push if one["bellows"] == "push" else basses[index].pull
                assert sounds in one["sounds"]
        if one["bass"] is None and one["chord_button"] is None:
            assert one["sounds"] == ""
            assert one["reason"]
    assert main(["basses", BOOK, "--box", box]) == 0
    assert "left hand" in capsys.readouterr().out


def test_ornaments_are_played_in_one_direction(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    book = tmp_path / "rolls.abc"
    book.write_text("X:1\nT:Rolls\nM:6/8\nL:1/8\nK:D\nFGF ~F3|AFA !trill!d2A|~E3 FED|\n", encoding="utf-8")
    notes = printed(capsys, "buttons", str(book), "--json")["notes"]
    report = printed(capsys, "ornaments", str(book), "--json")
    assert [one["asked"] for one in report["ornaments"]] == ["long roll", "cut", "long roll"]
    box = load_box("bc-21")
    for one in report["ornaments"]:
        assert notes[one["note"]]["bellows"] == one["bellows"]
        assert one["played"] == one["asked"] or one["reason"]
        for touch in one["touches"]:
            press = Press(touch["row"], touch["button"], Bellows(one["bellows"]))
            assert box.pitch(press) == touch["pitch"]
    assert main(["ornaments", str(book)]) == 0
    assert "long roll" in capsys.readouterr().out


def test_a_pin_that_cannot_be_is_said(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    book = tmp_path / "pinned.abc"
    book.write_text("X:1\nT:Pinned\nM:4/4\nL:1/4\nK:D\nDEFG|\n", encoding="utf-8")
    beside = tmp_path / "pinned.pins.toml"
    beside.write_text('[[pins]]\nbar = 1\nnote = 2\nrow = "B"\n[[pins]]\nbar = 1\nnote = 4\nbellows = "pull"\n')
    report = printed(capsys, "buttons", str(book), "--json", "--explain")
    assert report["notes"][1]["row"] == "B"
    assert len(report["refused"]) == 1
    assert "G4, bar 1" in report["refused"][0]
    assert {one["kind"] for one in report["explained"]} <= {"reach", "back", "row"}
    assert main(["buttons", str(book)]) == 0
    assert "cannot be played as pinned" in capsys.readouterr().out
    beside.write_text('[[pins]]\nbar = 9\nnote = 1\nrow = "B"\n')
    assert main(["buttons", str(book)]) == 2
    assert "pinned.pins.toml:3" in capsys.readouterr().err
