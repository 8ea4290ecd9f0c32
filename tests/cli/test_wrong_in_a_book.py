"""What is wrong in a book: how much in each tune, and each problem by its place where that is asked for."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.cli.main import main

TUNES = 30
BOOK = "U: z = nothing\n\n" + "\n".join(
    f"X:{n}\nT:Tune {n}\nM:6/8\nL:1/8\nK:D\n{'DFA ?DFA|DFA #DF|' * (n % 3)}DFA DFA|\n" for n in range(1, TUNES + 1)
)
WRONG = (0, 3, 6)  # in a tune, by its number modulo three: two characters and a short bar each time


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "book.abc"
    path.write_text(BOOK, encoding="utf-8")
    return path


def listed(capsys: pytest.CaptureFixture[str], *arguments: str) -> list[str]:
    assert main(["tunes", *arguments]) == 0
    return capsys.readouterr().out.splitlines()


def test_each_tune_is_one_line_with_how_much_is_wrong(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = listed(capsys, str(book))
    for n in range(1, TUNES + 1):
        (row,) = [line for line in lines if f" Tune {n} " in line]
        assert row.rstrip().endswith(f"{WRONG[n % 3]} warnings") == (n % 3 > 0)
    assert not [line for line in lines if ": warning:" in line]
    assert f"`companion tunes {book} --problems`" in lines[-1]
    assert len(lines) < TUNES + 8


def test_the_details_have_their_places_and_the_path_once(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = listed(capsys, str(book), "--problems")
    details = [line for line in lines if "warning: " in line and " book" not in line]
    assert sum("says nothing here" in line or "too short" in line for line in details) == sum(
        WRONG[n % 3] for n in range(1, TUNES + 1)
    )
    assert "8:5: warning: “?” says nothing here; it is left out." in details
    assert sum(f"{book}:" in line for line in lines) == 1


def test_of_one_tune_the_details_come_by_themselves(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for asked in (("--tune", "2"), ("--tune", "tune 2"), ("--title", "tune 2 ", "--problems")):
        lines = listed(capsys, str(book), *asked)
        assert "15:5: warning: “?” says nothing here; it is left out." in lines
    assert sum(": warning:" in line for line in listed(capsys, str(book), "--tune", "2")) == WRONG[2]
    assert main(["tunes", str(book), "--tune", "99"]) == 2
    assert "no tune 99" in capsys.readouterr().err


def test_a_book_with_nothing_wrong_says_nothing_of_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "good.abc"
    path.write_text("X:1\nT:a\nK:D\nDFA|]\n\nX:2\nT:b\nK:D\nDFA|]\n", encoding="utf-8")
    assert "problems" not in "".join(listed(capsys, str(path), "--problems"))
