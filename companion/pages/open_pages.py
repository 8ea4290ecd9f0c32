"""The pages that can lie open over a session, each with its state."""

from __future__ import annotations

from dataclasses import dataclass

from companion.pages.book_finder import BookFinder
from companion.pages.first_questions import FirstQuestions
from companion.pages.learn_box import LearnBox
from companion.pages.progress_page import Progress
from companion.pages.settings_page import SettingsPage
from companion.screen.list_state import Chooser
from companion.screen.page_values import BreakPage, LeavePage


@dataclass(frozen=True, slots=True)
class ChooserOpen:
    """The page for choosing a tune; `first`: no tune lies behind it."""

    chooser: Chooser
    first: bool


@dataclass(frozen=True, slots=True)
class FinderOpen:
    """The page for opening a book."""

    finder: BookFinder


@dataclass(frozen=True, slots=True)
class ProgressOpen:
    """What was gained, the days and the diary."""

    progress: Progress


@dataclass(frozen=True, slots=True)
class SettingsOpen:
    """The settings."""

    settings: SettingsPage


@dataclass(frozen=True, slots=True)
class QuestionsOpen:
    """The questions of the first evening."""

    questions: FirstQuestions


@dataclass(frozen=True, slots=True)
class LearnOpen:
    """A box is got to know through a microphone."""

    learning: LearnBox


@dataclass(frozen=True, slots=True)
class BreakOpen:
    """The page between two pieces, a rest, or the end of a sitting (`page.ends`).

    It goes on by itself after so many `seconds`, at `until` on the session's clock (None: not seen yet).
    """

    page: BreakPage
    seconds: float
    until: float | None = None


@dataclass(frozen=True, slots=True)
class HelpOpen:
    """The help page, and which of its pages is seen."""

    page: int = 0


@dataclass(frozen=True, slots=True)
class LeaveOpen:
    """The page that asks whether to leave."""

    page: LeavePage


ListOpen = ChooserOpen | FinderOpen | ProgressOpen | SettingsOpen
OpenPage = ListOpen | QuestionsOpen | LearnOpen | BreakOpen | HelpOpen | LeaveOpen
