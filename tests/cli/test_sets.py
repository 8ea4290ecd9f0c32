"""Tunes in a set, as `companion practise --then` opens them."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from companion.cli.main import main
from companion.cli.ready_tune import open_set
from companion.errors import UserError
from companion.lesson.lesson_values import Kind
from companion.places import shipped
from companion.tune.sets import number_in_set

BOOK = str(shipped("demo_tunes", "tanners_quay.abc"))


def test_what_is_learnt_is_where_one_tune_leads_into_the_next_and_the_whole() -> None:
    opened = open_set(BOOK, 3, ["4", "3"], "bc-21")
    names = [piece.name for piece in opened.lesson.pieces]
    assert names[:3] == ["1B into 2A", "2B into 3A", "3B back into 1A"]
    assert names[3] == "round"
    assert all(piece.kind in (Kind.JOIN, Kind.ROUND, Kind.ROUNDS) for piece in opened.lesson.pieces)
    assert opened.tune.title == "The Thursday Ferry / The Clerk of the Weighbridge / The Thursday Ferry"


def test_each_tune_has_its_own_key() -> None:
    opened = open_set(BOOK, 3, ["4"], "bc-21")
    ((first, key),) = opened.later
    assert number_in_set(opened.round.notes[first]) == 2
    assert number_in_set(opened.round.notes[first - 1]) == 1
    assert key.text != opened.tune.key.text


def test_pins_hold_in_a_set(tmp_path: Path) -> None:
    book = Path(shutil.copy(BOOK, tmp_path / "quay.abc"))
    plain = open_set(str(book), 3, ["4"], "bc-21")
    first = plain.later[0][0]
    at = next(i for i in range(first, len(plain.round.notes)) if plain.round.notes[i].bar == 2)
    finger = 1 if plain.fingering.notes[at].finger != 1 else 2
    text = f"[[pins]]\ntune = 4\nbar = 2\nnote = 1\nfinger = {finger}\n"
    book.with_suffix(".pins.toml").write_text(text, encoding="utf-8")
    pinned = open_set(str(book), 3, ["4"], "bc-21")
    assert pinned.fingering.notes[at].finger == finger


def test_a_tune_of_another_file(tmp_path: Path) -> None:
    other = shutil.copy(BOOK, tmp_path / "other.abc")
    assert len(open_set(BOOK, 3, [f"{other}:4"], "bc-21").round.notes) == len(
        open_set(BOOK, 3, ["4"], "bc-21").round.notes
    )


def test_tunes_of_two_metres_are_no_set_here(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(UserError, match="is in 3/4"):
        open_set(BOOK, 3, ["5"], "bc-21")
    assert main(["practise", "--tune", "3", "--then", "5"]) == 2
    assert "one metre" in capsys.readouterr().err


@pytest.mark.parametrize("then", ["99", "nothing.abc", "nothing.abc:2", ""])
def test_a_tune_that_is_not_there_is_said(then: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["practise", "--tune", "3", "--then", then]) == 2
    assert capsys.readouterr().err.startswith("companion: ")


@pytest.mark.parametrize("minutes", ["0", "-3", "nan", "2000"])
def test_minutes_that_cannot_be(minutes: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["practise", "--tune", "3", "--minutes", minutes]) == 2
    assert "--minutes" in capsys.readouterr().err
