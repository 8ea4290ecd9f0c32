"""The tunes that can be chosen in the window: the books at hand, how hard each tune is on the box, and what is due.

What is known of the tunes' difficulty is shown at once; the rest is worked out beside (`weighing`) and comes in bit by
bit. What was practised comes from the record: a function that gives how far tunes are, by their fingerprints.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from companion.box.layout import load_box
from companion.errors import Place, UserError
from companion.notation import tune_index
from companion.notation.book import read_bytes
from companion.pages.book_title import book_title
from companion.pages.books_at_hand import forget, remember
from companion.pages.difficulty_cache import TuneDifficulty, keep, key_of, known, share_of, weigh
from companion.pages.spoken_names import spoken_key, spoken_rhythm
from companion.screen.list_state import BookOnList
from companion.screen.list_values import HowFar, TuneRow
from companion.store.practice_history import TuneMemory
from companion.tune.tune import Tune
from companion.tune.tune_values import OnceThrough

AGAIN = 0.7  # seconds between two looks at what has become known


@dataclass(frozen=True, slots=True)
class TunePast:
    """What the record has of a tune: in how many days it should come back (0 or less: now; None: it is not in review),
    and how far it is."""

    due: int | None
    far: HowFar | None = None


Past = Callable[[str], Mapping[str, TunePast]]
"""Given a box: what the record has of each tune practised on it, by its fingerprint."""


def past_of(tunes: Iterable[TuneMemory]) -> dict[str, TunePast]:
    """What the record has of each tune, by its fingerprint."""
    return {
        one.print: TunePast(
            one.due.days if one.due is not None else None,
            HowFar(one.known, one.bars[0], one.bars[1], one.last.toordinal()),
        )
        for one in tunes
    }


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
    past : what was practised; None where nothing is known of that.
    """

    def __init__(self, books: Sequence[Path], box: str, past: Past | None = None) -> None:
        self.box = box
        self.notice = ""
        self._past = past
        self._practised: Mapping[str, TunePast] = {}
        self._books: dict[Path, str] = {}
        self._entries: dict[str, tuple[TunePlace, tune_index.Entry]] = {}
        self._keys: dict[Path, str] = {}
        self._weights: dict[str, TuneDifficulty] = {}
        self._weigher: subprocess.Popen[bytes] | None = None
        self._looked = 0.0
        for book in books:
            try:
                self._add(book)
            except UserError as why:
                self.notice = str(why)
        self.remind()

    @property
    def books(self) -> tuple[BookOnList, ...]:
        """The books, in their order."""
        return tuple(BookOnList(str(path), title) for path, title in self._books.items())

    def remind(self) -> None:
        """Ask the record anew what was practised."""
        self._practised = self._past(self.box) if self._past is not None else {}

    def rows(self) -> tuple[TuneRow, ...]:
        """Every tune that can be played, in the order of the books, with what is known of it."""
        return tuple(self._row(name, *found) for name, found in self._entries.items())

    def open_book(self, book: Path) -> str:
        """Put a book before all others, and remember it; gives its name on the list.

        Raises
        ------
        UserError
            Where it cannot be read, or has no tune that can be played; nothing has changed then.
        """
        book = book.expanduser().resolve()
        others = (self._books, self._entries)
        self._books, self._entries = {}, {}
        try:
            self._add(book)
            if not self._entries:
                raise UserError("None of its tunes has a note to play; add the music below its K: line.", Place(book))
        except UserError:
            self._books, self._entries = others
            raise
        self._books |= {path: title for path, title in others[0].items() if path != book}
        self._entries |= {name: one for name, one in others[1].items() if one[0].book != book}
        self._keys.pop(book, None)
        self.close()  # the weighing begins anew, with this book
        remember(book)
        return str(book)

    def forget(self, book: str) -> str:
        """Take a book off the list, by its name there; gives its title. Its file is not touched."""
        path = Path(book)
        self._entries = {name: one for name, one in self._entries.items() if one[0].book != path}
        forget(path)
        return self._books.pop(path, path.stem)

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
            self.remind()

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
        for book in self._books:
            found = known(self._key(book))
            for tune, weight in found.items():
                name = TunePlace(book, tune).id
                if name in self._entries:
                    self._weights[name] = weight
        if self._weigher is None and self._entries.keys() - self._weights.keys():
            self._begin(list(self._books))
        return len(self._weights) != before

    def close(self) -> None:
        """Stop the weighing."""
        if self._weigher is not None:
            self._weigher.terminate()
            self._weigher.wait(timeout=5)
        self._weigher, self._looked = None, 0.0

    def _add(self, book: Path) -> None:
        listing = tune_index.listing(book)
        self._books[book] = book_title(book)
        for entry in listing.tunes:
            place = TunePlace(book, entry.name)
            if entry.playable and place.id not in self._entries:
                self._entries[place.id] = (place, entry)

    def _row(self, name: str, place: TunePlace, entry: tune_index.Entry) -> TuneRow:
        title = f"{entry.title} ({entry.name})".strip() if entry.nth else entry.title
        rhythm, key, book = spoken_rhythm(entry.rhythm), spoken_key(entry.key), str(place.book)
        row = TuneRow(name, title, rhythm, key, None, None, book=book)
        weight = self._weights.get(name)
        if weight is None:
            return row
        share = None if weight.points is None else share_of(weight.points)
        past = self._practised.get(weight.print, TunePast(None))
        return replace(row, difficulty=share, fits=not weight.lacks, due=past.due, far=past.far)

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
