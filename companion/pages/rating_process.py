"""Works out how hard tunes are on a box, in its own process, so that neither picture nor sound waits.

Run by `companion.pages.shelf` as ``python -m companion.pages.rating_process BOX BOOK ...``, and by `companion choose`
with `--named`: several at once, each with tunes of its own. What it finds goes into the cache as it goes on; it can be
stopped at any time. It ends by itself when whoever started it is gone.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Container, Iterable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path

from companion.box.box_values import Box
from companion.box.layout import load_box
from companion.errors import UserError
from companion.notation import read_book
from companion.notation.book import read_bytes
from companion.pages.difficulty_cache import TuneDifficulty, keep, key_of, known, weigh
from companion.tables import read_tables
from companion.tune.tune import Tune
from companion.tune.unfold import unfold

EVERY = 1.0  # seconds between two times that what was found is kept


def main(arguments: Sequence[str]) -> int:
    """Weigh what is not known yet, book after book."""
    parser = argparse.ArgumentParser()
    parser.add_argument("box")
    parser.add_argument("books", nargs="+", type=Path)
    parser.add_argument("--voice")
    parser.add_argument("--named", action="store_true", help="only the tunes named on the standard input; at once")
    given = parser.parse_args(arguments)
    parent = os.getppid()
    named = set(sys.stdin.read().split()) if given.named else None
    if not given.named:
        with suppress(OSError, AttributeError):
            os.nice(15)
    box = load_box(given.box)
    for book in given.books:
        with suppress(UserError, OSError):
            for _ in weighed(book, box, given.voice, named):
                if os.getppid() != parent:
                    return 0
    return 0


def weighed(path: Path, box: Box, voice: str | None, named: Container[str] | None = None) -> Iterator[TuneDifficulty]:
    """Weigh what is not known yet of a book, or of the named tunes in it; kept as it goes on."""
    key = key_of(read_bytes(path), box, voice)
    done = known(key)
    tunes = read_book(path, voice, ornaments=read_tables().ornaments.names).tunes
    asked = (tune for tune in tunes if named is None or tune.name in named)
    return _kept(key, _each((tune for tune in asked if tune.name not in done), box))


def _each(tunes: Iterable[Tune], box: Box) -> Iterator[TuneDifficulty]:
    for tune in tunes:
        if tune.notes and not tune.errors:
            yield weigh(tune, unfold(tune), box)


def _kept(key: str, weights: Iterable[TuneDifficulty]) -> Iterator[TuneDifficulty]:
    """The same; what has come is kept now and then, and at the end, however that comes."""
    found: list[TuneDifficulty] = []
    last = time.monotonic()
    try:
        for one in weights:
            found.append(one)
            yield one
            if time.monotonic() - last > EVERY:
                keep(key, found)
                found, last = [], time.monotonic()
    finally:
        keep(key, found)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
