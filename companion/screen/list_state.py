"""Choosing a tune and changing settings: the state of the two pages, without drawing. Values in, values out."""

from __future__ import annotations

from dataclasses import dataclass, replace

from companion.screen.actions import Asked, Nav, Picked, Typed
from companion.screen.list_values import (
    HeadingKind,
    HeadingRow,
    ListRow,
    OpenBookRow,
    Order,
    SettingRow,
    SettingsList,
    TuneRow,
    TunesPage,
)

LATER = 10**6  # sorts a tune that is not in review after those that are due
FIRST = -1  # no row is picked out yet: the first tune is


@dataclass(frozen=True, slots=True)
class BookOnList:
    """A book whose tunes are listed: the caller's name of it, and its title."""

    id: str
    title: str


@dataclass(frozen=True, slots=True)
class Chooser:
    """The page for choosing a tune.

    Parameters
    ----------
    tunes : all tunes.
    books : their books, in the order in which they are listed.
    order : how they are sorted.
    search : what was typed: only tunes with all its words in title, rhythm or key are listed.
    at : which of the listed rows is picked out (`FIRST`: the first tune).
    chosen : the `id` of the tune that was chosen, "" before.
    opening : whether another book is to be opened.
    removed : the book that is to be taken off the list, "" for none.
    left : whether the page was left without choosing.
    notice : what must be said, until the player goes on.
    """

    tunes: tuple[TuneRow, ...]
    books: tuple[BookOnList, ...] = ()
    order: Order = Order.LEARNING
    search: str = ""
    at: int = FIRST
    chosen: str = ""
    opening: bool = False
    removed: str = ""
    left: bool = False
    notice: str = ""

    @property
    def rows(self) -> tuple[ListRow, ...]:
        """The listed rows in order: the tunes, with headings where they are grouped, and the row that opens a book."""
        words = self.search.casefold().split()
        listed = [tune for tune in self.tunes if all(word in _text(tune) for word in words)]
        listed.sort(key=lambda tune: (_rank(tune, self.order), tune.title.casefold()))
        if self.order is not Order.LEARNING:
            return (*listed, OpenBookRow())
        return (*_grouped(listed, self.books, searched=bool(words)), OpenBookRow())

    @property
    def glance(self) -> TunesPage:
        """What is to be seen."""
        rows = self.rows
        return TunesPage(rows, _picked(rows, self.at), self.order, self.search, self.notice)

    def knowing(self, tunes: tuple[TuneRow, ...], books: tuple[BookOnList, ...]) -> Chooser:
        """The same page, with more known of the tunes: the row that is picked out stays so."""
        rows = self.rows
        here = _name(rows[_picked(rows, self.at)])
        page = replace(self, tunes=tunes, books=books)
        return replace(page, at=next((n for n, row in enumerate(page.rows) if _name(row) == here), FIRST))

    def at_book(self, book: str) -> Chooser:
        """The page with the first tune of a book picked out."""
        page = replace(self, search="", order=Order.LEARNING)
        first = next((tune.id for tune in self.tunes if tune.book == book), "")
        return replace(page, at=next((n for n, row in enumerate(page.rows) if _name(row) == first), FIRST))

    def saying(self, notice: str) -> Chooser:
        """The same page, with nothing chosen and something to be said."""
        return replace(self, chosen="", opening=False, removed="", left=False, notice=notice)

    def after(self, asked: Asked) -> Chooser:
        """The page after the player has asked for something; what means nothing here changes nothing."""
        return self.saying("")._after(asked)

    def _after(self, asked: Asked) -> Chooser:
        if isinstance(asked, Typed):
            search = self.search[:-1] if asked.text == "\b" else (self.search + asked.text).lstrip()
            return replace(self, search=search, at=FIRST)
        if isinstance(asked, Picked):
            if asked.part in list(Order):
                return replace(self, order=Order(asked.part), at=FIRST)
            return self._removed(asked.row) if asked.part == "remove" else self._choose(asked.row)
        rows = self.rows
        if asked is Nav.ENTER:
            return self._choose(_picked(rows, self.at))
        if asked is Nav.REMOVE:
            return self._removed(_picked(rows, self.at))
        if asked in (Nav.UP, Nav.DOWN):
            return replace(self, at=_next(rows, _picked(rows, self.at), 1 if asked is Nav.DOWN else -1))
        if asked in (Nav.LEFT, Nav.RIGHT):
            orders = list(Order)
            turn = 1 if asked is Nav.RIGHT else -1
            return replace(self, order=orders[(orders.index(self.order) + turn) % len(orders)], at=FIRST)
        return replace(self, left=asked is Nav.LEAVE, opening=asked is Nav.OPEN_BOOK)

    def _choose(self, at: int) -> Chooser:
        """Take up a tune; a heading of a book leads to what stands under it."""
        rows = self.rows
        if not 0 <= at < len(rows) or not _can_be_picked(rows[at]):
            return self
        row = rows[at]
        if isinstance(row, HeadingRow):
            return replace(self, at=_next(rows, at, 1) if self.at == at else at)
        page = replace(self, at=at)
        return replace(page, opening=True) if isinstance(row, OpenBookRow) else replace(page, chosen=row.id)

    def _removed(self, at: int) -> Chooser:
        rows = self.rows
        row = rows[at] if 0 <= at < len(rows) else None
        return replace(self, removed=row.book) if isinstance(row, HeadingRow) else self


def _grouped(tunes: list[TuneRow], books: tuple[BookOnList, ...], *, searched: bool) -> list[ListRow]:
    """What is being learnt, the latest practised first; what is due; the rest by book. A book without a tune here keeps
    its heading, unless something is searched for."""
    learning = [tune for tune in tunes if tune.learning]
    learning.sort(key=lambda tune: -tune.far.last if tune.far is not None else 0)
    due = sorted((tune for tune in tunes if tune.due is not None and tune.due <= 0), key=lambda tune: tune.due or 0)
    above = {tune.id for tune in (*learning, *due)}
    rows: list[ListRow] = []
    for what, group in ((HeadingKind.LEARNING, learning), (HeadingKind.DUE, due)):
        if group:
            rows += [HeadingRow(what, len(group)), *group]
    for book in books:
        rest = [tune for tune in tunes if tune.book == book.id and tune.id not in above]
        if rest or not searched:
            rows += [HeadingRow(HeadingKind.BOOK, len(rest), book.title, book.id), *rest]
    return rows


def _can_be_picked(row: ListRow) -> bool:
    return not isinstance(row, HeadingRow) or row.what is HeadingKind.BOOK


def _picked(rows: tuple[ListRow, ...], at: int) -> int:
    """The row that is picked out: the first tune, or the first row that can be, where none was."""
    if at != FIRST:
        return min(at, len(rows) - 1)
    tunes = (n for n, row in enumerate(rows) if isinstance(row, TuneRow))
    return next(tunes, next(n for n, row in enumerate(rows) if _can_be_picked(row)))


def _next(rows: tuple[ListRow, ...], at: int, by: int) -> int:
    """The next row up or down that can be picked out; the same where there is none."""
    n = at + by
    while 0 <= n < len(rows):
        if _can_be_picked(rows[n]):
            return n
        n += by
    return at


def _name(row: ListRow) -> str:
    if isinstance(row, TuneRow):
        return row.id
    return f"{row.what} {row.book}" if isinstance(row, HeadingRow) else ""


def _text(tune: TuneRow) -> str:
    return f"{tune.title} {tune.rhythm} {tune.key}".casefold()


def _rank(tune: TuneRow, order: Order) -> tuple[float, str]:
    if order is Order.DUE:
        return (LATER if tune.due is None else tune.due, "")
    if order is Order.DIFFICULTY:
        return (2 * LATER if not tune.fits else LATER if tune.difficulty is None else tune.difficulty, "")
    return (0, tune.rhythm.casefold() if order is Order.RHYTHM else "")


@dataclass(frozen=True, slots=True)
class Setting:
    """A setting: the values that it can have, in words, which of them it has, and the test beside it ("": none); a
    meter beside it stands at `level`, 0 to 1 (None: there is none)."""

    id: str
    name: str
    values: tuple[str, ...]
    at: int
    test: str = ""
    result: str = ""
    level: float | None = None

    @property
    def value(self) -> str:
        """The value that it has, "" where it can have none."""
        return self.values[self.at] if self.values else ""


@dataclass(frozen=True, slots=True)
class Settings:
    """The page for the settings.

    `testing` is the `id` of the setting whose test was asked for ("" for none): run it, then call `tested`. `changed`
    is the `id` of the setting that was just changed. `left` says that the page was left.
    """

    settings: tuple[Setting, ...]
    at: int = 0
    testing: str = ""
    changed: str = ""
    left: bool = False

    @property
    def glance(self) -> SettingsList:
        """What is to be seen."""
        rows = tuple(
            SettingRow(one.id, one.name, one.value, one.test, one.result, len(one.values) < 2, one.level)
            for one in self.settings
        )
        return SettingsList(rows, self.at)

    def after(self, asked: Asked) -> Settings:
        """The page after the player has asked for something; what means nothing here changes nothing."""
        page = replace(self, testing="", changed="")
        if isinstance(asked, Picked) and 0 <= asked.row < len(self.settings):
            page = replace(page, at=asked.row)
            if asked.part == "test":
                return page._test()
            return page._changed(-1 if asked.part == "less" else 1) if asked.part in ("less", "more") else page
        if asked in (Nav.UP, Nav.DOWN):
            last = max(0, len(self.settings) - 1)
            return replace(page, at=min(last, max(0, self.at + (1 if asked is Nav.DOWN else -1))))
        if asked in (Nav.LEFT, Nav.RIGHT):
            return page._changed(1 if asked is Nav.RIGHT else -1)
        if asked is Nav.ENTER:
            return page._test()
        return replace(page, left=True) if asked is Nav.LEAVE else page

    def tested(self, result: str) -> Settings:
        """The page with what the test of the picked setting said."""
        return self._with(replace(self.settings[self.at], result=result), testing="")

    def _test(self) -> Settings:
        here = self.settings[self.at] if self.settings else None
        return replace(self, testing=here.id) if here is not None and here.test else self

    def _changed(self, by: int) -> Settings:
        if not self.settings or len(self.settings[self.at].values) < 2:
            return self
        here = self.settings[self.at]
        new = replace(here, at=(here.at + by) % len(here.values), result="")
        return replace(self._with(new, testing=""), changed=here.id)

    def _with(self, new: Setting, testing: str) -> Settings:
        settings = tuple(new if n == self.at else one for n, one in enumerate(self.settings))
        return replace(self, settings=settings, testing=testing)
