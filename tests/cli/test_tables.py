"""What the commands print for people: places as on the sheet, notes as the key calls them, nothing twice."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import pytest

from companion.cli.bar_places import beats_of
from companion.cli.main import main
from companion.notation import read_tune
from companion.tune.unfold import unfold

# Two parts with a pick-up, in a key with flats, in compound time.
FLAT = """X:1
T:The Cold Slip
R:jig
M:6/8
L:1/8
K:Gm
D|G2A B>cd|cBA G2D|G2A B2c|A^FD G2:|
|:d|g2f d2c|BAG A2d|g2f d2B|A^FD G2:|
"""


@pytest.fixture
def book(tmp_path: Path) -> str:
    path = tmp_path / "slip.abc"
    path.write_text(FLAT, encoding="utf-8")
    return str(path)


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(arguments) == 0
    return capsys.readouterr().out


def test_a_place_is_told_in_beats_of_its_bar(book: str) -> None:
    beats = beats_of(unfold(read_tune(Path(book), 1)), Fraction(3, 8))
    assert beats[:7] == ("2⅔", "1", "1⅔", "2", "2½", "2⅔", "1")
    in_crotchets = beats_of(unfold(read_tune(Path(book), 1)), Fraction(1, 4))
    assert in_crotchets[:6] == ("3½", "1", "2", "2½", "3¼", "3½")


def test_buttons_are_told_once_and_by_the_names_of_the_key(book: str, capsys: pytest.CaptureFixture[str]) -> None:
    table = said(capsys, "buttons", book)
    assert "B♭4" in table
    assert "F♯4" in table
    assert "A♯" not in table
    for part in "AB":
        again = next(line for line in table.splitlines() if line.startswith(f"{part} part, time 2: the same as time 1"))
        rows = [line for line in table.splitlines() if re.match(rf" *{part} part, bar +\d+, time 2", line)]
        assert bool(rows) == ("except" in again)


def test_the_left_hand_is_told_in_beats_and_once(book: str, capsys: pytest.CaptureFixture[str]) -> None:
    table = said(capsys, "basses", book)
    assert "/" not in table.replace("B/C", "")
    bar = [line.split()[2:] for line in table.splitlines() if re.match(r" *A part, bar +2 ", line)]
    signs = {"½": Fraction(1, 2), "⅓": Fraction(1, 3), "⅔": Fraction(2, 3)}
    at = [sum(signs[one] if one in signs else Fraction(one) for one in row[2]) for row in bar]
    long = [sum(signs[one] if one in signs else Fraction(one) for one in row[3]) for row in bar]
    # Two dotted crotchets a bar: one stretch begins where the one before it ends.
    assert at[0] == 1
    assert [start + length for start, length in zip(at, long, strict=True)] == [*at[1:], 3]
    rows = [line for line in table.splitlines() if re.match(r" *A part, bar +\d+, time 2", line)]
    again = next(line for line in table.splitlines() if line.startswith("A part, time 2: the same as time 1"))
    assert bool(rows) == ("except" in again)


def test_what_saves_air_is_told_where_it_lies_and_once(book: str, capsys: pytest.CaptureFixture[str]) -> None:
    table = said(capsys, "bellows", book)
    assert "1 times" not in table
    tips = [line for line in table.splitlines() if line.startswith("To save air")]
    assert len(tips) == len(set(tips)) <= 4
    assert all(", beat " in tip for tip in tips)
    assert not tips or "You don't need the air button" not in table


def test_written_grace_notes_are_no_lack_of_ornaments(
    book: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "no ornament is marked" in said(capsys, "ornaments", book)
    graced = tmp_path / "graced.abc"
    graced.write_text(FLAT.replace("|cBA", "|{d}cBA"), encoding="utf-8")
    assert "only grace notes are written, the first in bar 2" in said(capsys, "ornaments", str(graced))
