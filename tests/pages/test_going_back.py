"""Esc goes one page back everywhere, leaving is asked once, and each page takes only what it has a use for."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from companion.pages.books_at_hand import demo_book
from companion.pages.shelf import Shelf
from companion.screen.actions import CLOSED, LOOKS, Action, Asked, Nav
from companion.screen.list_values import TunesPage
from companion.screen.page_values import BreakPage, LeavePage
from tests.session.fakes import Bench


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    bench = Bench(tmp_path)
    bench.pages.shelf = Shelf([demo_book()], "bc-21")
    yield bench
    bench.pages.shelf.close()


def press(bench: Bench, *asked: Asked) -> None:
    for one in asked:
        bench.window.wanted = [one]
        bench.wind(0.1)


def test_esc_leads_from_practice_to_the_pause_card_and_from_there_to_the_question(bench: Bench) -> None:
    bench.wind(1)
    press(bench, Nav.LEAVE)
    assert bench.window.shown[-1].paused
    assert not bench.session.over
    press(bench, Nav.LEAVE)
    assert isinstance(bench.window.pages[-1], LeavePage)
    press(bench, Nav.LEAVE)
    assert not bench.pages.open
    assert bench.window.shown[-1].paused
    assert not bench.session.over


@pytest.mark.parametrize("way", [Action.QUIT, Nav.LEAVE])
@pytest.mark.parametrize("answer", [Action.QUIT, Action.ON])
def test_leaving_is_asked_once_and_says_what_was_gained(bench: Bench, way: Asked, answer: Asked) -> None:
    bench.wind(20)
    gains = bench.session.gains
    assert gains
    press(bench, *([way] if way is Action.QUIT else [way, way]))
    assert bench.window.pages[-1] == LeavePage(gains)
    assert not bench.session.over
    press(bench, answer)
    assert bench.session.over
    assert bench.session.quitted


def test_the_window_that_is_closed_is_not_asked_about(bench: Bench) -> None:
    bench.wind(1)
    press(bench, CLOSED)
    assert bench.session.over
    assert bench.session.quitted


def test_the_first_list_of_tunes_starts_nothing_that_nobody_chose(bench: Bench) -> None:
    bench.pages.choose(first=True)
    press(bench, Nav.LEAVE)
    assert bench.window.pages[-1] == LeavePage(())
    press(bench, Nav.LEAVE)
    assert isinstance(bench.window.pages[-1], TunesPage)
    assert bench.pages.wanted is None
    assert bench.speaker.queued == []


@pytest.mark.parametrize("asked", sorted({*Action} - {Action.HELP, Action.PAUSE, Action.BACK, Action.QUIT}))
def test_help_stays_whatever_else_is_pressed(bench: Bench, asked: Action) -> None:
    bench.wind(1)
    press(bench, Action.HELP)
    looked, helped = list(bench.window.looked), bench.window.helped
    piece = bench.standing.piece
    press(bench, asked)
    assert bench.window.helped > helped
    assert bench.window.looked == looked + ([asked] if asked is Action.FULL_SCREEN else [])
    assert bench.standing.piece == piece
    press(bench, Nav.LEAVE)
    assert not bench.pages.open


def test_help_goes_back_to_where_it_was_opened(bench: Bench) -> None:
    bench.wind(1)
    press(bench, Action.HELP, Nav.LEAVE)
    assert not bench.window.shown[-1].paused
    press(bench, Action.PAUSE, Action.HELP, Nav.LEAVE)
    assert bench.window.shown[-1].paused
    press(bench, Action.TUNES, Action.HELP, Nav.LEAVE)
    assert isinstance(bench.window.pages[-1], TunesPage)


def test_help_does_not_close_a_list(bench: Bench) -> None:
    press(bench, Action.TUNES, Action.HELP, Nav.LEAVE)
    assert isinstance(bench.window.pages[-1], TunesPage)
    assert bench.pages.open


def test_the_picture_is_not_turned_round_in_mid_play(bench: Bench) -> None:
    bench.wind(1)
    for look in (Action.LEFT_HANDED, Action.FACING, Action.MOTION):
        press(bench, look)
        assert look not in bench.window.looked
        assert "Pause first" in bench.window.shown[-1].sentence
    press(bench, Action.PAUSE, Action.LEFT_HANDED)
    assert bench.window.looked[-1] is Action.LEFT_HANDED
    assert "hand" in bench.window.shown[-1].sentence


def test_names_and_staff_come_and_go_in_mid_play(bench: Bench) -> None:
    bench.wind(1)
    for look, said in ((Action.NAMES, "Note names: off. F3"), (Action.STAFF, "Notes on the staff: off. F10")):
        press(bench, look)
        assert bench.window.looked[-1] is look
        assert bench.window.shown[-1].sentence.startswith(said)
        assert not bench.window.shown[-1].paused


def test_from_the_calm_page_esc_leads_to_the_pause_card(tmp_path: Path) -> None:
    bench = Bench(tmp_path, calm_wait=60.0)
    while not bench.window.pages:
        bench.wind(0.1)
    press(bench, Nav.LEAVE)
    assert not bench.pages.open
    assert bench.window.shown[-1].paused


def test_from_the_end_of_a_sitting_space_goes_on_and_enter_leaves(tmp_path: Path) -> None:
    for answer, over in ((Action.PAUSE, False), (Action.ON, True)):
        bench = Bench(tmp_path / answer.value, length=60.0)
        while not (bench.window.pages and isinstance(page := bench.window.pages[-1], BreakPage) and page.ends):
            bench.wind(0.5)
        press(bench, answer)
        assert bench.session.over is over


def test_every_look_is_known_to_be_for_play_or_for_the_pause_card(bench: Bench) -> None:
    press(bench, Action.PAUSE)
    for look in sorted(LOOKS):
        press(bench, look)
        assert bench.window.looked[-1] is look
