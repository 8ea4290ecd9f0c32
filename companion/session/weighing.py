"""Weighs the tunes of books on a box, in a process of its own, so that neither picture nor sound waits for it.

Run by `companion.session.shelf` as ``python -m companion.session.weighing BOX BOOK ...``. What it finds goes into the
cache as it goes on; it can be stopped at any time. It ends by itself when whoever started it is gone.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from companion.box.layout import load_box
from companion.box.model import Box
from companion.errors import UserError
from companion.notation import read_book
from companion.notation.book import read_bytes
from companion.session.weights import Weight, keep, key_of, known, weigh
from companion.tune.unfold import unfold

EVERY = 1.0  # seconds between two times that what was found is kept


def main(arguments: Sequence[str]) -> int:
    """Weigh what is not known yet, book after book."""
    with suppress(OSError, AttributeError):
        os.nice(15)
    parent = os.getppid()
    box = load_box(arguments[0])
    for book in map(Path, arguments[1:]):
        with suppress(UserError, OSError):
            _weigh_book(book, box, parent)
    return 0


def _weigh_book(path: Path, box: Box, parent: int) -> None:
    key = key_of(read_bytes(path), box)
    done = known(key)
    found: list[Weight] = []
    kept = time.monotonic()
    for tune in read_book(path).tunes:
        if os.getppid() != parent:
            break
        if tune.name in done or not tune.notes or tune.errors:
            continue
        with suppress(UserError):  # a tune that cannot be unfolded has no weight
            found.append(weigh(tune, unfold(tune), box))
            done[tune.name] = found[-1]
        if time.monotonic() - kept > EVERY:
            keep(key, found)
            found, kept = [], time.monotonic()
    keep(key, found)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
