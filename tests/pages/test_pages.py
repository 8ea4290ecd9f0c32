"""The pages over a session on wound devices: what is open, what sounds meanwhile, what is counted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from companion.input.events import Event, EventKind
from companion.pages.books_at_hand import demo_book
from companion.pages.choosing import NextTune
from companion.pages.player_choices import PlayerChoices
from companion.pages.shelf import Shelf, TunePlace
from companion.practice.machine import IN_ORDER
from companion.screen.actions import Action, Nav, Typed
from companion.screen.list_values import SettingsList, TuneRow, TunesPage
from companion.screen.page_values import BarProgress, BreakPage
from tests.session.fakes import Bench

SUSTAIN, SOFT = 64, 67


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


@pytest.fixture
def shelved(bench: Bench) -> Iterator[Bench]:
    """A bench with the demo tunes to choose from."""
    bench.pages.shelf = Shelf([demo_book()], "bc-21")
    yield bench
    bench.pages.shelf.close()


def pedal(control: int = SUSTAIN) -> tuple[Event, Event]:
    return (
        Event(0.0, EventKind.CONTROL, velocity=127, control=control),
        Event(0.0, EventKind.CONTROL, velocity=0, control=control),
    )


# The calm page


def test_between_two_pieces_it_is_calm_and_goes_on_by_itself(tmp_path: Path) -> None:
    bench = Bench(tmp_path, calm_wait=5.0)
    while not bench.window.pages and bench.speaker.time < 60:
        bench.wind(0.1)
    page = bench.window.pages[0]
    assert isinstance(page, BreakPage)
    assert page.piece == "A bar 1"
    assert page.next_piece.startswith("A phrase 1")
    assert page.wait == 5
    assert page.tune_map is not None
    assert page.tune_map.here == (0, bench.standing.piece.last)
    assert page.tune_map.parts[0].bars[0].progress is not BarProgress.NEW
    assert page.gained[0] == "Clean, and up from 56 to 78 crotchets a minute."
    began, queued = bench.speaker.time, len(bench.speaker.queued)
    bench.wind(4.5)
    assert len(bench.speaker.queued) == queued
    assert [page.wait for page in bench.window.pages if isinstance(page, BreakPage)][-1] == 1
    assert bench.speaker.queued[-1][0] + bench.speaker.queued[-1][1] < 44100 * (began + 1)
    shown = len(bench.window.pages)
    bench.wind(1.0)
    assert len(bench.window.pages) < shown + 50
    assert len(bench.speaker.queued) == queued + 1
    assert bench.speaker.queued[-1][0] >= 44100 * (began + 5 - 0.1)
    assert bench.window.shown[-1].count == "1"
    assert bench.window.shown[-1].piece.startswith("A phrase 1")


@pytest.mark.parametrize("asked", [Action.PAUSE, Action.ON])
def test_the_player_goes_on_sooner(tmp_path: Path, asked: Action) -> None:
    bench = Bench(tmp_path, calm_wait=60.0)
    while not bench.window.pages:
        bench.wind(0.1)
    bench.window.wanted = [asked]
    bench.wind(0.3)
    assert not bench.pages.open
    assert bench.window.shown[-1].piece.startswith("A phrase 1")
    assert not bench.window.shown[-1].paused


def test_a_rest_by_the_clock_says_why_and_counts_down(bench: Bench) -> None:
    bench.wind(1)
    page = BreakPage("A tune", "A bar 1", (), (), "A bar 2", "in time")
    bench.pages.rest(page, "Time for a break.", 300)
    bench.wind(100)
    shown = bench.window.pages[-1]
    assert isinstance(shown, BreakPage)
    assert shown.caution == "Time for a break."
    assert shown.wait in (200, 201)
    bench.wind(201)
    assert not bench.pages.open
    assert bench.window.shown[-1].now > -9


# Choosing a tune


def test_a_tune_is_chosen(shelved: Bench) -> None:
    bench = shelved
    bench.wind(16)
    bench.window.wanted = [Action.TUNES]
    bench.wind(0.2)
    cuts, queued = bench.speaker.cuts, len(bench.speaker.queued)
    assert cuts == 1
    page = bench.window.pages[-1]
    assert isinstance(page, TunesPage)
    assert sum(isinstance(row, TuneRow) for row in page.rows) == 5
    bench.wind(20)
    assert (bench.speaker.cuts, len(bench.speaker.queued)) == (cuts, queued)
    bench.window.wanted = [*map(Typed, "ferry"), Nav.ENTER]
    bench.wind(0.1)
    assert bench.session.over
    assert bench.pages.wanted == NextTune(demo_book(), "3", "bc-21")


def test_leaving_the_choice_goes_on_with_the_same_tune(shelved: Bench) -> None:
    bench = shelved
    bench.wind(16)
    marked = len(bench.session.rounds)
    bench.window.wanted = [Action.TUNES]
    bench.wind(1)
    bench.window.wanted = [Nav.LEAVE]
    bench.wind(0.2)
    assert not bench.pages.open
    assert not bench.session.over
    assert bench.window.shown[-1].count == "1"
    bench.wind(30)
    assert len(bench.session.rounds) > marked
    assert all(one.marks.clean for one in bench.session.rounds)


def test_what_does_not_fit_the_box_is_not_chosen(bench: Bench, tmp_path: Path) -> None:
    book = tmp_path / "low.abc"
    book.write_text("X:1\nT:Low\nM:4/4\nL:1/4\nK:C\nC,,D,,E,,F,,|\n", encoding="utf-8")
    shelf = bench.pages.shelf = Shelf([book], "bc-21")
    try:
        bench.window.wanted = [Action.TUNES]
        bench.wind(0.1)
        name = TunePlace(book, 1).id
        while not shelf.lacks(name):
            shelf.look()
        bench.window.wanted = [Nav.ENTER]
        bench.wind(0.1)
    finally:
        shelf.close()
    assert bench.pages.wanted is None
    page = bench.window.pages[-1]
    assert isinstance(page, TunesPage)
    assert page.notice.startswith("Low: does not fit")


def test_without_a_shelf_there_is_nothing_to_choose(bench: Bench) -> None:
    bench.wind(1)
    bench.window.wanted = [Action.TUNES, Action.SETTINGS]
    bench.wind(0.2)
    assert not bench.pages.open
    assert bench.speaker.cuts == 0


# Pedals and held buttons


def test_the_pedal_pauses_and_goes_on(bench: Bench) -> None:
    bench.wind(16)
    bench.player.send(*pedal())
    bench.wind(0.2)
    assert bench.window.shown[-1].paused
    bench.player.send(*pedal())
    bench.wind(0.2)
    assert not bench.window.shown[-1].paused
    bench.player.send(*pedal(SOFT))
    bench.wind(0.2)
    assert bench.window.shown[-1].piece == "A bar 2"


def test_a_pedal_for_the_look_changes_the_look(bench: Bench) -> None:
    bench.player.send(*pedal(113))
    bench.wind(0.1)
    assert bench.window.looked == [Action.THEME]
    assert not bench.window.shown[-1].paused


def test_pedals_move_about_in_the_list(shelved: Bench) -> None:
    bench = shelved
    bench.window.wanted = [Action.TUNES]
    bench.wind(0.1)
    bench.player.send(*pedal(81), *pedal(81), *pedal(80))  # down, down, up
    bench.wind(0.1)
    page = bench.window.pages[-1]
    assert isinstance(page, TunesPage)
    tunes = [n for n, row in enumerate(page.rows) if isinstance(row, TuneRow)]
    assert page.at == tunes[1]
    bench.player.send(*pedal(SUSTAIN))
    bench.wind(0.1)
    assert bench.pages.wanted is not None


def test_a_button_held_over_the_seam_pauses_and_its_round_is_not_marked(bench: Bench) -> None:
    """The player has stopped in mid-round to hold a button: the round must not be failed meanwhile."""
    bench.wind(30)
    bench.player.standin_on = False
    bench.wind(0.5)
    bench.window.wanted = [Action.AGAIN]
    bench.wind(1.0)
    # The player is where the demonstration is, in time.
    mine, other = bench.session.state.players
    bench.put(players=(replace(mine, state=other.state), other))
    bench.window.wanted = [Action.AGAIN]
    bench.wind(0.2)
    going = bench.plan
    assert going.clocked
    bench.wind(going.ends - bench.speaker.time - 0.9)
    marked = bench.session.rounds
    held_at = bench.speaker.time
    bench.player.send(Event(held_at, EventKind.ON, 30, 90))
    bench.player.come(30, held_at)
    bench.wind(1.9)
    assert not bench.window.shown[-1].paused
    assert bench.session.rounds == marked
    bench.wind(0.3)
    assert bench.window.shown[-1].paused
    assert bench.session.rounds == marked
    bench.player.send(Event(bench.speaker.time, EventKind.OFF, 30))
    bench.wind(2.0)
    assert bench.window.shown[-1].paused
    bench.window.wanted = [Action.PAUSE]
    bench.wind(0.1)
    assert bench.session.rounds == marked


def test_what_is_played_while_it_is_paused_is_no_ones(bench: Bench) -> None:
    """Also where the round after it has no clock."""
    while not bench.window.shown or bench.window.shown[-1].step != IN_ORDER:
        bench.wind(0.1)
    bench.window.wanted = [Action.PAUSE]
    bench.wind(0.2)
    bench.player.come(40, bench.speaker.time)
    bench.wind(0.5)
    bench.window.wanted = [Action.PAUSE]
    bench.wind(20)
    assert bench.session.rounds
    assert all(one.marks.clean for one in bench.session.rounds)


# The settings


class OwnPage:
    """A settings page on which another box is chosen at the first thing that is asked."""

    def __init__(self) -> None:
        self.box, self.left, self.testing = "", False, False
        self.own = PlayerChoices()
        self.glance = SettingsList((), 0)

    def take(self, asked: object) -> None:
        self.box = "csd-21"
        self.left = asked is Nav.LEAVE

    def step(self, _events: object) -> None:
        pass

    def stop(self) -> None:
        pass

    def learning(self) -> None:
        return None


def test_another_box_is_the_same_tune_begun_on_it(shelved: Bench) -> None:
    bench = shelved
    bench.pages._open_settings = OwnPage  # type: ignore[assignment]
    bench.pages.now = NextTune(demo_book(), "1", "bc-21")
    bench.wind(16)
    bench.window.wanted = [Action.SETTINGS]
    bench.wind(0.5)
    assert bench.speaker.cuts == 1
    assert isinstance(bench.window.pages[-1], SettingsList)
    bench.window.wanted = [Nav.RIGHT, Action.SETTINGS]
    bench.wind(0.1)
    assert bench.session.over
    assert bench.pages.wanted == NextTune(demo_book(), "1", "csd-21")


def test_settings_opened_from_the_choice_lead_back_to_it(shelved: Bench) -> None:
    bench = shelved
    bench.pages._open_settings = OwnPage  # type: ignore[assignment]
    bench.window.wanted = [Action.TUNES, Action.SETTINGS]
    bench.wind(0.1)
    assert isinstance(bench.window.pages[-1], SettingsList)
    bench.window.wanted = [Nav.LEAVE]
    bench.wind(0.1)
    assert isinstance(bench.window.pages[-1], TunesPage)
    assert bench.pages.wanted is None
    assert bench.pages.shelf is not None
    assert bench.pages.shelf.box == "csd-21"
