"""Books: what a file of tunes gives, and the one sentence for a file that is none."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.errors import UserError
from companion.notation import read_book, read_tune
from companion.notation.abc_reader import read_abc
from companion.tune.unfold import unfold

TWO = "X:1\nT:One\nM:6/8\nK:D\nDFA|]\n\nfree text\n\nX:7\nT:Two\nK:G\nGBd|]\n"


def test_a_book_has_its_tunes_in_order(tmp_path: Path) -> None:
    path = tmp_path / "book.abc"
    path.write_text(TWO, encoding="utf-8")
    book = read_book(path)
    assert [(t.number, t.title) for t in book.tunes] == [(1, "One"), (7, "Two")]
    assert book.tune(None).number == 1
    assert book.tune(7).title == "Two"


def test_a_tune_that_is_not_there_lists_those_that_are() -> None:
    with pytest.raises(UserError, match="There is no tune 3 in this book; it has 1, 7"):
        read_abc(TWO).tune(3)


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "empty"),
        (b"  \n\n", "empty"),
        (b"X:1\nK:C\nCDE\0FG|\n", "not a text file"),
        (b"Dear all,\nhere are no tunes.\n", "There is no tune here"),
    ],
)
def test_what_is_no_book_is_said_in_one_sentence(tmp_path: Path, data: bytes, sentence: str) -> None:
    path = tmp_path / "book.abc"
    path.write_bytes(data)
    with pytest.raises(UserError, match=sentence) as caught:
        read_book(path)
    assert caught.value.place is not None
    assert caught.value.place.file == path


def test_no_such_file_and_a_folder(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="no such file"):
        read_book(tmp_path / "none.abc")
    with pytest.raises(UserError, match="folder"):
        read_book(tmp_path)


def test_a_file_that_is_too_large_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "huge.abc"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    with pytest.raises(UserError, match="larger than 10 MB"):
        read_book(path)


def test_a_tune_without_notes_is_an_error_and_cannot_be_played() -> None:
    book = read_abc("X:1\nT:Silent\nK:C\nz4|]\n\nX:2\nT:Sounding\nK:C\nC4|]\n")
    silent, sounding = book.tunes
    assert [p.message for p in silent.errors] == ["The tune has no notes."]
    with pytest.raises(UserError, match="“Silent” cannot be played: The tune has no notes"):
        unfold(silent)
    assert len(unfold(sounding).notes) == 1


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize(
    "text",
    [
        "X:1\nT:a\nK:D\nABc|\n\nX:2\nT:b\nK:G\nBcd ?|\n\nX:10\nT:c\nK:D\nabc|\n",
        "M:6/8\nC:somebody\n\nX:1\nT:a\nK:D\nABc|\nX:2\nT:b\nK:G\nBcd #|\n\nfree text\n\nX: 10\nT:c\nK:D\nabc|\n",
        "%%begintext\nX:2\n%%endtext\n\nX:1\nK:D\nABc|\n\nX:2\nT:b\nK:G\nBcd|\n\nX:10\nK:C\nC|\n",
        "X:\nT:a\nK:D\nABc|\n\nX:2\nT:b\nK:G\nBcd|\n\nX:10\nK:C\nC|\n",
        "X:1\nK:D\nABc|\n\nX:2\nK:G\nBcd|\nX:4\nK:D\nA|\n\nX:5\nK:G\nGB|\nX:4\nK:C\nC|\nX:4\nK:D\nd|\nX:10\nK:C\nC|\n",
        "X:1\nK:D\nABc|\n\nX:4\nK:D\nA|\n\nX:2\nK:D\nABc|\n\n X:4\nK:C\nC|\n\nX:04\nK:C\nE|\n\nX:10\nK:C\nC|\n",
    ],
)
def test_one_tune_is_read_as_it_is_in_its_book(tmp_path: Path, text: str, ending: str) -> None:
    path = tmp_path / "book.abc"
    path.write_bytes(text.replace("\n", ending).encode())
    book = read_book(path)
    for number in (None, 1, 2, 10):
        assert read_tune(path, number) == book.tune(number)
    for tune in book.tunes:
        assert read_tune(path, tune.name) == tune
    listed = ", ".join(tune.name for tune in book.tunes)
    assert {"1", "2", "10"} <= set(listed.split(", "))
    with pytest.raises(UserError, match=f"no tune 7 in this book; it has {listed}"):
        read_tune(path, 7)
    with pytest.raises(UserError, match=rf"no tune 2\.2 in this book; it has {listed}"):
        read_tune(path, "2.2")


TWICE = "X:3\nT:Reel A\nK:D\nDFA|]\n\nX:4\nT:Other\nK:D\nA|]\n\nX:3\nT:Reel B\nK:G\nGBd|]\n\nX:3\nK:C\nCEG|]\n"


def test_two_tunes_of_one_number_are_told_apart() -> None:
    book = read_abc(TWICE)
    assert [tune.name for tune in book.tunes] == ["3.1", "4", "3.2", "3.3"]
    assert [book.tune(name).title for name in ("3.1", "3.2", "3.3", 4, "4.1")] == [
        "Reel A", "Reel B", "", "Other", "Other",
    ]  # fmt: skip
    with pytest.raises(UserError, match=r"3 tunes .* number 3; .*: 3\.1 “Reel A”, 3\.2 “Reel B”, 3\.3 without a title"):
        book.tune(3)
    problems = [(p.line, p.column, p.severity, p.message) for tune in book.tunes for p in tune.problems]
    assert problems == [
        (line, 3, "warning", "Line 1 has a tune 3 already; give this one a number of its own.") for line in (11, 16)
    ]


def test_the_name_of_the_first_holds_when_another_comes_or_goes() -> None:
    alone = read_abc(TWICE[: TWICE.rindex("X:4")])
    assert alone.tune("3.1").title == alone.tune("3").title == read_abc(TWICE).tune("3.1").title
