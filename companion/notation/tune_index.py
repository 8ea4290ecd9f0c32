"""The books that a player keeps at hand: read once, found again by title, rhythm, key or first notes.

What was read of a book is kept (`companion.kept_values`) under a digest of its bytes and of the code that read it: a
changed book is another book.
"""

from __future__ import annotations

import hashlib
import itertools
import re
import unicodedata
from collections.abc import Collection, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from companion.errors import UserError
from companion.kept_values import code_of, keep, kept
from companion.notation.book import read_book, read_bytes
from companion.notation.book_values import Book
from companion.notation.spelling import Speller
from companion.tune.names import name_of
from companion.tune.ornament_signs import in_abc
from companion.tune.tune_values import Problem

FIRST_NOTES = 16
_ARTICLES = frozenset(["the", "a", "an", "an", "na", "l", "le", "la", "les", "der", "die", "das", "el"])


@dataclass(frozen=True, slots=True)
class Entry:
    """One tune as the library lists it.

    `notes` is how many it has; `intervals` are the steps in semitones between its first ones, `letters` the first
    ones as letters, counted up from C0 (C is 0, D is 1). `nth` is as in `Tune`.
    """

    number: int
    nth: int
    title: str
    titles: tuple[str, ...]
    rhythm: str
    meter: str
    key: str
    mode: str
    bars: int
    form: str
    notes: int
    problems: tuple[Problem, ...]
    intervals: tuple[int, ...]
    letters: tuple[int, ...]

    @property
    def name(self) -> str:
        """What it is called by in its book (`companion.tune.names`)."""
        return name_of(self.number, self.nth)

    @property
    def playable(self) -> bool:
        """Whether it has notes, and no error."""
        return self.notes > 0 and not any(problem.severity == "error" for problem in self.problems)


@dataclass(frozen=True, slots=True)
class Listing:
    """What the library keeps of a book: its tunes in written order, and the problems that are about no tune."""

    tunes: tuple[Entry, ...]
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class FirstNotes:
    """The first notes of a tune that is looked for: `pitches` as played, or `letters` as typed, without accidentals."""

    pitches: tuple[int, ...] = ()
    letters: tuple[int, ...] = ()


def listing(path: Path, voice: str | None = None, ornaments: Collection[str] = ()) -> Listing:
    """The tunes of a book, from the cache where it has them; `ornaments` as in `read_book`.

    Raises
    ------
    UserError
        As `companion.notation.read_book` does.
    """
    asked = [code_of("notation", "tune"), path.suffix.lower(), voice or "", *sorted(in_abc(ornaments))]
    key = hashlib.sha256("\n".join(asked).encode() + b"\n" + read_bytes(path)).hexdigest()
    cached = _read(kept(key).get("listing"))
    if cached is not None:
        return cached
    made = listing_of(read_book(path, voice, ornaments=ornaments))
    keep(key, {"listing": _plain(made)})
    return made


def listing_of(book: Book) -> Listing:
    """The listing of a book that has been read."""
    made = []
    for tune in book.tunes:
        pitches = [n.pitch for n in tune.notes[: FIRST_NOTES + 1]]
        steps = tuple(b - a for a, b in itertools.pairwise(pitches))
        spelled = map(Speller(tune.key).spell, pitches)
        letters = tuple(step + 7 * octave for step, _, octave in spelled)
        made.append(
            Entry(
                tune.number, tune.nth, tune.title, tune.titles, tune.rhythm, tune.meter.text, tune.key.text,
                tune.key.mode, tune.bars, tune.form, len(tune.notes), tune.problems, steps, letters,
            )
        )  # fmt: skip
    return Listing(tuple(made), book.problems)


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
    first: FirstNotes | None = None,
) -> list[Entry]:
    """The tunes that answer to all that is asked, the nearest first.

    Parameters
    ----------
    tunes : where to look.
    title : words of a title, in any order; accents and articles aside.
    rhythm : a kind of tune ("reel"), or its beginning.
    key : a key ("D", "Em", "A mix").
    first : the first notes, at any pitch; of five or more, one may be wrong.
    """
    found: list[tuple[int, int, Entry]] = []
    words = plain(title).split() if title else []
    wanted = _key_name(key) if key else None
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
        if first is not None:
            off = _off(tune, first)
            if off is None:
                continue
            distance += 100 * off
        found.append((distance, n, tune))
    return [tune for _, _, tune in sorted(found, key=lambda f: f[:2])]


def typed_notes(text: str) -> FirstNotes:
    """First notes as they are typed in ABC ("d2 fa"). Without an accidental, they stand for the letters of any key.

    Raises
    ------
    UserError
        Where there are fewer than three notes in it.
    """
    from companion.notation.abc_reader import read_abc

    book = read_abc("X:1\nK:C\n" + text.replace("\n", " ")[:400] + "\n")
    pitches = tuple(note.pitch for note in book.tunes[0].notes)
    if len(pitches) < 3:
        raise UserError("Type at least three notes, as in ABC: “d f a”.")
    if any(mark in text for mark in "^_="):
        return FirstNotes(pitches)
    spell = Speller(book.tunes[0].key).spell
    return FirstNotes(letters=tuple(step + 7 * octave for step, _, octave in map(spell, pitches)))


def _same_rhythm(rhythm: str, asked: str) -> bool:
    words, wanted = plain(rhythm).split(), plain(asked).split()
    return all(any(w.startswith(a.rstrip("s") or a) for w in words) for a in wanted)


def is_key(text: str) -> bool:
    """Whether a key is one that `find` knows."""
    return bool(_key_name(text)[0])


def _key_name(text: str) -> tuple[str, str]:
    from companion.notation.abc_fields import read_key

    key = read_key(text.strip()[:1].upper() + text.strip()[1:]).key
    modes = {"ionian": "major", "aeolian": "minor"}
    return (key.tonic, modes.get(key.mode, key.mode)) if key is not None else ("", "")


def _off(tune: Entry, first: FirstNotes) -> int | None:
    """How many of the first steps are others; None beyond one wrong note (which spoils two steps)."""
    if first.letters:
        letters = [b - a for a, b in itertools.pairwise(tune.letters)]
        return _steps_off(letters, [b - a for a, b in itertools.pairwise(first.letters)])
    return _steps_off(tune.intervals, [b - a for a, b in itertools.pairwise(first.pitches)])


def _steps_off(intervals: Sequence[int], steps: Sequence[int]) -> int | None:
    """How many of the first steps are others; None beyond one wrong note (which spoils two steps)."""
    asked = list(steps[: len(intervals)])
    if len(asked) < 2:
        return None
    off = sum(1 for a, b in zip(intervals, asked, strict=False) if a != b)
    return off if off <= (2 if len(asked) >= 5 else 0) else None


def _read(plain: Any) -> Listing | None:
    """The listing that was kept; None where it is none."""
    try:
        tunes, problems = plain
        return Listing(tuple(_entry(values) for values in tunes), _problems(problems))
    except (ValueError, TypeError):
        return None


def _entry(values: list[Any]) -> Entry:
    """One entry, once each of its values is what it should be."""
    number, nth, title, titles, rhythm, meter, key, mode, bars, form, notes, problems, steps, letters = values
    strings = (title, rhythm, meter, key, mode, form, *titles)
    numbers = (number, nth, bars, notes, *steps, *letters)
    if not all(isinstance(s, str) for s in strings) or not all(isinstance(n, int) for n in numbers):
        raise ValueError("not an entry")
    return Entry(
        number, nth, title, tuple(titles), rhythm, meter, key, mode, bars, form, notes, _problems(problems),
        tuple(steps), tuple(letters),
    )  # fmt: skip


def _problems(rows: list[Any]) -> tuple[Problem, ...]:
    made = tuple(Problem(line, column, severity, message) for line, column, severity, message in rows)
    if not all(isinstance(p.line, int) and isinstance(p.column, int) and isinstance(p.message, str) for p in made):
        raise ValueError("not a problem")
    if not all(p.severity in ("error", "warning") for p in made):
        raise ValueError("not a severity")
    return made


def _plain(made: Listing) -> list[Any]:
    """A listing as plain values, as `_read` takes them."""

    def row(problem: Problem) -> list[Any]:
        return [problem.line, problem.column, problem.severity, problem.message]

    rows = [
        [getattr(e, f.name) if f.name != "problems" else [row(p) for p in e.problems] for f in fields(Entry)]
        for e in made.tunes
    ]
    return [rows, [row(p) for p in made.problems]]
