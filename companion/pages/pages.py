"""The pages over a session: choosing a tune, the settings, the calm page, help, and leaving. Where one is open nothing
sounds but what it lets be heard.

What the player asks for comes through here: from the window, from pedals, from a button that is held. Each page takes
what it has a use for; the rest does nothing there. What is asked for in practice itself is passed on to the session.
Esc goes one page back, wherever one is.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil
from pathlib import Path

from companion.input.events import Event
from companion.pages.pedals import Asked as AskedOf
from companion.pages.pedals import Pedals
from companion.pages.settings_page import SettingsPage
from companion.pages.shelf import Shelf, TunePlace
from companion.screen.actions import CLOSED, Action, Asked, Nav
from companion.screen.list_state import Chooser
from companion.screen.page_values import BreakPage, HelpPage, LeavePage, Page, TuneRow
from companion.screen.pedal_table import load_pedals
from companion.screen.window import Window
from companion.screen.words import Say
from companion.tune.tune import Tune
from companion.tune.tune_values import OnceThrough

# What a pedal's action means on a page with a list.
_IN_A_LIST = {
    Action.FASTER: Nav.UP,
    Action.SLOWER: Nav.DOWN,
    Action.ON: Nav.ENTER,
    Action.PAUSE: Nav.ENTER,
    Action.AGAIN: Nav.RIGHT,
    Action.BACK: Nav.LEAVE,
}
# What each page closes on; leaving the program is asked for on every page but the one that asks about it.
_CLOSES_HELP = (Nav.LEAVE, Action.HELP, Action.PAUSE, Action.BACK)
_STAYS = (Nav.LEAVE, Action.PAUSE, Action.BACK)
_LEAVES = (Action.QUIT, Action.ON)
_OPENS = (Action.TUNES, Action.SETTINGS, Action.HELP)

FAREWELL = 30.0  # seconds for which the last page stays at least


@dataclass(frozen=True, slots=True)
class NextTune:
    """What the session is to go on with: a tune (its name in the book, None the first), and the box to play it on;
    `then` are the tunes that follow in a set, each as it was asked for; `review` says that it only comes back to be
    kept in memory."""

    book: Path
    tune: str | None
    box: str
    then: tuple[str, ...] = ()
    review: bool = False


class Pages:
    """The pages of a window. They outlive the sessions on single tunes.

    Parameters
    ----------
    shelf : the tunes that can be chosen; None where none can.
    settings : opens the settings page; None where there is none.
    calm_wait : seconds of the page between two pieces.
    now : the tune in hand.
    clock : the instrument's clock, for held buttons.

    Attributes
    ----------
    wanted : what the player has chosen to go on with; the session ends then, and the caller begins another.
    ended : whether the page at the end of the sitting has run out, and so the session is over.
    left : whether the player has left the program.
    gained : says what has been gained so far, for the page that asks before leaving.
    """

    def __init__(
        self,
        window: Window,
        words: Say,
        *,
        shelf: Shelf | None = None,
        settings: Callable[[], SettingsPage] | None = None,
        calm_wait: float = 0.0,
        now: NextTune | None = None,
        clock: Callable[[], float] = time.perf_counter,
    ) -> None:
        self.wanted: NextTune | None = None
        self.shelf, self.calm_wait, self.now = shelf, calm_wait, now
        self.pedals = Pedals(load_pedals())
        self.gained: Callable[[], tuple[str, ...]] = tuple
        self._window, self._words, self._clock = window, words, clock
        self._open_settings = settings
        self._settings: SettingsPage | None = None
        self._was_choosing = False  # when the settings were opened
        self._chooser: Chooser | None = None
        self._first = False  # whether the chooser is the first page of the evening, with no tune behind it
        self._chooser_page: tuple[Chooser, Page] | None = None
        self._calm: BreakPage | None = None
        self._help = False
        self._leaving: LeavePage | None = None
        self.ended = self.left = False
        self._ends = False
        self._wait = 0.0
        self._until: float | None = None
        self._feet: list[Action] = []

    @property
    def shelf_rows(self) -> tuple[TuneRow, ...]:
        """The tunes that can be chosen."""
        return self.shelf.rows() if self.shelf is not None else ()

    def take_up(self, now: NextTune, tune: Tune, round_: OnceThrough) -> None:
        """Go on with another tune: close what is open."""
        self.close()
        self.now, self.wanted, self.ended = now, None, False
        if self.shelf is not None:
            self.shelf.now_on(now.box)
            if not now.then:  # a set is no tune of the book
                self.shelf.learn(now.book, tune, round_)

    # What is open

    @property
    def open(self) -> bool:
        """Whether a page is open: then no round begins."""
        return self.interrupts or self._calm is not None

    @property
    def interrupts(self) -> bool:
        """Whether a page is open for which the round under way is broken off."""
        listing = self._chooser is not None or self._settings is not None
        return listing or self._help or self._leaving is not None

    def choose(self, notice: str = "", *, first: bool = False) -> None:
        """Open the page for choosing a tune, with something to be said; `first` where no tune lies behind it."""
        if self.shelf is None:
            return
        self.close()
        self.shelf.look()
        self._first = first
        self._chooser = Chooser(self.shelf.rows(), notice=notice or self.shelf.notice)

    def calm(self, page: BreakPage) -> None:
        """Show the page between two pieces; it goes on by itself."""
        if self.calm_wait > 0:
            self._show_calm(page, self.calm_wait)

    def rest(self, page: BreakPage, reason: str, seconds: float) -> None:
        """Show the page for a rest by the clock: why, and a countdown after which it goes on by itself.

        Parameters
        ----------
        page : where the player stands, as `companion.pages.break_page` makes it.
        reason : a sentence on why, shown as a caution.
        seconds : how long; whoever wants to goes on sooner with the key or the pedal for "pause".
        """
        self._show_calm(replace(page, caution=reason), seconds)

    def farewell(self, page: BreakPage, reason: str) -> None:
        """Show the page at the end of a sitting: it ends by itself, unless the player goes on."""
        self._show_calm(replace(page, caution=reason, ends=True), max(self.calm_wait, FAREWELL))
        self._ends = True

    def ask_to_leave(self) -> None:
        """Open the page that says what was gained, and asks once whether to leave."""
        self._leaving = LeavePage(self.gained())

    def close(self) -> None:
        """Close what is open."""
        if self._settings is not None:
            self._settings.stop()
        self._chooser = self._settings = self._calm = self._leaving = None
        self._help = False

    # What is asked for

    def asked(self) -> list[Asked]:
        """What the player has asked for since the last call, but for what the page that is open has taken."""
        feet, self._feet = self._feet, []
        return [one for one in (*self._window.asked(), *feet) if self._passed_on(one)]

    def heard(self, came: Sequence[Event], meant: Sequence[Event], asked: AskedOf) -> None:
        """Take what has come in from the instrument: pedals and held buttons ask for something; tests listen.

        Parameters
        ----------
        came, meant : as `companion.input.listening.Listening` has them.
        asked : how long the round under way asks for a pitch at most.
        """
        pressed = [action for event in meant if (action := self.pedals.take(event)) is not None]
        if self._settings is None or not self._settings.testing:  # a test only says which pedal it was
            self._feet += pressed
        if self._settings is not None or self._chooser is not None:
            self.pedals.let_go()  # a note there is a trial
        held = self.pedals.held(self._clock(), asked)
        if held is not None:
            self._feet.append(held)
        if self._settings is not None:
            self._settings.step(came)

    def in_doubt(self, asked: AskedOf) -> bool:
        """Whether a note sounds that may turn out to be a held button: its round is not to be judged yet."""
        return self.pedals.holding(self._clock(), asked)

    def _passed_on(self, asked: Asked) -> bool:
        """Let the page that is open take it; whether there is none, so that it is the session's."""
        if asked is CLOSED:
            self.left = True
        elif self._leaving is not None:
            self._answer(asked)
        elif asked is Action.QUIT:
            self.ask_to_leave()
        elif asked is Action.FULL_SCREEN:
            self._window.change_look(Action.FULL_SCREEN)
        elif self._help:
            self._help = asked not in _CLOSES_HELP
        elif self._chooser is not None or self._settings is not None:
            self._take_in_list(asked)
        elif self._calm is not None:
            return self._take_calm(self._calm, asked)
        else:
            return not self._opened(asked)
        return False

    def _answer(self, asked: Asked) -> None:
        if asked in _STAYS:
            self._leaving = None
        elif asked in _LEAVES:
            self.left = True

    def _take_calm(self, page: BreakPage, asked: Asked) -> bool:
        """Go on, leave, or back to the pause card, which the session shows."""
        if asked in (Action.PAUSE, Action.ON):
            self._calm = None
            self.left = page.ends and asked is Action.ON
        elif asked is Nav.LEAVE:
            self._calm = None
            return True
        elif asked in _OPENS:
            self._calm = None
            self._opened(asked)
        return False

    def _take_in_list(self, asked: Asked) -> None:
        here: Asked = _IN_A_LIST.get(asked, asked) if isinstance(asked, Action) else asked
        own = Action.TUNES if self._chooser is not None else Action.SETTINGS
        if asked is own:
            here = Nav.LEAVE
        if asked in _OPENS and asked is not own:
            self._opened(asked)
        elif self._chooser is not None:
            self._choose(self._chooser.after(here))
        elif self._settings is not None:
            self._set(self._settings, here)

    def _opened(self, asked: Asked) -> bool:
        """Open the page that is asked for; whether it was one. Where it cannot be opened nothing happens."""
        if asked is Action.TUNES:
            if self.shelf is not None:
                self.choose()
        elif asked is Action.SETTINGS:
            if self._open_settings is not None:
                self._was_choosing = self._chooser is not None
                self.close()
                self._settings = self._open_settings()
        elif asked is Action.HELP:
            self._help = True
        return asked in _OPENS

    def _choose(self, page: Chooser) -> None:
        assert self.shelf is not None
        if page.left and self._first:
            self._chooser = replace(page, left=False)
            self.ask_to_leave()
            return
        if page.left:
            self._chooser = None
            return
        self._chooser = page
        if not page.chosen:
            return
        title = next(tune.title for tune in page.tunes if tune.id == page.chosen)
        lacks = self.shelf.lacks(page.chosen)
        if lacks:
            self._chooser = page.saying(f"{title}: {lacks}.")
            return
        place: TunePlace = self.shelf.place(page.chosen)
        self.wanted = NextTune(place.book, place.tune, self.shelf.box)
        self._chooser = page.saying(self._words("choose.opening", title=title))

    def _set(self, page: SettingsPage, asked: Asked) -> None:
        page.take(asked)
        self.calm_wait = page.own.calm_wait
        if not page.left:
            return
        self._settings = None
        other = page.box and self.shelf is not None and page.box != self.shelf.box
        if other and self.shelf is not None:
            self.shelf.now_on(page.box)
        if self._was_choosing:
            self.choose(first=self._first)
        elif other and self.now is not None:
            self.wanted = replace(self.now, box=page.box)

    # What is seen

    def shown(self, now: float) -> Page | None:
        """The page to be seen; None where the session's own is. `now` is on the session's clock, in seconds."""
        if self._leaving is not None:
            return self._leaving
        if self._help:
            return HelpPage()
        if self._chooser is not None:
            return self._shown_chooser(self._chooser)
        if self._settings is not None:
            return self._settings.glance
        if self._calm is None:
            return None
        if self._until is None:
            self._until = now + self._wait
        if now >= self._until:
            self._calm = None
            self.ended = self._ends
            return None
        return replace(self._calm, wait=ceil(self._until - now))

    def _shown_chooser(self, chooser: Chooser) -> Page:
        assert self.shelf is not None
        if self.shelf.look():
            self._chooser = chooser = chooser.knowing(self.shelf.rows())
        if self._chooser_page is None or self._chooser_page[0] is not chooser:
            self._chooser_page = (chooser, chooser.glance)
        return self._chooser_page[1]

    def _show_calm(self, page: BreakPage, seconds: float) -> None:
        self.close()
        self._ends = False
        self._calm, self._wait, self._until = page, seconds, None
