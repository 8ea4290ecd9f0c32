"""`companion choose`: a book's tunes by how hard they are on a box, each with the reason."""

from __future__ import annotations

import argparse
import shlex
from pathlib import Path
from typing import Any

from companion.box.choose import Choice, Difficulty, check_level, rank
from companion.box.layout import load_box
from companion.cli.show import as_json, as_table, line
from companion.cli.tunes_command import sought
from companion.cli.weighed import weights_of
from companion.errors import UserError
from companion.notation import tune_index
from companion.pages.difficulty_cache import TuneDifficulty
from companion.tables import read_tables
from companion.tune.names import name_of

SCHEMA = "companion.choose/1"


def run(given: argparse.Namespace) -> None:
    """Print the ranking. Raises `UserError` where no tune of the book can be played."""
    box, tables = load_box(given.box), read_tables()
    entries = tune_index.listing(Path(given.book), given.voice, tables.ornaments.names).tunes
    asked = sought(given, entries)
    check_level(given.level, tables.choose)
    chosen = [entry for entry in (entries if asked is None else asked) if entry.playable]
    if not chosen:
        raise UserError(f"{given.book}: none of its tunes has a note to play; add the music below its K: line")
    weights = weights_of(Path(given.book), given.voice, given.box, [entry.name for entry in chosen])
    ranked = rank([_weighed(entry, weights[entry.name]) for entry in chosen], tables.choose, given.level)
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
        line(f"See how the first of them goes: companion buttons {named} --tune {name_of(*ranked[0].key)}{on}")


def _weighed(entry: tune_index.Entry, weight: TuneDifficulty) -> Choice:
    hard = weight.difficulty
    return Choice((entry.number, entry.nth), entry.title, hard, hard.reason if hard is not None else weight.lacks)


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
