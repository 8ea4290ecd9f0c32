"""What the commands print for other programs, held to the JSON Schemas that document it."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import companion
from companion.box.box_values import Bellows, Press
from companion.box.layout import load_box
from companion.cli.main import main
from companion.places import shipped

BOOK = str(shipped("demo_tunes", "tanners_quay.abc"))
SCHEMAS = Path(companion.__file__).parent / "cli" / "schemas"


def printed(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, Any]:
    """What a command prints, checked against the schema that it names."""
    assert main(arguments) == 0
    report: dict[str, Any] = json.loads(capsys.readouterr().out)
    name = report["schema"].removeprefix("companion.").removesuffix("/1")
    schema = json.loads((SCHEMAS / f"{name}.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(report)
    return report


@pytest.fixture
def take(tmp_path: Path) -> str:
    """The first demo tune, as the program itself would play it, on file."""
    out = tmp_path / "take.mid"
    assert main(["render", BOOK, "--no-click", "--tempo", "80", "-o", str(out)]) == 0
    return str(out)


def test_tunes(capsys: pytest.CaptureFixture[str]) -> None:
    report = printed(capsys, "tunes", BOOK, "--json", "--notes")
    assert [tune["number"] for tune in report["tunes"]] == [1, 2, 3, 4, 5]
    polka = report["tunes"][0]
    assert polka["form"] == "AABB"
    assert polka["bars"] == 16
    assert polka["notes"][0] == {
        "bar": 1, "onset": "0", "length": "1/4", "pitch": 69, "ornaments": [], "grace": [], "chord": "D",
    }  # fmt: skip
    assert len(polka["unfolded"]) == 2 * len(polka["notes"])
    assert "notes" not in printed(capsys, "tunes", BOOK, "--json")["tunes"][0]


def test_one_bad_tune_does_not_cost_the_others(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    book = tmp_path / "mixed.abc"
    book.write_text("X:1\nT:Nothing\nK:D\n\nX:2\nT:Something\nM:2/4\nL:1/8\nK:D\nA2FA|\n", encoding="utf-8")
    report = printed(capsys, "tunes", str(book), "--json", "--notes")
    assert [len(tune["notes"]) for tune in report["tunes"]] == [0, 3]
    assert [problem["severity"] for problem in report["tunes"][0]["problems"]] == ["error"]
    assert report["tunes"][0]["unfolded"] == []
    assert report["tunes"][1]["unfolded"] == [0, 1, 2]


@pytest.mark.parametrize("number", range(1, 6))
def test_buttons_sound_what_is_asked(capsys: pytest.CaptureFixture[str], number: int) -> None:
    report = printed(capsys, "buttons", BOOK, "--tune", str(number), "--json")
    box = load_box("bc-21")
    assert report["playable"]
    at = Fraction(0)
    for before, note in zip([None, *report["notes"]], report["notes"], strict=False):
        assert box.pitch(Press(note["row"], note["button"], Bellows(note["bellows"]))) == note["pitch"]
        assert Fraction(note["at"]) >= at
        at = Fraction(note["at"])
        assert note["reach"] == (0 if before is None else note["place"] - before["place"])
    turns = [a["bellows"] != b["bellows"] for a, b in zip(report["notes"], report["notes"][1:], strict=False)]
    assert report["reversals"] == sum(turns)
    assert report["reaches"] == sum(note["reach"] != 0 for note in report["notes"])


def test_pieces(capsys: pytest.CaptureFixture[str]) -> None:
    report = printed(capsys, "pieces", BOOK, "--json")
    names = [piece["name"] for piece in report["pieces"]]
    assert len(names) == len(set(names))
    assert all(piece["same_as"] in (None, *names) for piece in report["pieces"])


def test_a_take_of_our_own_is_marked_right(capsys: pytest.CaptureFixture[str], take: str) -> None:
    capsys.readouterr()
    for more in ((), ("--tempo", "80"), ("--no-clock",)):
        report = printed(capsys, "mark", BOOK, take, "--json", *more)
        assert report["clean"]
        assert {note["verdict"] for note in report["notes"]} == {"right"}
        assert report["tempo"]["played"] == pytest.approx(80, abs=0.5)
        assert report["tempo"]["asked"] == (80 if more[:1] == ("--tempo",) else None)


def test_ports_and_check(capsys: pytest.CaptureFixture[str]) -> None:
    assert printed(capsys, "ports", "--json")["problem"] != ""
    assert printed(capsys, "check", "--json")["version"] == companion.__version__


@pytest.mark.parametrize("ending", ["wav", "flac", "ogg", "mid"])
def test_render_writes_what_its_ending_says(tmp_path: Path, ending: str) -> None:
    out = tmp_path / f"slow.{ending}"
    piece = ["--piece", "A phrase 1", "--rounds", "2", "--count-in", "1"]
    assert main(["render", BOOK, "--tempo", "60%", *piece, "-o", str(out)]) == 0
    starts = {"wav": b"RIFF", "flac": b"fLaC", "ogg": b"OggS", "mid": b"MThd"}
    assert out.read_bytes()[:4] == starts[ending]
    assert list(tmp_path.iterdir()) == [out]


@pytest.mark.parametrize("command", [("tunes",), ("buttons",), ("pieces",)])
def test_people_get_tables(capsys: pytest.CaptureFixture[str], command: tuple[str, ...]) -> None:
    assert main([*command, BOOK]) == 0
    assert "The Lamp on Tanner's Quay" in capsys.readouterr().out
