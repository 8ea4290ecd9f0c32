"""Any order of keys, touches, letters and files dragged in, on the pages alone: Esc leads back from wherever it is."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.pages.books_at_hand import demo_book
from companion.pages.practised import report_of
from companion.pages.shelf import Shelf
from companion.screen.actions import Action, Asked, Dropped, Nav, Picked, Typed
from companion.screen.page_values import LeavePage, PracticePage
from companion.store.record import here
from tests.session.fakes import Bench

OPENING: list[Asked] = [
    Action.TUNES,
    Action.PROGRESS,
    Action.HELP,
    Nav.OPEN_BOOK,
    Nav.LEFT,
    Nav.RIGHT,
    Nav.DOWN,
    Nav.UP,
]
TOUCHED: list[Asked] = [Picked(n, part) for n in (-1, 0, 1, 9) for part in ("row", "days", "diary", "title", "remove")]
OTHERS: list[Asked] = [Typed("a"), Typed("\b"), Typed("\t"), Dropped("/nowhere/tunes.abc"), Dropped(str(demo_book()))]
ASKED = st.sampled_from([*OPENING * 3, *TOUCHED, *OTHERS * 2, *(one for one in Nav if one is not Nav.ENTER)])
DEEPEST = 8  # pages over one another, the question and the pause card with them


@pytest.mark.usefixtures("own_folders")
@given(st.lists(ASKED, max_size=14))
@settings(max_examples=40, suppress_health_check=list(HealthCheck))
def test_esc_leads_back_from_wherever_it_is(asked: list[Asked]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder))
        shelf = bench.pages.shelf = Shelf([demo_book().resolve()], "bc-21")
        shelf._looked = float("inf")  # nothing is weighed meanwhile
        bench.pages._practised = lambda: report_of(bench.record, "bc-21", here())
        for one in asked:
            bench.window.wanted = [one]
            bench.wind(0.06)
            if bench.session.over:  # a tune was chosen
                return
        for _ in range(DEEPEST):
            shown = bench.pages.shown(bench.speaker.time)
            if isinstance(shown, LeavePage):
                break
            bench.window.wanted = [Nav.LEAVE]
            bench.wind(0.06)
            now = bench.pages.shown(bench.speaker.time)
            assert shown is None or type(now) is not type(shown), "Esc closes nothing"
        assert isinstance(bench.pages.shown(bench.speaker.time), LeavePage)
        bench.window.wanted = [Nav.LEAVE]
        bench.wind(0.06)
        assert not bench.pages.open
        assert isinstance(bench.window.shown[-1], PracticePage)
        bench.record.close()
