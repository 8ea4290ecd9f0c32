"""The very first start asks three questions, where somebody sees the window; no other start does."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.cli import practise_command
from companion.cli.main import main
from companion.pages.player_choices import PlayerChoices, keep_own, load_choices
from companion.places import own_config
from companion.screen.actions import CLOSED, Action, Asked, Nav, Picked
from companion.screen.list_values import QuestionPage, TunesPage
from companion.screen.page_values import Page, PracticePage
from companion.screen.window import Window, open_window
from companion.store.record import open_record
from tests.cli.test_choosing_in_window import sittings


class Evening:
    """A window that counts as seen: it is asked for one thing after another, and remembers what it showed."""

    def __init__(self) -> None:
        self.wanted: list[Asked] = []
        self.pages: list[Page] = []
        self.window: Window | None = None

    def open(self, *given: object, **more: object) -> Window:
        self.window = window = open_window(*given, **more)  # type: ignore[arg-type]
        window.missing = ""
        show = window.show

        def remember(page: Page) -> None:
            if not self.pages or type(page) is not type(self.pages[-1]) or isinstance(page, QuestionPage):
                self.pages.append(page)
            show(page)

        window.show = remember  # type: ignore[method-assign]
        window.asked = lambda: [self.wanted.pop(0) if self.wanted else CLOSED] if self.pages else []  # type: ignore[method-assign]
        return window

    @property
    def questions(self) -> list[str]:
        """What was asked, in order."""
        return list(dict.fromkeys(page.question for page in self.pages if isinstance(page, QuestionPage)))

    @property
    def first(self) -> Page:
        """The first page after the questions."""
        return next(page for page in self.pages if not isinstance(page, QuestionPage))


@pytest.fixture
def evening(monkeypatch: pytest.MonkeyPatch) -> Evening:
    monkeypatch.setenv("SDL_AUDIODRIVER", "dummy")
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER"):
        monkeypatch.delenv(name, raising=False)
    evening = Evening()
    monkeypatch.setattr(practise_command, "open_window", evening.open)
    return evening


BOX, HEARD, HELD = "Which box do you play?", "How are you heard?", "How do you hold it, and how do you want to see it?"
TWO = "X:1\nT:Mine\nM:4/4\nL:1/4\nK:D\nDFAF|DFAF|\n\nX:2\nT:Other\nM:4/4\nL:1/4\nK:D\nDFAF|\n"
PLAYED: list[Asked] = [Action.CLICK] * 3  # a few frames of the tune


def test_three_answers_are_kept_and_a_demo_tune_begins(evening: Evening) -> None:
    evening.wanted = [Nav.DOWN, Nav.ENTER, Nav.DOWN, Nav.ENTER, Picked(3), *PLAYED]
    assert main(["practise"]) == 0
    assert evening.questions == [BOX, HEARD, HELD]
    assert load_choices() == PlayerChoices(box="csd-21", by_ear=True, left_handed=True, facing="mirrored")
    assert isinstance(evening.first, PracticePage)
    assert evening.first.box.id == "csd-21"
    assert not evening.first.standin  # nobody plays instead
    assert sittings() == [("The Lamp on Tanner's Quay", "csd-21")]
    assert evening.window is not None
    assert evening.window.look.left_handed


def test_each_can_be_left_for_later_and_none_is_asked_again(evening: Evening) -> None:
    evening.wanted = [Nav.LEAVE, Nav.LEAVE, Nav.LEAVE, *PLAYED]
    assert main(["practise"]) == 0
    assert evening.questions == [BOX, HEARD, HELD]
    assert load_choices() == PlayerChoices()
    assert (own_config() / "settings.toml").is_file()
    evening.pages, evening.wanted = [], []
    assert main(["practise"]) == 0
    assert evening.questions == []
    assert isinstance(evening.first, TunesPage)


def test_what_the_command_line_says_is_not_asked(evening: Evening, tmp_path: Path) -> None:
    book = tmp_path / "own.abc"
    book.write_text(TWO, encoding="utf-8")
    evening.wanted = [Nav.LEAVE, Nav.LEAVE, *PLAYED]
    assert main(["practise", str(book), "--tune", "2", "--box", "d-10"]) == 0
    assert evening.questions == [HEARD, HELD]
    assert sittings() == [("Other", "d-10")]
    assert load_choices().box == PlayerChoices().box  # named for once


def test_with_a_book_its_tunes_are_chosen_from(evening: Evening, tmp_path: Path) -> None:
    book = tmp_path / "own.abc"
    book.write_text(TWO, encoding="utf-8")
    evening.wanted = [Nav.LEAVE, Nav.LEAVE, Nav.LEAVE, Nav.UP]
    assert main(["practise", str(book)]) == 0
    assert isinstance(evening.first, TunesPage)


@pytest.mark.parametrize("before", ["settings", "record"])
def test_who_has_been_here_before_is_not_asked(evening: Evening, before: str) -> None:
    if before == "settings":
        keep_own(PlayerChoices())
    else:
        open_record().close()
    assert main(["practise"]) == 0
    assert evening.questions == []


def test_without_a_screen_nothing_is_asked(evening: Evening, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(practise_command, "open_window", open_window)
    assert main(["practise", "--seconds", "0.2"]) == 0
    assert evening.questions == []
    assert not (own_config() / "settings.toml").exists()


def test_no_demo_tune_that_fits_leads_to_the_list(evening: Evening, monkeypatch: pytest.MonkeyPatch) -> None:
    from companion.errors import UserError

    opened = practise_command._first_opened

    def only_on_bc(first: practise_command.NextTune, voice: str | None) -> practise_command.Opened:
        if first.box == "bc-21":
            return opened(first, voice)
        raise UserError("none fits")

    monkeypatch.setattr(practise_command, "_first_opened", only_on_bc)
    evening.wanted = [Nav.RIGHT, Nav.ENTER, Nav.LEAVE, Nav.LEAVE, Action.FULL_SCREEN]
    assert main(["practise"]) == 0
    assert isinstance(evening.first, TunesPage)
    assert evening.first.notice == "None of the demo tunes fits your box: open a book of your own."
