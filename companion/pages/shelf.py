"""The tunes that can be chosen in the window: the books at hand, how hard each tune is on the box, and what is due.

What is known of the tunes' difficulty is shown at once; the rest is worked out beside (`weighing`) and comes in bit by
bit. What is due comes from the record: a function that gives days by the fingerprint of a tune.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from companion.box.layout import load_box
from companion.errors import UserError
from companion.notation import tune_index
from companion.notation.book import read_bytes
from companion.pages.difficulty_cache import TuneDifficulty, keep, key_of, known, share_of, weigh
from companion.screen.page_values import TuneRow
from companion.tune.tune import Tune
from companion.tune.tune_values import OnceThrough

AGAIN = 0.7  # seconds between two looks at what has become known

Due = Callable[[str], Mapping[str, int]]
"""Given a box: in how many days each tune should come back (0 or less: now), by its fingerprint."""


@dataclass(frozen=True, slots=True)
class TunePlace:
    """Where a tune is: its book, and its name in it (`companion.tune.names`)."""

    book: Path
    tune: str

    @property
    def id(self) -> str:
        """A name for it that no other tune of the shelf has."""
        return f"{self.tune}\t{self.book}"


class Shelf:
    """The books at hand, on one box.

    Parameters
    ----------
    books : files of tunes. One that cannot be read is left out; `notice` says why.
    box : the layout's name or file.
    due : what is due; None where nothing is known of that.
    """

    def __init__(self, books: Sequence[Path], box: str, due: Due | None = None) -> None:
        self.box = box
        self.notice = ""
        self._due = due
        self._entries: dict[str, tuple[TunePlace, tune_index.Entry]] = {}
        self._keys: dict[Path, str] = {}
        self._weights: dict[str, TuneDifficulty] = {}
        self._weigher: subprocess.Popen[bytes] | None = None
        self._looked = 0.0
        for book in books:
            self._add(book)

    def rows(self) -> tuple[TuneRow, ...]:
        """Every tune that can be played, in the order of the books, with what is known of it."""
        due = self._due(self.box) if self._due is not None else {}
        return tuple(self._row(name, entry, due) for name, (_, entry) in self._entries.items())

    def place(self, name: str) -> TunePlace:
        """Where the tune is that has that `id`."""
        return self._entries[name][0]

    def placed(self, fingerprint: str) -> TunePlace | None:
        """Where the tune is that the record knows by this fingerprint; None where that is not known."""
        self.look()
        names = (name for name, weight in self._weights.items() if weight.print == fingerprint)
        return next((self._entries[name][0] for name in names), None)

    def lacks(self, name: str) -> str:
        """What the box lacks for a tune, as far as that is known; "" where nothing is."""
        weight = self._weights.get(name)
        return weight.lacks if weight is not None else ""

    def now_on(self, box: str) -> None:
        """Show the tunes on another box."""
        if box != self.box:
            self.close()
            self.box = box
            self._keys.clear()
            self._weights.clear()

    def learn(self, book: Path, tune: Tune, round_: OnceThrough) -> None:
        """Know of a tune at once, as soon as it is opened."""
        keep(self._key(book.resolve()), [weigh(tune, round_, load_box(self.box))])

    def look(self) -> bool:
        """Look, now and then, whether more has become known; whether it has. The first look begins the weighing."""
        now = time.monotonic()
        if self._looked and now - self._looked < AGAIN:
            return False
        self._looked = now
        before = len(self._weights)
        books = {place.book for place, _ in self._entries.values()}
        for book in books:
            found = known(self._key(book))
            for tune, weight in found.items():
                name = TunePlace(book, tune).id
                if name in self._entries:
                    self._weights[name] = weight
        if self._weigher is None and len(self._weights) < len(self._entries):
            self._begin(sorted(books))
        return len(self._weights) != before

    def close(self) -> None:
        """Stop the weighing."""
        if self._weigher is not None:
            self._weigher.terminate()
            self._weigher.wait(timeout=5)
        self._weigher, self._looked = None, 0.0

    def _add(self, book: Path) -> None:
        try:
            listing = tune_index.listing(book)
        except UserError as why:
            self.notice = str(why)
            return
        for entry in listing.tunes:
            place = TunePlace(book, entry.name)
            if entry.playable and place.id not in self._entries:
                self._entries[place.id] = (place, entry)

    def _row(self, name: str, entry: tune_index.Entry, due: Mapping[str, int]) -> TuneRow:
        title = f"{entry.title} ({entry.name})".strip() if entry.nth else entry.title
        row = TuneRow(name, title, entry.rhythm, entry.key, None, None)
        weight = self._weights.get(name)
        if weight is None:
            return row
        share = None if weight.points is None else share_of(weight.points)
        return replace(row, difficulty=share, fits=not weight.lacks, due=due.get(weight.print))

    def _key(self, book: Path) -> str:
        if book not in self._keys:
            try:
                self._keys[book] = key_of(read_bytes(book), load_box(self.box))
            except UserError:
                self._keys[book] = ""  # it has gone since: nothing is known of it
        return self._keys[book]

    def _begin(self, books: Sequence[Path]) -> None:
        command = [sys.executable, "-m", "companion.pages.rating_process", self.box, *map(str, books)]
        try:
            self._weigher = subprocess.Popen(
                command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
            )
        except OSError:  # no process to be had: what is known is shown
            self._weigher = None
            self._looked = float("inf")
