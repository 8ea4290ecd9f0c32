"""The books of tunes that the player keeps at hand: each that was practised from once, by its path."""

from __future__ import annotations

import contextlib
from pathlib import Path

from companion.errors import UserError
from companion.places import own_data, shipped
from companion.whole_file import whole_file

FILE = "books.txt"
MOST = 50  # books, the ones used last


def demo_book() -> Path:
    """The book of demo tunes that comes with the program."""
    return shipped("demo_tunes", "tanners_quay.abc")


def books_at_hand() -> tuple[Path, ...]:
    """The player's own that are still there, last used first, then the demo tunes."""
    return tuple(dict.fromkeys([*(path for path in _read() if path.is_file()), demo_book().resolve()]))


def remember(book: Path) -> None:
    """Put a book at the front of the player's own. Where that cannot be kept, it is done without."""
    book = book.resolve()
    if book == demo_book().resolve() or "\n" in str(book):
        return
    books = list(dict.fromkeys([book, *_read()]))[:MOST]
    path = _path()
    with contextlib.suppress(OSError, UserError):
        path.parent.mkdir(parents=True, exist_ok=True)
        with whole_file(path) as beside:
            beside.write_text("".join(f"{one}\n" for one in books), encoding="utf-8")


def _read() -> list[Path]:
    with contextlib.suppress(OSError, UnicodeDecodeError):
        return [Path(line) for line in _path().read_text(encoding="utf-8").splitlines() if line.strip()]
    return []


def _path() -> Path:
    return own_data() / FILE
