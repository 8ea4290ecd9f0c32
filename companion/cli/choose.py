"""`companion choose`: a book's tunes by how hard they are on a box, each with the reason."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from companion.box.choose import Choice, rank
from companion.box.layout import load_box
from companion.cli.opening import seconds_a_whole_note
from companion.cli.show import as_json, as_table
from companion.errors import UserError
from companion.notation import Book, read_book
from companion.tune.model import Round
from companion.tune.unfold import unfold

SCHEMA = "companion.choose/1"


def run(given: argparse.Namespace) -> None:
    """Print the ranking. Raises `UserError` where no tune of the book can be played."""
    box = load_box(given.box)
    book = read_book(Path(given.book), given.voice)
    ranked = rank(_tunes(book), box, given.level)
    if not ranked and given.level is None:
        raise UserError(f"{given.book}: no tune in it has a note that can be played; add the music below its K: line")
    if given.json:
        as_json({"schema": SCHEMA, "box": box.id, "tunes": [_choice(choice) for choice in ranked]})
        return
    rows = [
        (choice.key, choice.title, choice.difficulty.level if choice.difficulty else "", choice.reason)
        for choice in ranked
    ]
    as_table(f"{given.book} · {box.name}", ("X:", "title", "level", "why"), rows, right=(0,))


def _choice(choice: Choice) -> dict[str, Any]:
    """One tune in the JSON."""
    hard = choice.difficulty
    return {
        "number": choice.key,
        "title": choice.title,
        "fits": hard is not None,
        "level": hard.level if hard is not None else None,
        "points": round(hard.points, 6) if hard is not None else None,
        "parts": {name: round(points, 6) for name, points in hard.parts} if hard is not None else {},
        "reason": choice.reason,
    }


def _tunes(book: Book) -> Iterator[tuple[int, str, Round, float | None]]:
    for tune in book.tunes:
        if tune.notes and not tune.errors:
            yield tune.number, tune.title, unfold(tune), seconds_a_whole_note(tune)
