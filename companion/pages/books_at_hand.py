"""The books of tunes that the player keeps at hand: each that was opened or practised from once, by its path."""

from __future__ import annotations

import contextlib
from pathlib import Path

from companion.errors import UserError
from companion.places import own_data, shipped
from companion.whole_file import whole_file

FILE = "books.txt"
MOST = 50  # books, the ones used last
_NO_DEMO = "-demo"  # the line that takes the demo tunes off; an earlier version takes it for a file that has gone


def demo_book() -> Path:
    """The book of demo tunes that comes with the program."""
    return shipped("demo_tunes", "tanners_quay.abc")


def books_at_hand() -> tuple[Path, ...]:
    """The player's own that are still there, last used first, then the demo tunes unless they were taken off."""
    lines = _lines()
    demo = [] if _NO_DEMO in lines else [demo_book().resolve()]
    return tuple(dict.fromkeys([*(path for path in _books(lines) if path.is_file()), *demo]))


def remember(book: Path) -> None:
    """Put a book at the front of the player's own. Where that cannot be kept, it is done without."""
    book, lines = book.resolve(), _lines()
    if "\n" in str(book):
        return
    if book == demo_book().resolve():
        if _NO_DEMO in lines:
            _keep([line for line in lines if line != _NO_DEMO])
        return
    books = list(dict.fromkeys([book, *_books(lines)]))[:MOST]
    _keep([*map(str, books), *(line for line in lines if line == _NO_DEMO)])


def forget(book: Path) -> None:
    """Take a book off the list; its file is not touched. Where that cannot be kept, it is done without."""
    book, lines = book.resolve(), _lines()
    if book == demo_book().resolve():
        _keep([*(line for line in lines if line != _NO_DEMO), _NO_DEMO])
    else:
        _keep([line for line in lines if line == _NO_DEMO or Path(line) != book])


def _keep(lines: list[str]) -> None:
    path = _path()
    with contextlib.suppress(OSError, UserError):
        path.parent.mkdir(parents=True, exist_ok=True)
        with whole_file(path) as beside:
            beside.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")


def _books(lines: list[str]) -> list[Path]:
    return [Path(line) for line in lines if line != _NO_DEMO]


def _lines() -> list[str]:
    with contextlib.suppress(OSError, UnicodeDecodeError):
        return [line for line in _path().read_text(encoding="utf-8").splitlines() if line.strip()]
    return []


def _path() -> Path:
    return own_data() / FILE
