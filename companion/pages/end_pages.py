"""What you see at the end of a piece or a sitting: the page between pieces, a rest, the last page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from companion.lesson.lesson_rules import LessonRules
from companion.lesson.lesson_values import Piece
from companion.pages.break_page import calm_page, sitting_gains
from companion.pages.pages import Pages
from companion.practice.player_state import PlayerState
from companion.practice.round_plan import TuneInHand
from companion.practice.sitting import Change
from companion.screen.page_values import BreakPage
from companion.screen.words import Say
from companion.store.record import RoundKept

MINUTE = 60


class EndPages:
    """Shows the pages at an end. `seen` False: nobody sees them, so nothing waits."""

    def __init__(self, course: TuneInHand, words: Say, pages: Pages, *, seen: bool) -> None:
        self._course, self._words, self._pages, self._seen = course, words, pages, seen

    def show(
        self, change: Change, piece: Piece, rounds: Sequence[RoundKept], first: PlayerState, rules: LessonRules
    ) -> bool:
        """Show what belongs to a change; whether the session is over at once.

        Parameters
        ----------
        piece : what was played; `rounds` are those of the sitting by whoever plays, `first` is where they then stood.
        """
        page = self._page
        if change.what == "over":
            if not self._seen:
                return True
            gained = sitting_gains(self._course, first, change.after, rounds, self._words)
            shown = replace(page(change.after, piece, rounds, rules), gained=gained)
            self._pages.farewell(shown, self._words("sitting_over"))
        elif change.news == "next":
            self._pages.calm(page(change.after, piece, rounds, rules))
        return False

    def rest(
        self, now: PlayerState, piece: Piece, rounds: Sequence[RoundKept], rules: LessonRules, played: int
    ) -> None:
        """Show the page for a rest, after so many minutes `played`."""
        why = self._words("rest_due", n=played)
        self._pages.rest(self._page(now, piece, rounds, rules), why, rules.rest_minutes * MINUTE)

    def _page(self, after: PlayerState, piece: Piece, rounds: Sequence[RoundKept], rules: LessonRules) -> BreakPage:
        return calm_page(self._course, piece, after, rounds, rules, self._words)
