"""`companion tunes`: the tunes of a book, and what is wrong in it."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from companion.cli.opening import exact
from companion.cli.show import as_json, as_table, line
from companion.errors import UserError
from companion.notation import Book, read_book
from companion.tune.model import Note, Problem
from companion.tune.tune import Tune
from companion.tune.unfold import unfold

SCHEMA = "companion.tunes/1"


def run(given: argparse.Namespace) -> None:
    """Print the book's tunes. Raises `UserError` where none of them has a note."""
    book = read_book(Path(given.book))
    if not any(tune.notes and not tune.errors for tune in book.tunes):
        raise UserError(f"{given.book}: no tune in it has a note that can be played; add the music below its K: line")
    if given.json:
        as_json(report(book, given.notes))
    else:
        _show(book, given.book)


def report(book: Book, notes: bool) -> dict[str, Any]:
    """The JSON of a book."""
    return {"schema": SCHEMA, "tunes": [_tune(tune, notes) for tune in book.tunes]}


def _tune(tune: Tune, notes: bool) -> dict[str, Any]:
    plain: dict[str, Any] = {
        "number": tune.number,
        "title": tune.title,
        "rhythm": tune.rhythm,
        "meter": tune.meter.text,
        "key": tune.key.text,
        "bars": tune.bars,
        "form": tune.form,
        "problems": [_problem(problem) for problem in tune.problems],
    }
    if notes:
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


def _show(book: Book, name: str) -> None:
    rows = [
        (tune.number, tune.title, tune.rhythm, tune.meter.text, tune.key.text, tune.bars, tune.form, len(tune.notes))
        for tune in book.tunes
    ]
    as_table(name, ("X:", "title", "rhythm", "meter", "key", "bars", "form", "notes"), rows, right=(0, 5, 7))
    seen = set()
    for problem in (*book.problems, *(problem for tune in book.tunes for problem in tune.problems)):
        if problem not in seen:
            seen.add(problem)
            line(f"{name}:{problem.line}:{problem.column}: {problem.severity}: {problem.message}")
