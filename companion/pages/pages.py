"""The pages over a session: choosing a tune, opening a book, the settings, what was gained, the break between two
pieces, help, and leaving.

Open pages lie on one stack, and the top one takes what the player asks for: from the window, from pedals, from a button
that is held. It takes what it has a use for; the rest does nothing there. Esc takes the top page away, wherever one is.
With no page open, what is asked for is the session's. While one is open nothing sounds but what it lets be heard.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from math import ceil
from pathlib import Path

from companion.input.events import Event
from companion.pages.choosing import Choosing, NextTune
from companion.pages.first_questions import FirstQuestions
from companion.pages.learn_box import LearnBox
from companion.pages.open_pages import (
    BreakOpen,
    ChooserOpen,
    FinderOpen,
    HelpOpen,
    LearnOpen,
    LeaveOpen,
    ListOpen,
    OpenPage,
    ProgressOpen,
    QuestionsOpen,
    SettingsOpen,
)
from companion.pages.page_stack import PageStack
from companion.pages.pedals import Asked as AskedOf
from companion.pages.pedals import Pedals
from companion.pages.practised import PracticeReport
from companion.pages.progress_page import Progress
from companion.pages.settings_page import SettingsPage
from companion.pages.shelf import Shelf
from companion.screen.actions import CLOSED, Action, Asked, Dropped, Nav
from companion.screen.help import PAGES
from companion.screen.list_values import TuneRow
from companion.screen.page_values import BreakPage, HelpPage, LeavePage, Page
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
_OPENS = (Action.TUNES, Action.SETTINGS, Action.PROGRESS, Action.HELP)
# The page that each of them opens; on it, the same leads back.
_OWN: dict[type[OpenPage], Action] = {
    ChooserOpen: Action.TUNES,
    SettingsOpen: Action.SETTINGS,
    ProgressOpen: Action.PROGRESS,
}

FAREWELL = 30.0  # seconds for which the last page stays at least


class Pages:
    """The pages of a window. They outlive the sessions on single tunes.

    Parameters
    ----------
    shelf : the tunes that can be chosen; None where none can.
    settings : opens the settings page; None where there is none.
    practised : gives what was practised, for the page that shows it; None where there is none.
    calm_wait : seconds of the page between two pieces.
    now : the tune in hand.
    clock : the instrument's clock, for held buttons.

    Attributes
    ----------
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
        practised: Callable[[], PracticeReport] | None = None,
        calm_wait: float = 0.0,
        now: NextTune | None = None,
        clock: Callable[[], float] = time.perf_counter,
    ) -> None:
        self.calm_wait, self.now = calm_wait, now
        self.pedals = Pedals(load_pedals())
        self.gained: Callable[[], tuple[str, ...]] = tuple
        self.ended = self.left = False
        self._window, self._words, self._clock = window, words, clock
        self._open_settings, self._practised = settings, practised
        self._stack = PageStack()
        self._choosing = Choosing(self._stack, shelf, words, self.ask_to_leave)
        self._pressed: list[Asked] = []  # by pedals and held buttons

    @property
    def wanted(self) -> NextTune | None:
        """What the player has chosen to go on with; the session ends then, and the caller begins another."""
        return self._choosing.wanted

    @wanted.setter
    def wanted(self, tune: NextTune | None) -> None:
        self._choosing.wanted = tune

    @property
    def shelf(self) -> Shelf | None:
        """The tunes that can be chosen; None where none can."""
        return self._choosing.shelf

    @shelf.setter
    def shelf(self, shelf: Shelf | None) -> None:
        self._choosing.shelf = shelf

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
        return bool(self._stack.pages)

    @property
    def interrupts(self) -> bool:
        """Whether a page is open for which the round in play is broken off."""
        return any(not isinstance(page, BreakOpen) for page in self._stack.pages)

    def ask(self, questions: FirstQuestions) -> None:
        """Ask the questions of the first evening, where there are any."""
        if not questions.over:
            self._stack.push(QuestionsOpen(questions))

    def learn(self, learning: LearnBox) -> None:
        """Get to know a box through a microphone."""
        self._stack.push(LearnOpen(learning))

    def choose(self, notice: str = "", *, first: bool = False) -> None:
        """Open the page for choosing a tune, with something to be said; `first` where no tune lies behind it."""
        self._choosing.open(notice, first=first)

    def calm(self, page: BreakPage) -> None:
        """Show the page between two pieces; it goes on by itself."""
        if self.calm_wait > 0:
            self._show_break(page, self.calm_wait)

    def rest(self, page: BreakPage, reason: str, seconds: float) -> None:
        """Show the page for a rest by the clock: why, and a countdown after which it goes on by itself.

        Parameters
        ----------
        page : where the player stands, as `companion.pages.break_page` makes it.
        reason : a sentence on why, shown as a caution.
        seconds : how long; whoever wants to goes on sooner with the key or the pedal for "pause".
        """
        self._show_break(replace(page, caution=reason), seconds)

    def farewell(self, page: BreakPage, reason: str) -> None:
        """Show the page at the end of a sitting: it ends by itself, unless the player goes on."""
        self._show_break(replace(page, caution=reason, ends=True), max(self.calm_wait, FAREWELL))

    def ask_to_leave(self) -> None:
        """Open the page that says what was gained, and asks once whether to leave."""
        self._stack.push(LeaveOpen(LeavePage(self.gained())))

    def close(self) -> None:
        """Close what is open."""
        self._stack.close()

    @property
    def _settings(self) -> SettingsPage | None:
        """The settings, where they are open, under help too."""
        return next((one.settings for one in self._stack.pages if isinstance(one, SettingsOpen)), None)

    def _show_break(self, page: BreakPage, seconds: float) -> None:
        self.close()
        self._stack.push(BreakOpen(page, seconds))

    # What is asked for

    def asked(self) -> list[Asked]:
        """What the player has asked for since the last call, but for what the page that is open has taken."""
        pressed, self._pressed = self._pressed, []
        return [one for one in (*self._window.asked(), *pressed) if self._passed_on(one)]

    def heard(self, came: Sequence[Event], meant: Sequence[Event], asked: AskedOf) -> None:
        """Take what has come in from the instrument: pedals and held buttons ask for something; tests listen.

        Parameters
        ----------
        came, meant : as `companion.input.listening.Listening` has them.
        asked : how long the round in play asks for a pitch at most.
        """
        settings = self._settings
        pressed = [action for event in meant if (action := self.pedals.take(event)) is not None]
        if settings is None or not settings.testing:  # a test only says which pedal it was
            self._pressed += pressed
        if any(isinstance(page, ListOpen | QuestionsOpen | LearnOpen) for page in self._stack.pages):
            self.pedals.let_go()  # a note there is a trial
        held = self.pedals.held(self._clock(), asked)
        if held is not None:
            self._pressed.append(held)
        if settings is not None:
            settings.step(came)
        if isinstance(self._stack.top, QuestionsOpen):
            self._stack.top.questions.step(came)
        if isinstance(self._stack.top, LearnOpen):
            self._learn_on(self._stack.top.learning)

    def in_doubt(self, asked: AskedOf) -> bool:
        """Whether a note sounds that may turn out to be a held button: its round is not to be judged yet."""
        return self.pedals.holding(self._clock(), asked)

    def _passed_on(self, asked: Asked) -> bool:
        """Let the page that is open take it; whether there is none, so that it is the session's."""
        top = self._stack.top
        if asked is CLOSED:
            self.left = True
        elif isinstance(asked, Dropped):
            self._choosing.dropped(Path(asked.path))
        elif isinstance(top, LeaveOpen):
            self._answer(asked)
        elif asked is Action.QUIT:
            self.ask_to_leave()
        elif asked is Action.FULL_SCREEN:
            self._window.change_look(Action.FULL_SCREEN)
        elif isinstance(top, HelpOpen):
            if asked in (Nav.LEFT, Nav.RIGHT):
                self._stack.renew(HelpOpen((top.page + (1 if asked is Nav.RIGHT else -1)) % PAGES))
            elif asked in _CLOSES_HELP:
                self._stack.pop()
        elif isinstance(top, QuestionsOpen):
            self._take_answer(top.questions, asked)
        elif isinstance(top, LearnOpen):
            self._take_learning(top.learning, asked)
        elif isinstance(top, BreakOpen):
            return self._take_break(top, asked)
        elif top is not None:
            self._take_in_list(top, asked)
        else:
            return not self._opened(asked)
        return False

    def _answer(self, asked: Asked) -> None:
        if asked in _STAYS:
            self._stack.pop()
        elif asked in _LEAVES:
            self.left = True

    def _take_answer(self, questions: FirstQuestions, asked: Asked) -> None:
        """A question is answered, or left for later; the next one comes, or the tune."""
        if asked is Action.HELP:
            self._stack.push(HelpOpen())
            return
        questions.take(_IN_A_LIST.get(asked, asked) if isinstance(asked, Action) else asked)
        if questions.over:
            self._stack.pop()

    def _take_learning(self, learning: LearnBox, asked: Asked) -> None:
        if asked is Action.HELP:
            self._stack.push(HelpOpen())
            return
        learning.take(_IN_A_LIST.get(asked, asked) if isinstance(asked, Action) else asked)
        if learning.over:
            self._stack.pop()

    def _learn_on(self, learning: LearnBox) -> None:
        """Go on with what is heard; once it is learnt the page goes."""
        learning.step()
        if learning.over:
            self._stack.pop()
            beneath = self._settings
            if beneath is not None:
                beneath.learnt()

    def _take_break(self, top: BreakOpen, asked: Asked) -> bool:
        """Go on, leave, or back to the pause card, which the session shows."""
        if asked in (Action.PAUSE, Action.ON):
            self._stack.pop()
            self.left = top.page.ends and asked is Action.ON
        elif asked is Nav.LEAVE:
            self._stack.pop()
            return True
        elif asked in _OPENS:
            self._stack.pop()
            self._opened(asked)
        return False

    def _take_in_list(self, top: ListOpen, asked: Asked) -> None:
        here: Asked = _IN_A_LIST.get(asked, asked) if isinstance(asked, Action) else asked
        own = _OWN.get(type(top))
        if asked is own:
            here = Nav.LEAVE
        if asked in _OPENS and asked is not own:
            self._opened(asked)
        elif isinstance(top, ChooserOpen):
            self._choosing.take(top, here)
        elif isinstance(top, FinderOpen):
            self._choosing.find(top, here)
        elif isinstance(top, ProgressOpen):
            self._look_back(top.progress, here)
        else:
            self._set(top.settings, here)

    def _opened(self, asked: Asked) -> bool:
        """Open the page that is asked for; whether it was one. Where it cannot be opened nothing happens."""
        beneath = next((kind for kind, own in _OWN.items() if own is asked and self._stack.has(kind)), None)
        if beneath is not None:
            while not isinstance(self._stack.top, beneath):
                self._stack.pop()
        elif asked is Action.TUNES:
            self.choose()
        elif asked is Action.SETTINGS and self._open_settings is not None:
            self._stack.push(SettingsOpen(self._open_settings()))
        elif asked is Action.PROGRESS and self._practised is not None:
            self._stack.push(ProgressOpen(Progress(self._practised(), self._words)))
        elif asked is Action.HELP:
            self._stack.push(HelpOpen())
        return asked in _OPENS

    def _look_back(self, progress: Progress, asked: Asked) -> None:
        """On the page of what was gained: a tune that is chosen there is practised."""
        if asked is Nav.LEAVE:
            self._stack.pop()
            return
        progress.take(asked)
        if not progress.chosen or self.shelf is None:
            return
        place = self.shelf.placed(progress.chosen)
        title = next(row.title for row in progress.glance.rows if getattr(row, "id", "") == progress.chosen)
        if place is None:
            progress.say(self._words("gain.no_book", title=title))
            return
        self.wanted = NextTune(place.book, place.tune, self.shelf.box)
        progress.say(self._words("choose.opening", title=title))

    def _set(self, page: SettingsPage, asked: Asked) -> None:
        page.take(asked)
        self.calm_wait = page.own.calm_wait
        learning = page.learning()
        if learning is not None:
            self._stack.push(LearnOpen(learning))
            return
        if not page.left:
            return
        self._stack.pop()
        other = page.box and self.shelf is not None and page.box != self.shelf.box
        if other and self.shelf is not None:
            self.shelf.now_on(page.box)
        beneath = self._stack.top
        if isinstance(beneath, ChooserOpen):
            self.choose(first=beneath.first)  # as hard as the tunes are on the box that was chosen
        elif other and self.now is not None:
            self.wanted = replace(self.now, box=page.box)

    # What is seen

    def shown(self, now: float) -> Page | None:
        """The page to be seen; None where the session's own is. `now` is on the session's clock, in seconds."""
        self._choosing.read()
        top = self._stack.top
        if isinstance(top, LeaveOpen):
            return top.page
        if isinstance(top, HelpOpen):
            return HelpPage(top.page)
        if isinstance(top, ChooserOpen):
            return self._choosing.shown(top)
        if isinstance(top, FinderOpen):
            return top.finder.glance
        if isinstance(top, ProgressOpen):
            return top.progress.glance
        if isinstance(top, QuestionsOpen):
            return top.questions.glance
        if isinstance(top, LearnOpen):
            return top.learning.glance
        if isinstance(top, SettingsOpen):
            return top.settings.glance
        return self._shown_break(top, now) if top is not None else None

    def _shown_break(self, top: BreakOpen, now: float) -> Page | None:
        if top.until is None:
            top = replace(top, until=now + top.seconds)
            self._stack.renew(top)
        assert top.until is not None
        if now >= top.until:
            self._stack.pop()
            self.ended = top.page.ends
            return None
        return replace(top.page, wait=ceil(top.until - now))
