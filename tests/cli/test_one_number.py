"""Two tunes of one number in a book: both are listed, named, ranked, taught and remembered."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.cli.main import main
from companion.cli.ready_tune import open_set, open_tune
from companion.errors import UserError
from companion.notation import read_book
from companion.pages.shelf import Shelf, TunePast, TunePlace
from companion.store.record import fingerprint, open_record
from companion.tune.unfold import unfold
from tests.cli.test_reports import printed

BOOK = """X:3
T:Lamp Reel
M:4/4
L:1/8
K:D
DFAF DFAF|G2BG A2FD|

X:4
T:Rope Reel
M:4/4
L:1/8
K:G
GBdB GBdB|

X:3
T:Kelp Reel
M:4/4
L:1/8
K:D
dfaf dfaf|

X:3
T:Kelp Reel
M:4/4
L:1/8
K:G
B2dB G2|
"""
NOTES = {"3.1": 14, "4": 8, "3.2": 8, "3.3": 4}


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "book.abc"
    path.write_text(BOOK, encoding="utf-8")
    return path


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main([*arguments]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    return said


def test_each_is_reached_by_number_and_by_title(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name, count in NOTES.items():
        assert len(printed(capsys, "buttons", str(book), "--tune", name, "--json")["notes"]) == count
    assert len(printed(capsys, "buttons", str(book), "--tune", "lamp", "--json")["notes"]) == NOTES["3.1"]
    said = refused(capsys, "buttons", str(book), "--tune", "3")
    assert "3.1 “Lamp Reel”, 3.2 “Kelp Reel”, 3.3 “Kelp Reel”" in said
    assert "(3.2 “Kelp Reel”, 3.3 “Kelp Reel”)" in refused(capsys, "buttons", str(book), "--tune", "kelp")
    assert "no tune 3.4" in refused(capsys, "buttons", str(book), "--tune", "3.4")


def test_a_set_names_them_too(book: Path) -> None:
    def notes(*then: str) -> int:
        return len(open_set(str(book), "4", then, "bc-21").round.notes) - NOTES["4"]

    assert notes("3.2") == NOTES["3.2"]
    assert notes("lamp", f"{book}:3.3") == NOTES["3.1"] + NOTES["3.3"]
    assert notes(f"{book}:lamp reel") == NOTES["3.1"]
    with pytest.raises(UserError, match="3 tunes of this book have the number 3"):
        notes("3")
    with pytest.raises(UserError, match="several tunes match “kelp”"):
        notes("kelp")


def test_they_are_listed_and_ranked_one_by_one(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for command in ("tunes", "choose"):
        tunes = printed(capsys, command, str(book), "--json")["tunes"]
        named = sorted((tune["number"], tune.get("name")) for tune in tunes if tune["number"] == 3)
        assert named == [(3, "3.1"), (3, "3.2"), (3, "3.3")]
        assert [tune.get("name") for tune in tunes if tune["number"] == 4] == [None]
        assert main([command, str(book)]) == 0
        assert "3.2   Kelp Reel" in capsys.readouterr().out
    kelp = open_tune(str(book), "3.2", "bc-21").round
    (alone,) = printed(capsys, "choose", str(book), "--title", "lamp", "--json")["tunes"]
    assert alone["name"] == "3.1"
    assert len(kelp.notes) == NOTES["3.2"]


@pytest.mark.parametrize("kind", ["lesson", "pins"])
def test_a_tutors_files_name_them(book: Path, kind: str, capsys: pytest.CaptureFixture[str]) -> None:
    beside = book.with_suffix(f".{kind}.toml")
    says = {"lesson": "target = 77", "pins": "bar = 1\nnote = 1\nfinger = 4"}[kind]

    def heeded(name: str) -> bool:
        opened = open_tune(str(book), name, "bc-21")
        return opened.tutor.target == 77 if kind == "lesson" else opened.fingering.notes[0].finger == 4

    beside.write_text(f'# first\n[[{kind}]]\ntune = "3.2"\n{says}\n', encoding="utf-8")
    assert [name for name in NOTES if heeded(name)] == ["3.2"]
    beside.write_text(f"# first\n[[{kind}]]\ntune = 3\n{says}\n", encoding="utf-8")
    assert not heeded("4")
    said = refused(capsys, "pieces", str(book), "--tune", "3.2")
    assert f'{beside}:3:1: several tunes of the book have the number 3; write tune = "3.1" for the first' in said
    beside.write_text(f"# first\n[[{kind}]]\ntune = 3.2\n{says}\n", encoding="utf-8")
    assert f"{beside}:3:1: `tune` must be" in refused(capsys, "pieces", str(book), "--tune", "3.2")


def test_a_lesson_that_is_written_is_that_tunes(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("3.2", "3.3"):
        assert main(["lesson", str(book), "--tune", name, "--write"]) == 0
    assert "a lesson for tune 3.2 already" in refused(capsys, "lesson", str(book), "--tune", "3.2", "--write")
    text = book.with_suffix(".lesson.toml").read_text(encoding="utf-8")
    assert [line for line in text.splitlines() if line.startswith("tune")] == ['tune = "3.2"', 'tune = "3.3"']
    assert open_tune(str(book), "3.3", "bc-21").tutor.order


def test_the_chooser_has_all_of_them_and_the_record_keeps_them_apart(book: Path, tmp_path: Path) -> None:
    tunes = read_book(book).tunes
    prints = {tune.name: fingerprint(unfold(tune)) for tune in tunes}
    record = open_record(tmp_path / "record.sqlite3")
    numbers = {record.tune(unfold(tune), tune.title, "reel") for tune in tunes}
    record.close()
    assert len(numbers) == len(tunes)
    shelf = Shelf([book], "bc-21", lambda _box: {prints["3.2"]: TunePast(-2)})
    for tune in tunes:
        shelf.learn(book, tune, unfold(tune))
    assert {name: shelf.placed(print_) for name, print_ in prints.items()} == {
        name: TunePlace(book, name) for name in prints
    }
    rows = shelf.rows()
    shelf.close()
    assert [row.title for row in rows] == ["Lamp Reel (3.1)", "Rope Reel", "Kelp Reel (3.2)", "Kelp Reel (3.3)"]
    assert [row.due for row in rows] == [None, None, -2, None]
    assert len({row.id for row in rows}) == len(rows)


def test_a_changed_book_keeps_what_is_remembered(book: Path) -> None:
    """The record knows a tune by its notes: neither its number nor its place in the book."""
    before = {tune.title: fingerprint(unfold(tune)) for tune in read_book(book).tunes[:3]}
    first, rest = BOOK.split("X:4", 1)
    book.write_text("X:4" + rest + "\n" + first, encoding="utf-8")
    after = read_book(book)
    assert fingerprint(unfold(after.tune("3.3"))) == before["Lamp Reel"]
    assert fingerprint(unfold(after.tune("3.1"))) == before["Kelp Reel"]


def test_weights_of_a_set_are_not_taken_for_its_first_tunes(book: Path) -> None:
    from types import SimpleNamespace
    from typing import Any

    from companion.pages.choosing import NextTune
    from companion.pages.pages import Pages

    learnt: list[str] = []
    shelf: Any = SimpleNamespace(now_on=lambda _box: None, learn=lambda _book, tune, _round: learnt.append(tune.name))
    nothing: Any = None  # no window, and no words
    pages = Pages(nothing, nothing, shelf=shelf)
    opened = open_set(str(book), "4", ["3.2"], "bc-21")
    pages.take_up(NextTune(book, "4", "bc-21", ("3.2",)), opened.tune, opened.round)
    assert learnt == []
    pages.take_up(NextTune(book, "4", "bc-21"), opened.tune, opened.round)
    assert learnt == ["4"]
