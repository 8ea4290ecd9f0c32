"""Asking for a file of tunes: what is typed, and what of it the folders there complete. Values in, values out, but that
folders are looked into."""

from __future__ import annotations

import os
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from urllib.parse import unquote, urlparse

from companion.pages.books_at_hand import books_at_hand, demo_book
from companion.screen.actions import Asked, Nav, Picked, Typed
from companion.screen.list_values import OpenBookPage, PathRow
from companion.screen.words import Say

ENDINGS = (".abc", ".musicxml", ".mxl", ".mid", ".midi", ".xml")
UP = ".."
MOST = 400  # rows


@dataclass(frozen=True, slots=True)
class BookFinder:
    """The page for opening a book.

    Parameters
    ----------
    typed : the path so far.
    rows : what lies there and begins so.
    at : the row that is picked out; -1 while the line itself is.
    chosen : the file that was chosen, None before.
    left : whether the page was left.
    notice : what must be said.
    """

    typed: str
    rows: tuple[PathRow, ...]
    words: Say
    at: int = -1
    chosen: Path | None = None
    left: bool = False
    notice: str = ""

    @property
    def glance(self) -> OpenBookPage:
        """What is to be seen."""
        return OpenBookPage(self.typed, self.rows, self.at, self.notice)

    def saying(self, notice: str) -> BookFinder:
        """The same page, with nothing chosen and something to be said."""
        return replace(self, chosen=None, notice=notice)

    def after(self, asked: Asked) -> BookFinder:
        """The page after the player has asked for something; what means nothing here changes nothing."""
        page = self.saying("")
        if isinstance(asked, Typed):
            return page._typed(asked.text)
        if isinstance(asked, Picked):
            return page._take(asked.row) if 0 <= asked.row < len(self.rows) else page
        if asked in (Nav.UP, Nav.DOWN):
            by = 1 if asked is Nav.DOWN else -1
            return replace(page, at=min(len(self.rows) - 1, max(-1, self.at + by)))
        if asked is Nav.LEFT:
            return page._at(_above(_folder_of(self.typed)))
        if asked is Nav.RIGHT:
            return page._take(self.at) if self.at >= 0 and self.rows[self.at].folder else page._typed("\t")
        if asked is Nav.ENTER:
            return page._take(self.at) if self.at >= 0 else page._take_typed()
        return replace(page, left=asked is Nav.LEAVE)

    def _at(self, typed: str) -> BookFinder:
        return replace(self, typed=typed, rows=_rows(typed), at=-1)

    def _typed(self, text: str) -> BookFinder:
        if text == "\b":
            return self._at(self.typed[:-1])
        if text == "\t":
            return self._completed()
        pasted = _pasted(text) if len(text) > 1 else text
        whole = len(text) > 1 and Path(pasted).expanduser().is_absolute()
        return self._at(pasted if whole else self.typed + pasted)

    def _completed(self) -> BookFinder:
        """Complete what is typed as far as all that lies there goes on alike, or with what is picked out."""
        if self.at >= 0:
            return self._at(self._path(self.at))
        fitting = [n for n, row in enumerate(self.rows) if row.name != UP]
        if len(fitting) == 1:
            return self._at(self._path(fitting[0]))
        alike = _alike([self.rows[n].name for n in fitting])
        return self._at(_folder_of(self.typed) + alike) if len(alike) > len(_begun(self.typed)) else self

    def _path(self, at: int) -> str:
        """What is typed once a row is taken."""
        row, folder = self.rows[at], _folder_of(self.typed)
        if row.name == UP:
            return _above(folder)
        return folder + row.name + (os.sep if row.folder else "")

    def _take(self, at: int) -> BookFinder:
        if self.rows[at].folder:
            return self._at(self._path(at))
        return replace(self, at=at, chosen=Path(self._path(at)).expanduser())

    def _take_typed(self) -> BookFinder:
        path = Path(self.typed.strip()).expanduser()
        if path.is_dir():
            entered = self._at(self.typed if self.typed.endswith(os.sep) else self.typed + os.sep)
            return entered.saying(self.words("book.choose_one"))
        return replace(self, chosen=path)


def find_book(words: Say) -> BookFinder:
    """The page as it is opened: in the folder of the player's own book that was used last, or at home."""
    own = [book for book in books_at_hand() if book != demo_book().resolve()]
    with suppress(RuntimeError):  # nobody has a home here
        folder = f"{own[0].parent if own else Path.home()}{os.sep}"
        return BookFinder(folder, _rows(folder), words)
    return BookFinder("", _rows(""), words)


def _pasted(text: str) -> str:
    """A path as it is copied elsewhere: in quotes, or as an address of a file."""
    bare = text.strip().strip("\"'").splitlines()[0] if text.strip() else ""
    return unquote(urlparse(bare).path) if bare.startswith("file://") else bare


def _folder_of(typed: str) -> str:
    """What is typed up to the last folder, with the stroke behind it."""
    return typed[: len(typed) - len(_begun(typed))]


def _begun(typed: str) -> str:
    """The name that is begun."""
    return os.path.split(typed)[1]


def _alike(names: Sequence[str]) -> str:
    """What all the names begin with, capitals or not."""
    if not names:
        return ""
    folded = sorted(name.casefold() for name in names)
    same = next((n for n, (a, b) in enumerate(zip(folded[0], folded[-1], strict=False)) if a != b), len(folded[0]))
    return names[0][:same]


def _above(folder: str) -> str:
    """The folder that a folder lies in."""
    above = Path(folder).expanduser().absolute().parent
    return str(above) if str(above).endswith(os.sep) else f"{above}{os.sep}"


def _rows(typed: str) -> tuple[PathRow, ...]:
    """The folders and the books that lie there and begin as it is typed, capitals or not."""
    folder, begun = Path(_folder_of(typed) or ".").expanduser(), _begun(typed).casefold()
    found: list[PathRow] = []
    with suppress(OSError, ValueError), os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.casefold().startswith(begun) and (begun or not entry.name.startswith(".")):
                found += _row(entry)
    found.sort(key=lambda row: (not row.folder, row.name.casefold()))
    up = [PathRow(UP, folder=True)] if not begun and folder.absolute().parent != folder.absolute() else []
    return (*up, *found[:MOST])


def _row(entry: os.DirEntry[str]) -> list[PathRow]:
    with suppress(OSError):
        if entry.is_dir():
            return [PathRow(entry.name, folder=True)]
        if entry.name.lower().endswith(ENDINGS):
            return [PathRow(entry.name, folder=False)]
    return []
