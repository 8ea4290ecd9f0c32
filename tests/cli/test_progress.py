"""`companion progress` and `companion record`: tables, JSON and plots, and the way out and in."""

from __future__ import annotations

import os
import subprocess
import sys
import xml.etree.ElementTree as ET
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from companion.cli.main import main
from companion.lesson.review import WholeRound
from companion.pages.practised import cause_in_words, weeks
from companion.places import own_data
from companion.store.record import FILE, here, open_record
from tests.cli.test_reports import printed
from tests.shipped_tables import TABLES
from tests.store.made import OTHER, ROUND, WoundClock, kept


@pytest.fixture
def practised() -> datetime:
    """A player who practised two tunes for eleven days until yesterday, one of them now in review."""
    now = here()
    clock = WoundClock(now - timedelta(days=11))
    record = open_record(own_data() / FILE, clock)
    first = record.tune(ROUND, "The $5 Net Loft", "jig", target=112.0)
    other = record.tune(OTHER, "The Ferry Loft", "reel")
    for day in range(11):
        sitting = record.begin(first if day % 2 else other, "bc-21")
        for number, piece in enumerate(("A bar 1", "A part", "round")):
            clock.on(seconds=40)
            wrong = {"n1": "other-row"} if number == 1 else {}
            record.keep(sitting, kept(piece, clean=not wrong, bpm=60.0 + 4 * day, **wrong), {})
        clock.on(days=1, seconds=-120)
    record.review(first, "bc-21", [WholeRound(0.9, True)], now - timedelta(days=5), TABLES.memory)
    record.begin(other, "d-10")
    record.close()
    return now


def png_size(path: Path) -> tuple[int, int]:
    data = path.read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    return int.from_bytes(data[16:20], "big"), int.from_bytes(data[20:24], "big")


@pytest.mark.usefixtures("practised")
def test_json_of_all_and_of_one(capsys: pytest.CaptureFixture[str]) -> None:
    everything = printed(capsys, "progress", "--json")
    assert everything["box"] == "bc-21"
    assert [tune["title"] for tune in everything["tunes"]] == ["The $5 Net Loft", "The Ferry Loft"]
    assert sum(week["days"] for week in everything["weeks"]) == 11
    assert sum(week["minutes"] for week in everything["weeks"]) == pytest.approx(22, abs=0.5)
    due = everything["tunes"][0]["due"]
    assert due is not None
    assert due["days"] == -3  # good at first: two days
    assert everything["tunes"][1]["due"] is None
    assert everything["tunes"][0]["pieces"] == {"practised": 3, "learnt": 2}
    assert everything["tunes"][1]["bars"] == {"begun": 2, "known": 2, "all": 2}
    one = printed(capsys, "progress", "ferry", "--json")["tunes"]
    assert [piece["name"] for piece in one[0]["by_piece"]] == ["A bar 1", "A part", "round"]
    assert one[0]["best"] == 100.0
    assert one[0]["mistakes"] == {"other-row": 6}
    assert [(bar["name"], bar["mistaken"]) for bar in one[0]["by_bar"]] == [("A bar 1", 6), ("A bar 2", 0)]
    assert len(one[0]["by_day"]) == 18
    by_print = printed(capsys, "progress", one[0]["print"][:10], "--json")["tunes"]
    assert [tune["title"] for tune in by_print] == ["The Ferry Loft"]


@pytest.mark.usefixtures("practised")
def test_tables(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["progress"]) == 0
    said = capsys.readouterr().out
    assert "2 tunes, 1 of them in review, 1 due now." in said
    assert "3 days late" in said
    assert "96 of 112" in said
    assert said.count(" of 112") == 1
    assert "11 days practised in all" in said
    assert main(["progress", "net loft"]) == 0
    said = capsys.readouterr().out
    assert "other row" in said
    assert "3 pieces begun, 2 of them once clean in time" in said
    assert "Review: 3 days late" in said
    assert main(["progress", "loft"]) == 0
    said = capsys.readouterr().out
    assert "The Ferry Loft" in said
    assert "Name one to see" in said


def test_places_taken_out_of_a_bar_are_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    record = open_record(own_data() / FILE)
    sitting = record.begin(record.tune(OTHER, "The Ferry Loft", "reel"), "bc-21")
    places = ("A bar 1, around note 2", "A bar 1, around note 5", "A bar 2, around note 1")
    for number, piece in enumerate(("A bar 1", *places)):
        record.keep(sitting, kept(piece, clean=number != 2, bpm=60.0 + number), {})
    record.close()
    assert main(["progress", "ferry"]) == 0
    rows = [line.split() for line in capsys.readouterr().out.splitlines() if line.startswith(" A bar")]
    assert [" ".join(row) for row in rows[:3]] == [
        f"{name} {said} {here():%Y-%m-%d} {here():%Y-%m-%d}"
        for name, said in (
            ("A bar 1", "1 1 60"),
            ("A bar 1, 2 places in it", "2 1 61"),
            ("A bar 2, around note 1", "1 1 63"),
        )
    ]


@pytest.mark.usefixtures("practised")
@pytest.mark.parametrize("tune", [[], ["net loft"]])
@pytest.mark.parametrize("theme", ["light", "dark", "high-contrast"])
def test_plots(capsys: pytest.CaptureFixture[str], tmp_path: Path, tune: list[str], theme: str) -> None:
    picture, drawing = tmp_path / "progress.png", tmp_path / "progress.svg"
    for out in (picture, drawing):
        assert main(["progress", *tune, "-o", str(out), "--theme", theme]) == 0
        assert str(out) in capsys.readouterr().out
    width, height = png_size(picture)
    assert width == 1500
    assert height > 700
    words = ["".join(one.itertext()) for one in ET.parse(drawing).getroot().iter("{http://www.w3.org/2000/svg}text")]
    text = " ".join(words)
    assert "Days practised" in text
    if tune:
        assert "The $5 Net Loft" in text
        assert "Best clean tempo" in text
        assert {"A 1", "A 2", "B 1", "B 2"} <= set(words)
    else:
        assert "When tunes come back" in text
        assert "3 days late" in text
    assert sorted(one.name for one in tmp_path.iterdir()) == ["progress.png", "progress.svg"]


def test_plots_of_a_first_day(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    record = open_record()
    tune = record.tune(ROUND, "The Net Loft", "jig")
    record.keep(record.begin(tune, "bc-21"), kept(bpm=None), {})
    record.close()
    for asked in ([], ["net"]):
        assert main(["progress", *asked, "-o", str(tmp_path / "first.svg")]) == 0
        text = (tmp_path / "first.svg").read_text(encoding="utf-8")
        assert ("No clean round in time yet." if asked else "No tune is in review yet.") in text
        assert main(["progress", *asked]) == 0
    assert "Not in review yet" in capsys.readouterr().out


def test_nothing_practised_yet(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main(["progress"]) == 0
    assert "Nothing practised yet" in capsys.readouterr().out
    report = printed(capsys, "progress", "--json")
    assert (report["box"], report["weeks"], report["tunes"]) == ("", [], [])
    assert not (own_data() / FILE).exists()
    for bad in (
        ["progress", "-o", str(tmp_path / "x.png")],
        ["progress", "net"],
        ["record", "export", str(tmp_path / "x")],
    ):
        assert main(bad) == 2
        assert "you have not practised yet" in capsys.readouterr().err
    assert list(tmp_path.glob("x*")) == []


@pytest.mark.usefixtures("practised")
@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["progress", "no such tune"], "no tune practised on bc-21 matches “no such tune”"),
        (["progress", ""], "matches"),
        (["progress", "loft", "-o", "loft.png"], "several tunes match"),
        (["progress", "-o", "progress.pdf"], ".png or .svg"),
        (["progress", "-o", "nowhere/progress.png"], "no folder"),
        (["progress", "--theme", "mud", "-o", "x.png"], "no theme"),
        (["progress", "--box", "no-such-box"], "no-such-box"),
        (["record"], "export, import or rescue"),
        (["record", "export", "nowhere/x.jsonl"], "no folder"),
        (["record", "import", "nowhere.jsonl"], "no such file"),
    ],
)
def test_bad_input_is_one_sentence(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, arguments: list[str], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(arguments) == 2
    complaint = capsys.readouterr().err
    assert said in complaint
    assert complaint.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


@pytest.mark.usefixtures("practised")
def test_out_and_in_again(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    out = tmp_path / "mine.jsonl"
    assert main(["record", "export", str(out)]) == 0
    assert main(["record", "import", str(out)]) == 0
    assert "has all of it already" in capsys.readouterr().out
    before = printed(capsys, "progress", "--json")
    monkeypatch.setenv("BOX_COMPANION_DATA", str(tmp_path / "other"))
    assert main(["record", "import", str(out)]) == 0
    assert "2 tunes, 12 sittings, 33 rounds, 1 reviews" in capsys.readouterr().out
    assert printed(capsys, "progress", "--json") == before
    assert main(["record", "export", str(tmp_path / "again.jsonl")]) == 0
    assert (tmp_path / "again.jsonl").read_bytes() == out.read_bytes()
    bad = tmp_path / "bad.jsonl"
    bad.write_bytes(out.read_bytes().replace(b'"clean":true', b'"clean":maybe', 1))
    capsys.readouterr()
    assert main(["record", "import", str(bad)]) == 2
    line = bad.read_bytes().splitlines()
    number = next(n for n, one in enumerate(line, 1) if b"maybe" in one)
    assert f"{bad}:{number}:{line[number - 1].index(b'maybe') + 1}: this is not JSON" in capsys.readouterr().err


@pytest.mark.usefixtures("practised")
def test_a_damaged_record_is_named_by_check(capsys: pytest.CaptureFixture[str]) -> None:
    assert printed(capsys, "check", "--json")["record"]["problem"] is None
    path = own_data() / FILE
    with path.open("r+b") as file:
        file.seek(8192)
        file.write(os.urandom(40_000))
    assert "damaged" in printed(capsys, "check", "--json")["record"]["problem"]
    assert main(["progress"]) == 0
    assert "set aside" in capsys.readouterr().out


def test_nothing_heavy_is_loaded_before_it_is_needed() -> None:
    heavy = ("matplotlib", "numpy", "music21", "pygame")
    code = f"import sys, companion.cli.progress_command; print([name for name in {heavy} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_words() -> None:
    assert cause_in_words("other-row+other-direction") == "other row or other direction"
    assert weeks({}) == ()
