"""`companion tunes`: the tunes of a book, the ones that are looked for, and what is wrong in them."""

from __future__ import annotations

import argparse
import shlex
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Literal

from companion.cli.ready_tune import exact
from companion.cli.show import as_json, as_table, line
from companion.errors import Place, UserError
from companion.notation import read_book, read_tune, tune_index
from companion.tables import read_tables
from companion.tune.tune import Tune
from companion.tune.tune_values import Note, Problem
from companion.tune.unfold import unfold

SCHEMA = "companion.tunes/1"
_FORM = 8  # letters of a form that the table shows: AABBCCDD
ENOUGH = 12  # notes played, after which the tune is looked for
QUIET = 2.5  # seconds of quiet after which it is looked for with fewer
PATIENCE = 30.0  # seconds for which a first note is waited for
LOOK = 0.01  # seconds between two looks at what was played


def run(given: argparse.Namespace) -> None:
    """Print the book's tunes. Raises `UserError` where none of them has a note."""
    path = Path(given.book)
    # Notes are not kept in the library: with them, the book itself is read.
    names = read_tables().ornaments.names
    book = read_book(path, given.voice, ornaments=names) if given.json and given.notes else None
    listing = tune_index.listing(path, given.voice, names) if book is None else tune_index.listing_of(book)
    if not any(entry.playable for entry in listing.tunes):
        raise _nothing_to_play(listing, path)
    asked = sought(given, listing.tunes)
    found = listing.tunes if asked is None else asked
    if given.json:
        read = {id(entry): tune for entry, tune in zip(listing.tunes, book.tunes, strict=True)} if book else {}
        as_json({"schema": SCHEMA, "tunes": [_tune(entry, read.get(id(entry))) for entry in found]})
    else:
        outside = listing.problems if asked is None else ()
        _show(found, outside, given.book, every=given.problems or len(found) == 1)


def _nothing_to_play(listing: tune_index.Listing, path: Path) -> UserError:
    """What is wrong with a book of which no tune can be played: the first error in a tune that has notes."""
    for entry in listing.tunes:
        for problem in entry.problems:
            if entry.notes and problem.severity == "error":
                return UserError(
                    f"no tune of this book can be played: {problem.message}", Place(path, problem.line, problem.column)
                )
    return UserError(f"{path}: none of its tunes has a note to play; add the music below its K: line")


def sought(given: argparse.Namespace, tunes: Sequence[tune_index.Entry]) -> list[tune_index.Entry] | None:
    """The tunes that are asked for, the nearest first; None where nothing in particular is.

    Raises
    ------
    UserError : none of them answers to it.
    """
    first = _first(given) if "first" in given else None
    named = given.tune if "tune" in given else None
    if not any((given.title, given.rhythm, given.key, first, named)):
        return None
    if named is not None:
        name = read_tune(Path(given.book), named, given.voice, ornaments=read_tables().ornaments.names).name
        tunes = [tune for tune in tunes if tune.name == name]
    found = tune_index.find(tunes, title=given.title, rhythm=given.rhythm, key=_key(given.key), first=first)
    if not found:
        raise UserError(f"{given.book}: no match among {len(tunes)} tunes; use fewer filters")
    return found


def _key(text: str | None) -> str | None:
    if text is not None and not tune_index.is_key(text):
        raise UserError(f"“{text[:40]}” is not a key; write it as in ABC: D, Em, Amix, Bb")
    return text


def _first(given: argparse.Namespace) -> tune_index.FirstNotes | None:
    if given.first is not None:
        return tune_index.typed_notes(given.first)
    if given.played is None:
        return None
    pitches = _played_now() if given.played == "" else _played_on_file(given.played, given.ear)
    if len(pitches) < 3:
        raise UserError("that is fewer than three notes; play the tune's first bar or two")
    return tune_index.FirstNotes(pitches)


def _played_on_file(take: str, ear: str | None) -> tuple[int, ...]:
    from companion.cli.takes import how_to_hear, read_any_take, say_that_it_guesses

    how = how_to_hear(ear)
    notes = read_any_take(Path(take), (), how).notes
    say_that_it_guesses(how, [Path(take)])
    return tuple(heard.pitch for heard in notes)[:ENOUGH]


def _played_now() -> tuple[int, ...]:
    """What is played on the instrument, up to a quiet."""
    from companion.input.events import EventKind
    from companion.input.midi_in import open_midi_in

    ear = open_midi_in(None)
    try:
        print(f"Play the first notes of the tune ({ear.name}).", file=sys.stderr)
        pitches: list[int] = []
        until = time.perf_counter() + PATIENCE
        while len(pitches) < ENOUGH and time.perf_counter() < until:
            for event in ear.take_new():
                if event.what is EventKind.ON:
                    pitches.append(event.pitch)
                    until = time.perf_counter() + QUIET
            time.sleep(LOOK)
    finally:
        ear.close()
    return tuple(pitches[:ENOUGH])


def _tune(entry: tune_index.Entry, tune: Tune | None) -> dict[str, Any]:
    plain: dict[str, Any] = {
        "number": entry.number,
        "title": entry.title,
        "rhythm": entry.rhythm,
        "meter": entry.meter,
        "key": entry.key,
        "bars": entry.bars,
        "form": entry.form,
        "problems": [_problem(problem) for problem in entry.problems],
    }
    if entry.nth:
        plain["name"] = entry.name
    if tune is not None:
        plain["notes"] = [_note(note) for note in tune.notes]
        plain["unfolded"] = [] if tune.errors else [played.written for played in unfold(tune).notes]
    return plain


def _problem(problem: Problem) -> dict[str, Any]:
    return {
        "line": problem.line,
        "column": problem.column,
        "severity": problem.severity,
        "message": problem.message,
    }


def _note(note: Note) -> dict[str, Any]:
    return {
        "bar": note.bar,
        "onset": exact(note.onset),
        "length": exact(note.length),
        "pitch": note.pitch,
        "ornaments": list(note.ornaments),
        "grace": list(note.grace),
        "chord": note.chord,
    }


def _short(form: str) -> str:
    """A form that leaves room for the titles; a tune of very many parts is known by its first ones."""
    return form if len(form) <= _FORM else form[: _FORM - 1] + "…"


def _show(tunes: Sequence[tune_index.Entry], of_the_book: Sequence[Problem], name: str, *, every: bool) -> None:
    """The table, with how much is wrong in each tune; `every` problem by itself below it, else how to have that."""
    wrong = [*_own_problems(of_the_book, tunes)]
    columns: tuple[str, ...] = ("X:", "title", "rhythm", "meter", "key", "bars", "form", "notes")
    rows: list[tuple[object, ...]] = [
        (t.name, t.title, t.rhythm, t.meter, t.key, t.bars, _short(t.form), t.notes) for t in tunes
    ]
    if any(wrong[1:]):
        columns = (*columns, "problems")
        rows = [(*row, counted(problems)) for row, problems in zip(rows, wrong[1:], strict=True)]
    as_table(name, columns, rows, right=(0, 5, 7))
    whole = [problem for problems in wrong for problem in problems]
    if every and whole:
        line(f"{name}: {counted(whole)}, by line and column:")
        for problem in whole:
            line(f"{problem.line}:{problem.column}: {problem.severity}: {problem.message}")
    elif whole:
        outside = f" ({counted(wrong[0])} outside the tunes)" if wrong[0] else ""
        line(f"{counted(whole)}{outside}: `companion tunes {shlex.quote(name)} --problems` lists each with its line.")


def _own_problems(of_the_book: Sequence[Problem], tunes: Sequence[tune_index.Entry]) -> Iterator[list[Problem]]:
    """The problems of the book, then those of each tune; one that several have is the first one's."""
    seen: set[Problem] = set()
    for problems in (of_the_book, *(tune.problems for tune in tunes)):
        yield list(dict.fromkeys(problem for problem in problems if problem not in seen))
        seen.update(problems)


def counted(problems: Sequence[Problem]) -> str:
    """How many errors and warnings there are, in words; "" for none."""
    times = Counter(problem.severity for problem in problems)
    severities: tuple[Literal["error"], Literal["warning"]] = ("error", "warning")
    return ", ".join(f"{times[one]} {one}{'s' * (times[one] > 1)}" for one in severities if times[one])
