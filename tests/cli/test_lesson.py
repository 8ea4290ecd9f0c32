"""`companion lesson`: the computed lesson as a file to start from, which says the same when it is used."""

from __future__ import annotations

import shutil
import tomllib
from pathlib import Path

import pytest

from companion.cli.main import main
from companion.cli.ready_tune import open_tune
from companion.places import shipped


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return Path(shutil.copy(shipped("demo_tunes", "tanners_quay.abc"), tmp_path / "quay.abc"))


@pytest.mark.parametrize("tune", [1, 2, 3, 4, 5])
def test_the_computed_lesson_used_as_it_is_changes_nothing(book: Path, tune: int) -> None:
    before = open_tune(str(book), tune, "bc-21")
    assert main(["lesson", str(book), "--tune", str(tune), "--box", "bc-21", "--write"]) == 0
    after = open_tune(str(book), tune, "bc-21")
    assert after.tutor.order == tuple(piece.name for piece in before.lesson.pieces)
    assert after.lesson.pieces == before.lesson.pieces
    assert after.pieces == before.pieces
    assert after.target == before.target


def test_it_prints_what_it_would_write(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["lesson", str(book)]) == 0
    printed = capsys.readouterr().out
    assert tomllib.loads(printed)["lesson"][0]["tune"] == 1
    assert main(["lesson", str(book), "-o", str(book.with_name("mine.toml"))]) == 0
    assert book.with_name("mine.toml").read_text(encoding="utf-8") == printed


def test_lessons_of_several_tunes_stand_in_one_file_and_none_is_written_over(
    book: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for tune in ("1", "3"):
        assert main(["lesson", str(book), "--tune", tune, "--write"]) == 0
    file = book.with_name("quay.lesson.toml")
    before = file.read_bytes()
    assert [one["tune"] for one in tomllib.loads(before.decode())["lesson"]] == [1, 3]
    capsys.readouterr()
    assert main(["lesson", str(book), "--tune", "3", "--write"]) == 2
    assert "has a lesson for tune 3 already" in capsys.readouterr().err
    assert main(["lesson", str(book), "--tune", "2", "-o", str(file)]) == 2
    assert "exists already" in capsys.readouterr().err
    assert file.read_bytes() == before


def test_pins_may_stand_in_it(book: Path) -> None:
    usual = open_tune(str(book), 1, "bc-21").fingering.notes
    written = usual[4].note.written
    bar = usual[4].note.bar
    in_bar = [one.note.written for one in usual if one.note.bar == bar and one.note.part == usual[4].note.part]
    finger = 1 if usual[4].finger != 1 else 2
    text = f"[[pins]]\ntune = 1\nbar = {bar}\nnote = {in_bar.index(written) + 1}\nfinger = {finger}\n"
    book.with_name("quay.lesson.toml").write_text(text, encoding="utf-8")
    pinned = open_tune(str(book), 1, "bc-21").fingering
    assert pinned.notes[4].finger == finger or pinned.refused


def test_a_piece_that_is_not_there_is_said_by_every_command(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book.with_name("quay.lesson.toml").write_text('[[lesson]]\ntune = 1\norder = ["A bar 99"]\n', encoding="utf-8")
    for command in ("pieces", "lesson", "practise"):
        assert main([command, str(book), "--tune", "1"]) == 2
        said = capsys.readouterr()
        assert "quay.lesson.toml:3:" in said.err
        assert "no piece “A bar 99”" in said.err
        assert said.out == ""
