"""The books that a player keeps at hand: read once, found again by title, rhythm, key or first notes.

What was read of a book is kept in SQLite under `places.own_cache()`, one row a tune, under the digest of the book's
bytes and the version of the reader: a changed book is another book. The cache is never believed: each row carries a
digest of its own, and whatever is damaged, missing or of another version is read again from the book itself.
"""

from __future__ import annotations

import hashlib
import itertools
import json
import re
import sqlite3
import unicodedata
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from companion import places
from companion.errors import UserError
from companion.notation.book import Book, read_book, read_bytes

VERSION = "1"
"""Of what is kept; another one means that the book is read again."""
FIRST_NOTES = 16
_ARTICLES = frozenset(["the", "a", "an", "an", "na", "l", "le", "la", "les", "der", "die", "das", "el"])


@dataclass(frozen=True, slots=True)
class Entry:
    """One tune as the library lists it. `intervals` are the steps in semitones between its first notes."""

    number: int
    title: str
    titles: tuple[str, ...]
    rhythm: str
    meter: str
    key: str
    mode: str
    bars: int
    form: str
    errors: int
    warnings: int
    intervals: tuple[int, ...]


def entries(path: Path) -> tuple[Entry, ...]:
    """The tunes of a book, from the cache where it has them.

    Raises
    ------
    UserError
        As `companion.notation.read_book` does.
    """
    digest = hashlib.sha256(read_bytes(path)).hexdigest()
    cached = _load(digest)
    if cached is not None:
        return cached
    made = entries_of(read_book(path))
    _store(digest, made)
    return made


def entries_of(book: Book) -> tuple[Entry, ...]:
    """The entries of a book that has been read."""
    made = []
    for tune in book.tunes:
        pitches = [n.pitch for n in tune.notes[: FIRST_NOTES + 1]]
        steps = tuple(b - a for a, b in itertools.pairwise(pitches))
        errors = len(tune.errors)
        made.append(
            Entry(
                tune.number, tune.title, tune.titles, tune.rhythm, tune.meter.text, tune.key.text, tune.key.mode,
                tune.bars, tune.form, errors, len(tune.problems) - errors, steps,
            )
        )  # fmt: skip
    return tuple(made)


def plain(title: str) -> str:
    """A title as it is looked for: without accents, articles, case and punctuation; "Rights of Man, The" is one."""
    bare = unicodedata.normalize("NFKD", title.casefold())
    bare = "".join(c for c in bare if not unicodedata.combining(c)).replace("'", "").replace("’", "")
    words = re.findall(r"[^\W_]+", bare)
    return " ".join(w for w in words if w not in _ARTICLES) or " ".join(words)


def find(
    tunes: Sequence[Entry],
    *,
    title: str | None = None,
    rhythm: str | None = None,
    key: str | None = None,
    first: Sequence[int] | None = None,
) -> list[Entry]:
    """The tunes that answer to all that is asked, the nearest first.

    Parameters
    ----------
    tunes : where to look.
    title : words of a title, in any order; accents and articles aside.
    rhythm : a kind of tune ("reel"), or its beginning.
    key : a key ("D", "Em", "A mix").
    first : the pitches of the first notes, played or typed, at any pitch; one may be wrong.
    """
    found: list[tuple[int, int, Entry]] = []
    words = plain(title).split() if title else []
    wanted = _key_name(key) if key else None
    steps = [b - a for a, b in itertools.pairwise(first)] if first else []
    for n, tune in enumerate(tunes):
        if rhythm and not _same_rhythm(tune.rhythm, rhythm):
            continue
        if wanted is not None and _key_name(tune.key) != wanted:
            continue
        distance = 0
        if words:
            titles = [plain(t) for t in tune.titles]
            fits = [t for t in titles if all(any(x.startswith(w) for x in t.split()) for w in words)]
            if not fits:
                continue
            distance = min(len(t.split()) for t in fits) - len(words)
        if steps:
            off = _steps_off(tune.intervals, steps)
            if off is None:
                continue
            distance += 100 * off
        found.append((distance, n, tune))
    return [tune for _, _, tune in sorted(found, key=lambda f: f[:2])]


def typed_pitches(text: str) -> list[int]:
    """First notes as they are typed in ABC ("d2 fa"), as pitches.

    Raises
    ------
    UserError
        Where there are fewer than three notes in it.
    """
    from companion.notation.abc_reader import read_abc

    book = read_abc("X:1\nK:C\n" + text.replace("\n", " ")[:400] + "\n")
    pitches = [n.pitch for n in book.tunes[0].notes]
    if len(pitches) < 3:
        raise UserError("Type at least three notes, as in ABC: “d f a”.")
    return pitches


def _same_rhythm(rhythm: str, asked: str) -> bool:
    words, wanted = plain(rhythm).split(), plain(asked).split()
    return all(any(w.startswith(a.rstrip("s") or a) for w in words) for a in wanted)


def _key_name(text: str) -> tuple[str, str]:
    from companion.notation.abc_fields import read_key

    key = read_key(text.strip()[:1].upper() + text.strip()[1:]).key
    modes = {"ionian": "major", "aeolian": "minor"}
    return (key.tonic, modes.get(key.mode, key.mode)) if key is not None else ("", "")


def _steps_off(intervals: Sequence[int], steps: Sequence[int]) -> int | None:
    """How many of the first steps are others; None beyond one wrong note (which spoils two steps)."""
    asked = list(steps[: len(intervals)])
    if len(asked) < 2:
        return None
    off = sum(1 for a, b in zip(intervals, asked, strict=False) if a != b)
    return off if off <= (2 if len(asked) >= 5 else 0) else None


def _database() -> Path:
    return places.own_cache() / f"library-{VERSION}.sqlite"


def _connect() -> sqlite3.Connection:
    path = _database()
    path.parent.mkdir(parents=True, exist_ok=True)
    connection = sqlite3.connect(path, timeout=1.0)
    connection.execute("CREATE TABLE IF NOT EXISTS books (digest TEXT PRIMARY KEY, tunes TEXT, seal TEXT)")
    return connection


def _seal(digest: str, tunes: str) -> str:
    return hashlib.sha256(f"{VERSION}\n{digest}\n{tunes}".encode()).hexdigest()


def _load(digest: str) -> tuple[Entry, ...] | None:
    """The entries kept for a book; None where there are none or they are not what was kept."""
    try:
        with closing(_connect()) as connection:
            row = connection.execute("SELECT tunes, seal FROM books WHERE digest = ?", (digest,)).fetchone()
        if row is None or row[1] != _seal(digest, row[0]):
            return None
        return tuple(_entry(values) for values in json.loads(row[0]))
    except (sqlite3.Error, OSError, ValueError, TypeError, KeyError):
        return None


def _entry(values: list[Any]) -> Entry:
    """One entry, once each of its values is what it should be."""
    number, title, titles, rhythm, meter, key, mode, bars, form, errors, warnings, steps = values
    strings = (title, rhythm, meter, key, mode, form, *titles)
    numbers = (number, bars, errors, warnings, *steps)
    if not all(isinstance(s, str) for s in strings) or not all(isinstance(n, int) for n in numbers):
        raise ValueError("not an entry")
    return Entry(
        number, title, tuple(titles), rhythm, meter, key, mode, bars, form, errors, warnings, tuple(steps)
    )  # fmt: skip


def _store(digest: str, made: tuple[Entry, ...]) -> None:
    """Keep the entries; a cache that cannot be written is done without, a damaged one is begun anew."""
    rows = [[getattr(e, name) for name in Entry.__slots__] for e in made]
    tunes = json.dumps(rows, ensure_ascii=False)
    values = (digest, tunes, _seal(digest, tunes))
    for _ in range(2):
        try:
            with closing(_connect()) as connection, connection:
                connection.execute("INSERT OR REPLACE INTO books VALUES (?, ?, ?)", values)
            return
        except sqlite3.OperationalError:
            return  # in use, or no place for it
        except sqlite3.DatabaseError:
            try:
                _database().unlink(missing_ok=True)
            except OSError:
                return
        except OSError:
            return
