"""`companion choose`: a book's tunes by how hard they are on a box, each with the reason."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from companion.box.choose import Choice, Difficulty, Key, rank
from companion.box.layout import load_box
from companion.cli.opening import seconds_a_whole_note
from companion.cli.show import as_json, as_table, line
from companion.cli.tunes import sought
from companion.errors import UserError
from companion.notation import Book, library, read_book
from companion.tune.model import Round
from companion.tune.names import name_of
from companion.tune.tune import Tune
from companion.tune.unfold import unfold

SCHEMA = "companion.choose/1"


def run(given: argparse.Namespace) -> None:
    """Print the ranking. Raises `UserError` where no tune of the book can be played."""
    box = load_box(given.box)
    book = read_book(Path(given.book), given.voice)
    chosen = _chosen(given, book)
    ranked = rank(_rounds(chosen), box, given.level)
    if not ranked and given.level is None:
        raise UserError(f"{given.book}: no tune in it has a note that can be played; add the music below its K: line")
    if given.json:
        as_json({"schema": SCHEMA, "box": box.id, "tunes": [_choice(choice) for choice in ranked]})
        return
    kinds = {(tune.number, tune.nth): tune.rhythm for tune in chosen}
    rows = [(name_of(*one.key), one.title, kinds[one.key], *_level(one.difficulty), one.reason) for one in ranked]
    columns = ("X:", "title", "rhythm", "level", "points", "why")
    as_table(f"{given.book} · {box.name}", columns, rows, right=(0, 4))
    if ranked and ranked[0].difficulty is not None:
        on = "" if box.id == "bc-21" else f" --box {shlex.quote(given.box)}"
        named = shlex.quote(given.book)
        line(f"`companion buttons {named} --tune {name_of(*ranked[0].key)}{on}` says how the first of them goes.")


def _level(difficulty: Difficulty | None) -> tuple[str, str]:
    """The level and the points of a tune, where it fits the box."""
    return (difficulty.level, f"{difficulty.points:.1f}") if difficulty is not None else ("", "")


def _choice(choice: Choice) -> dict[str, Any]:
    """One tune in the JSON."""
    hard = choice.difficulty
    return {
        "number": choice.key[0],
        **({"name": name_of(*choice.key)} if choice.key[1] else {}),
        "title": choice.title,
        "fits": hard is not None,
        "level": hard.level if hard is not None else None,
        "points": round(hard.points, 6) if hard is not None else None,
        "parts": {name: round(points, 6) for name, points in hard.parts} if hard is not None else {},
        "reason": choice.reason,
    }


def _chosen(given: argparse.Namespace, book: Book) -> list[Tune]:
    """The tunes of a book that answer to what is asked for, in the book's order."""
    entries = library.listing_of(book).tunes
    asked = sought(given, entries)
    wanted = {id(entry) for entry in (entries if asked is None else asked)}
    return [tune for entry, tune in zip(entries, book.tunes, strict=True) if id(entry) in wanted]


def _rounds(tunes: Sequence[Tune]) -> Iterator[tuple[Key, str, Round, float | None]]:
    for tune in tunes:
        if tune.notes and not tune.errors:
            yield (tune.number, tune.nth), tune.title, unfold(tune), seconds_a_whole_note(tune)
