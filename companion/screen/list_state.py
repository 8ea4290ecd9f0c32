"""Choosing a tune and changing settings: the state of the two pages, without drawing. Values in, values out."""

from __future__ import annotations

from dataclasses import dataclass, replace

from companion.screen.actions import Asked, Nav, Picked, Typed
from companion.screen.page_values import Order, SettingRow, SettingsList, TuneRow, TunesPage

LATER = 10**6  # sorts a tune that has not been begun after those that are due


@dataclass(frozen=True, slots=True)
class Chooser:
    """The page for choosing a tune.

    Parameters
    ----------
    tunes : all tunes.
    order : how they are sorted.
    search : what was typed: only tunes with all its words in title, rhythm or key are listed.
    at : which of the listed ones is picked out.
    chosen : the `id` of the tune that was chosen, "" before.
    left : whether the page was left without choosing.
    notice : what must be said, until the player goes on.
    """

    tunes: tuple[TuneRow, ...]
    order: Order = Order.DUE
    search: str = ""
    at: int = 0
    chosen: str = ""
    left: bool = False
    notice: str = ""

    @property
    def rows(self) -> tuple[TuneRow, ...]:
        """The listed tunes in order."""
        words = self.search.casefold().split()
        listed = [tune for tune in self.tunes if all(word in _text(tune) for word in words)]
        return tuple(sorted(listed, key=lambda tune: (_rank(tune, self.order), tune.title.casefold())))

    @property
    def glance(self) -> TunesPage:
        """What is to be seen."""
        return TunesPage(self.rows, self.at, self.order, self.search, self.notice)

    def knowing(self, tunes: tuple[TuneRow, ...]) -> Chooser:
        """The same page, with more known of the tunes: the one that is picked out stays so."""
        rows = self.rows
        picked = rows[self.at].id if self.at < len(rows) else ""
        page = replace(self, tunes=tunes)
        at = next((n for n, tune in enumerate(page.rows) if tune.id == picked), 0)
        return replace(page, at=at)

    def saying(self, notice: str) -> Chooser:
        """The same page, with nothing chosen and something to be said."""
        return replace(self, chosen="", left=False, notice=notice)

    def after(self, asked: Asked) -> Chooser:
        """The page after the player has asked for something; what means nothing here changes nothing."""
        return replace(self, notice="")._after(asked)

    def _after(self, asked: Asked) -> Chooser:
        if isinstance(asked, Typed):
            search = self.search[:-1] if asked.text == "\b" else (self.search + asked.text).lstrip()
            return replace(self, search=search, at=0)
        if isinstance(asked, Picked):
            if asked.part in list(Order):
                return replace(self, order=Order(asked.part), at=0)
            return self._choose(asked.row)
        if asked is Nav.ENTER:
            return self._choose(self.at)
        if asked is Nav.LEAVE:
            return replace(self, left=True)
        if asked in (Nav.UP, Nav.DOWN):
            last = max(0, len(self.rows) - 1)
            return replace(self, at=min(last, max(0, self.at + (1 if asked is Nav.DOWN else -1))))
        if asked in (Nav.LEFT, Nav.RIGHT):
            orders = list(Order)
            turn = 1 if asked is Nav.RIGHT else -1
            return replace(self, order=orders[(orders.index(self.order) + turn) % len(orders)], at=0)
        return self

    def _choose(self, row: int) -> Chooser:
        rows = self.rows
        return replace(self, at=row, chosen=rows[row].id) if 0 <= row < len(rows) else self


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
    """A setting: the values that it can have, in words, which of them it has, and the test beside it ("": none)."""

    id: str
    name: str
    values: tuple[str, ...]
    at: int
    test: str = ""
    result: str = ""

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
            SettingRow(one.id, one.name, one.value, one.test, one.result, len(one.values) < 2) for one in self.settings
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
