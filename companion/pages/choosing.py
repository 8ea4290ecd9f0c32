"""Choosing a tune, and opening books: what the two pages for that do with what the player asks for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from companion.errors import UserError
from companion.pages.book_finder import find_book
from companion.pages.open_pages import ChooserOpen, FinderOpen, OpenPage, QuestionsOpen
from companion.pages.page_stack import PageStack
from companion.pages.shelf import Shelf, TunePlace
from companion.screen.actions import Asked, Nav
from companion.screen.list_state import FIRST, Chooser
from companion.screen.page_values import Page
from companion.screen.words import Say


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


class Choosing:
    """The pages for choosing a tune and for opening a book, on a stack of pages.

    Parameters
    ----------
    shelf : the tunes that can be chosen; None where none can.
    leave : asks whether to leave, where no tune lies behind the page.

    Attributes
    ----------
    wanted : the tune that the player has chosen to go on with.
    """

    def __init__(self, stack: PageStack, shelf: Shelf | None, words: Say, leave: Callable[[], None]) -> None:
        self.wanted: NextTune | None = None
        self.shelf = shelf
        self._stack, self._words, self._leave = stack, words, leave
        self._shown: tuple[Chooser, Page] | None = None
        self._reading: tuple[Path, bool] | None = None  # a book that is to be opened; whether that was seen
        stack.left = self._left

    def open(self, notice: str = "", *, first: bool = False) -> None:
        """Open the page for choosing a tune, with something to be said; `first` where no tune lies behind it."""
        if self.shelf is None:
            return
        self._stack.close()
        self.shelf.remind()
        self.shelf.look()
        self._stack.push(
            ChooserOpen(Chooser(self.shelf.rows(), self.shelf.books, notice=notice or self.shelf.notice), first)
        )

    def _left(self, page: OpenPage) -> None:
        """Who leaves either page wants no book read any more."""
        if isinstance(page, ChooserOpen | FinderOpen):
            self._reading = None

    def take(self, top: ChooserOpen, asked: Asked) -> None:
        """Do what is asked for on the page for choosing a tune."""
        assert self.shelf is not None
        page = top.chooser.after(asked)
        if page.left and top.first:
            self._leave()
            return
        if page.left:
            self._stack.pop()
            return
        if page.removed:
            page = self._forgotten(page)
        elif asked is Nav.REMOVE:
            page = page.saying(self._words("choose.forget_how"))
        self._stack.renew(replace(top, chooser=page))
        if page.opening:
            self._stack.push(FinderOpen(find_book(self._words)))
        elif page.chosen:
            self._stack.renew(replace(top, chooser=self._taken_up(page)))

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

    def find(self, top: FinderOpen, asked: Asked) -> None:
        """Do what is asked for on the page for opening a book."""
        finder = top.finder.after(asked)
        if finder.left:
            self._stack.pop()
            return
        if finder.chosen is not None:
            self._reading = (finder.chosen, False)
            finder = finder.saying(self._words("choose.reading", name=finder.chosen.name))
        self._stack.renew(FinderOpen(finder))

    def dropped(self, path: Path) -> None:
        """Open a book that was dragged into the window: on the page for choosing, wherever one was."""
        if self.shelf is None:
            return
        if self._stack.has(QuestionsOpen):
            self._drop_early(path)
            return
        first = any(isinstance(page, ChooserOpen) and page.first for page in self._stack.pages)
        self.open(self._words("choose.reading", name=path.name), first=first)
        self._reading = (path, False)

    def _drop_early(self, path: Path) -> None:
        """Open a book while the first questions are asked: it is on the list afterwards."""
        assert self.shelf is not None
        questions = next(page.questions for page in self._stack.pages if isinstance(page, QuestionsOpen))
        try:
            self.shelf.open_book(path)
            questions.say(self._words("choose.opened", name=path.name))
        except UserError as why:
            questions.say(str(why))

    def read(self) -> None:
        """Read the book that was asked for, once it was seen that it is read."""
        if self._reading is None or not isinstance(self._stack.top, ChooserOpen | FinderOpen):
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
        if isinstance(self._stack.top, FinderOpen):
            self._stack.pop()
        self.shelf.look()
        top = self._stack.top
        if isinstance(top, ChooserOpen):
            chooser = Chooser(self.shelf.rows(), self.shelf.books).at_book(book)
            self._stack.renew(replace(top, chooser=chooser))

    def _say(self, notice: str) -> None:
        """Say something on the page for choosing a tune, or for opening a book."""
        top = self._stack.top
        if isinstance(top, ChooserOpen):
            self._stack.renew(replace(top, chooser=top.chooser.saying(notice)))
        elif isinstance(top, FinderOpen):
            self._stack.renew(FinderOpen(top.finder.saying(notice)))

    def shown(self, top: ChooserOpen) -> Page:
        """The page for choosing a tune as it is to be seen, with what has become known of the tunes."""
        assert self.shelf is not None
        chooser = top.chooser
        if self.shelf.look():
            chooser = chooser.knowing(self.shelf.rows(), self.shelf.books)
            self._stack.renew(replace(top, chooser=chooser))
        if self._shown is None or self._shown[0] is not chooser:
            self._shown = (chooser, chooser.glance)
        return self._shown[1]
