"""The pages over a session: choosing a tune, opening a book, the settings, what was gained, the break between two
pieces, help, and leaving.

Open pages lie on one stack, and the top one takes what the player asks for: from the window, from pedals, from a button
that is held. It takes what it has a use for; the rest does nothing there. Esc takes the top page away, wherever one is.
With no page open, what is asked for is the session's. While one is open nothing sounds but what it lets be heard.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil
from pathlib import Path

from companion.errors import UserError
from companion.input.events import Event
from companion.pages.book_finder import find_book
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
from companion.pages.pedals import Asked as AskedOf
from companion.pages.pedals import Pedals
from companion.pages.practised import PracticeReport
from companion.pages.progress_page import Progress
from companion.pages.settings_page import SettingsPage
from companion.pages.shelf import Shelf, TunePlace
from companion.screen.actions import CLOSED, Action, Asked, Dropped, Nav
from companion.screen.help import PAGES
from companion.screen.list_state import FIRST, Chooser
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
_OPENS = (Action.TUNES, Action.SETTINGS, Action.PROGRESS, Action.HELP)
# The page that each of them opens; on it, the same leads back.
_OWN: dict[type[OpenPage], Action] = {
    ChooserOpen: Action.TUNES,
    SettingsOpen: Action.SETTINGS,
    ProgressOpen: Action.PROGRESS,
}

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
    practised : gives what was practised, for the page that shows it; None where there is none.
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
        practised: Callable[[], PracticeReport] | None = None,
        calm_wait: float = 0.0,
        now: NextTune | None = None,
        clock: Callable[[], float] = time.perf_counter,
    ) -> None:
        self.wanted: NextTune | None = None
        self.shelf, self.calm_wait, self.now = shelf, calm_wait, now
        self.pedals = Pedals(load_pedals())
        self.gained: Callable[[], tuple[str, ...]] = tuple
        self.ended = self.left = False
        self._window, self._words, self._clock = window, words, clock
        self._open_settings, self._practised = settings, practised
        self._stack: tuple[OpenPage, ...] = ()
        self._chooser_page: tuple[Chooser, Page] | None = None
        self._pressed: list[Asked] = []  # by pedals and held buttons
        self._reading: tuple[Path, bool] | None = None  # a book that is to be opened; whether that was seen

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
        return bool(self._stack)

    @property
    def interrupts(self) -> bool:
        """Whether a page is open for which the round in play is broken off."""
        return any(not isinstance(page, BreakOpen) for page in self._stack)

    def ask(self, questions: FirstQuestions) -> None:
        """Ask the questions of the first evening, where there are any."""
        if not questions.over:
            self._push(QuestionsOpen(questions))

    def learn(self, learning: LearnBox) -> None:
        """Get to know a box through a microphone."""
        self._push(LearnOpen(learning))

    def choose(self, notice: str = "", *, first: bool = False) -> None:
        """Open the page for choosing a tune, with something to be said; `first` where no tune lies behind it."""
        if self.shelf is None:
            return
        self.close()
        self.shelf.remind()
        self.shelf.look()
        self._push(ChooserOpen(Chooser(self.shelf.rows(), self.shelf.books, notice=notice or self.shelf.notice), first))

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
        self._push(LeaveOpen(LeavePage(self.gained())))

    def close(self) -> None:
        """Close what is open."""
        while self._stack:
            self._pop()

    def _push(self, page: OpenPage) -> None:
        self._stack = (*self._stack, page)

    def _pop(self) -> None:
        *below, top = self._stack
        if isinstance(top, SettingsOpen):
            top.settings.stop()
        if isinstance(top, LearnOpen):
            top.learning.stop()
        if isinstance(top, ChooserOpen | FinderOpen):
            self._reading = None
        self._stack = tuple(below)

    def _has(self, kind: type[OpenPage]) -> bool:
        """Whether a page of that kind is open, at the top or beneath."""
        return any(isinstance(page, kind) for page in self._stack)

    def _renew(self, page: OpenPage) -> None:
        """The top page, changed."""
        self._stack = (*self._stack[:-1], page)

    @property
    def _top(self) -> OpenPage | None:
        return self._stack[-1] if self._stack else None

    @property
    def _settings(self) -> SettingsPage | None:
        """The settings, where they are open, under help too."""
        return next((one.settings for one in self._stack if isinstance(one, SettingsOpen)), None)

    def _show_break(self, page: BreakPage, seconds: float) -> None:
        self.close()
        self._push(BreakOpen(page, seconds))

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
        if any(isinstance(page, ListOpen | QuestionsOpen | LearnOpen) for page in self._stack):
            self.pedals.let_go()  # a note there is a trial
        held = self.pedals.held(self._clock(), asked)
        if held is not None:
            self._pressed.append(held)
        if settings is not None:
            settings.step(came)
        if isinstance(self._top, QuestionsOpen):
            self._top.questions.step(came)
        if isinstance(self._top, LearnOpen):
            self._learn_on(self._top.learning)

    def in_doubt(self, asked: AskedOf) -> bool:
        """Whether a note sounds that may turn out to be a held button: its round is not to be judged yet."""
        return self.pedals.holding(self._clock(), asked)

    def _passed_on(self, asked: Asked) -> bool:
        """Let the page that is open take it; whether there is none, so that it is the session's."""
        top = self._top
        if asked is CLOSED:
            self.left = True
        elif isinstance(asked, Dropped):
            self._dropped(Path(asked.path))
        elif isinstance(top, LeaveOpen):
            self._answer(asked)
        elif asked is Action.QUIT:
            self.ask_to_leave()
        elif asked is Action.FULL_SCREEN:
            self._window.change_look(Action.FULL_SCREEN)
        elif isinstance(top, HelpOpen):
            if asked in (Nav.LEFT, Nav.RIGHT):
                self._renew(HelpOpen((top.page + (1 if asked is Nav.RIGHT else -1)) % PAGES))
            elif asked in _CLOSES_HELP:
                self._pop()
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
            self._pop()
        elif asked in _LEAVES:
            self.left = True

    def _take_answer(self, questions: FirstQuestions, asked: Asked) -> None:
        """A question is answered, or left for later; the next one comes, or the tune."""
        if asked is Action.HELP:
            self._push(HelpOpen())
            return
        questions.take(_IN_A_LIST.get(asked, asked) if isinstance(asked, Action) else asked)
        if questions.over:
            self._pop()

    def _take_learning(self, learning: LearnBox, asked: Asked) -> None:
        if asked is Action.HELP:
            self._push(HelpOpen())
            return
        learning.take(_IN_A_LIST.get(asked, asked) if isinstance(asked, Action) else asked)
        if learning.over:
            self._pop()

    def _learn_on(self, learning: LearnBox) -> None:
        """Go on with what is heard; once it is learnt the page goes."""
        learning.step()
        if learning.over:
            self._pop()
            beneath = self._settings
            if beneath is not None:
                beneath.learnt()

    def _take_break(self, top: BreakOpen, asked: Asked) -> bool:
        """Go on, leave, or back to the pause card, which the session shows."""
        if asked in (Action.PAUSE, Action.ON):
            self._pop()
            self.left = top.page.ends and asked is Action.ON
        elif asked is Nav.LEAVE:
            self._pop()
            return True
        elif asked in _OPENS:
            self._pop()
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
            self._choose(top, here)
        elif isinstance(top, FinderOpen):
            self._find(top, here)
        elif isinstance(top, ProgressOpen):
            self._look_back(top.progress, here)
        else:
            self._set(top.settings, here)

    def _opened(self, asked: Asked) -> bool:
        """Open the page that is asked for; whether it was one. Where it cannot be opened nothing happens."""
        beneath = next((kind for kind, own in _OWN.items() if own is asked and self._has(kind)), None)
        if beneath is not None:
            while not isinstance(self._top, beneath):
                self._pop()
        elif asked is Action.TUNES:
            self.choose()
        elif asked is Action.SETTINGS and self._open_settings is not None:
            self._push(SettingsOpen(self._open_settings()))
        elif asked is Action.PROGRESS and self._practised is not None:
            self._push(ProgressOpen(Progress(self._practised(), self._words)))
        elif asked is Action.HELP:
            self._push(HelpOpen())
        return asked in _OPENS

    def _choose(self, top: ChooserOpen, asked: Asked) -> None:
        assert self.shelf is not None
        page = top.chooser.after(asked)
        if page.left and top.first:
            self.ask_to_leave()
            return
        if page.left:
            self._pop()
            return
        if page.removed:
            page = self._forgotten(page)
        elif asked is Nav.REMOVE:
            page = page.saying(self._words("choose.forget_how"))
        self._renew(replace(top, chooser=page))
        if page.opening:
            self._push(FinderOpen(find_book(self._words)))
        elif page.chosen:
            self._renew(replace(top, chooser=self._taken_up(page)))

    def _taken_up(self, page: Chooser) -> Chooser:
        """Go on with the tune that was chosen; or say why it cannot be played."""
        assert self.shelf is not None
        title = next(tune.title for tune in page.tunes if tune.id == page.chosen)
        lacks = self.shelf.lacks(page.chosen)
        if lacks:
            return page.saying(f"{title}: {lacks}.")
        place: TunePlace = self.shelf.place(page.chosen)
        self.wanted = NextTune(place.book, place.tune, self.shelf.box)
        return page.saying(self._words("choose.opening", title=title))

    def _forgotten(self, page: Chooser) -> Chooser:
        """Take a book off the list."""
        assert self.shelf is not None
        title = self.shelf.forget(page.removed)
        page = replace(page.saying(""), at=FIRST)
        page = page.knowing(self.shelf.rows(), self.shelf.books)
        return replace(page, at=FIRST).saying(self._words("choose.forgotten", title=title))

    def _find(self, top: FinderOpen, asked: Asked) -> None:
        finder = top.finder.after(asked)
        if finder.left:
            self._pop()
            return
        if finder.chosen is not None:
            self._reading = (finder.chosen, False)
            finder = finder.saying(self._words("choose.reading", name=finder.chosen.name))
        self._renew(FinderOpen(finder))

    def _dropped(self, path: Path) -> None:
        """Open a book that was dragged into the window: on the page for choosing, wherever one was."""
        if self.shelf is None:
            return
        if self._has(QuestionsOpen):
            self._drop_early(path)
            return
        first = any(isinstance(page, ChooserOpen) and page.first for page in self._stack)
        self.choose(self._words("choose.reading", name=path.name), first=first)
        self._reading = (path, False)

    def _drop_early(self, path: Path) -> None:
        """Open a book while the first questions are asked: it is on the list afterwards."""
        assert self.shelf is not None
        questions = next(page.questions for page in self._stack if isinstance(page, QuestionsOpen))
        try:
            self.shelf.open_book(path)
            questions.say(self._words("choose.opened", name=path.name))
        except UserError as why:
            questions.say(str(why))

    def _read(self) -> None:
        """Read the book that was asked for, once it was seen that it is read."""
        if self._reading is None or not isinstance(self._top, ChooserOpen | FinderOpen):
            return
        path, seen = self._reading
        self._reading = None if seen else (path, True)
        if seen:
            self._opened_book(path)

    def _opened_book(self, path: Path) -> None:
        """Open a book; what cannot be read is said on the page, and nothing else changes."""
        assert self.shelf is not None
        try:
            book = self.shelf.open_book(path)
        except UserError as why:
            self._say(str(why))
            return
        if isinstance(self._top, FinderOpen):
            self._pop()
        self.shelf.look()
        top = self._top
        if isinstance(top, ChooserOpen):
            chooser = Chooser(self.shelf.rows(), self.shelf.books).at_book(book)
            self._renew(replace(top, chooser=chooser))

    def _say(self, notice: str) -> None:
        """Say something on the page for choosing a tune, or for opening a book."""
        top = self._top
        if isinstance(top, ChooserOpen):
            self._renew(replace(top, chooser=top.chooser.saying(notice)))
        elif isinstance(top, FinderOpen):
            self._renew(FinderOpen(top.finder.saying(notice)))

    def _look_back(self, progress: Progress, asked: Asked) -> None:
        """On the page of what was gained: a tune that is chosen there is practised."""
        if asked is Nav.LEAVE:
            self._pop()
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
            self._push(LearnOpen(learning))
            return
        if not page.left:
            return
        self._pop()
        other = page.box and self.shelf is not None and page.box != self.shelf.box
        if other and self.shelf is not None:
            self.shelf.now_on(page.box)
        beneath = self._top
        if isinstance(beneath, ChooserOpen):
            self.choose(first=beneath.first)  # as hard as the tunes are on the box that was chosen
        elif other and self.now is not None:
            self.wanted = replace(self.now, box=page.box)

    # What is seen

    def shown(self, now: float) -> Page | None:
        """The page to be seen; None where the session's own is. `now` is on the session's clock, in seconds."""
        self._read()
        top = self._top
        if isinstance(top, LeaveOpen):
            return top.page
        if isinstance(top, HelpOpen):
            return HelpPage(top.page)
        if isinstance(top, ChooserOpen):
            return self._shown_chooser(top)
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
            self._renew(top)
        assert top.until is not None
        if now >= top.until:
            self._pop()
            self.ended = top.page.ends
            return None
        return replace(top.page, wait=ceil(top.until - now))

    def _shown_chooser(self, top: ChooserOpen) -> Page:
        assert self.shelf is not None
        chooser = top.chooser
        if self.shelf.look():
            chooser = chooser.knowing(self.shelf.rows(), self.shelf.books)
            self._renew(replace(top, chooser=chooser))
        if self._chooser_page is None or self._chooser_page[0] is not chooser:
            self._chooser_page = (chooser, chooser.glance)
        return self._chooser_page[1]
