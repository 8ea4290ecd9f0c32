"""`companion practise` without a screen: nobody could choose, so it begins by itself; what was chosen before counts."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.cli.main import main
from companion.pages.books_at_hand import books_at_hand
from companion.pages.player_choices import PlayerChoices, keep_own
from companion.store.record import open_record

SECONDS = ["--seconds", "0.2"]


@pytest.fixture(autouse=True)
def _no_devices(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SDL_AUDIODRIVER", "dummy")
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER"):
        monkeypatch.delenv(name, raising=False)


def sittings() -> list[tuple[str, str]]:
    record = open_record()
    found = record._db.execute("SELECT title, box FROM sitting JOIN tune ON tune.id = tune ORDER BY sitting.id")
    rows = found.fetchall()
    record.close()
    return rows


def test_it_begins_by_itself(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["practise", *SECONDS]) == 0
    assert "No screen" in capsys.readouterr().out
    assert sittings() == [("The Lamp on Tanner's Quay", "bc-21")]


def test_the_box_that_was_chosen_counts_unless_another_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    keep_own(PlayerChoices(box="csd-21"))
    assert main(["practise", *SECONDS]) == 0
    assert main(["practise", "--box", "bc-23", *SECONDS]) == 0
    keep_own(PlayerChoices(box="gone/mine.toml"))
    capsys.readouterr()
    assert main(["practise", *SECONDS]) == 0
    assert "using bc-21 instead" in capsys.readouterr().out
    assert [box for _, box in sittings()] == ["csd-21", "bc-23", "bc-21"]


def test_a_first_tune_that_cannot_be_played_is_passed_over(tmp_path: Path) -> None:
    book = tmp_path / "book.abc"
    book.write_text(
        "X:1\nT:Too Low\nL:1/4\nK:C\nC,,D,,|\n\nX:2\nT:It Fits\nM:4/4\nL:1/4\nK:D\nDFAF|DFAF|\n", encoding="utf-8"
    )
    assert main(["practise", str(book), *SECONDS]) == 0
    assert [title for title, _ in sittings()] == ["It Fits"]
    assert main(["practise", str(book), "--tune", "1", *SECONDS]) == 2
    assert books_at_hand()[0] == book.resolve()


def test_a_broken_file_of_choices_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    path = keep_own(PlayerChoices())
    path.write_text("level = 1000\n", encoding="utf-8")
    assert main(["practise", *SECONDS]) == 2
    assert str(path) in capsys.readouterr().err
