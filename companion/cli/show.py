"""Printing: JSON for programs, tables for people."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Sequence
from typing import Any

from companion.box.pitch_names import name_of

_WIDE = 4000  # columns in a file or a pipe: as many as any row needs
MANY = 300  # rows, beyond which a table is printed plainly, at once


def as_json(value: dict[str, Any]) -> None:
    """Print one JSON object."""
    sys.stdout.write(json.dumps(value, ensure_ascii=False) + "\n")


def as_table(title: str, columns: Sequence[str], rows: Iterable[Sequence[object]], right: Iterable[int] = ()) -> None:
    """Print a table; the columns numbered in `right` are set to the right.

    On a terminal it is as wide as that, long cells in several lines; in a file or a pipe a row is a line, for `grep`.
    """
    cells = [["" if cell is None else str(cell) for cell in row] for row in rows]
    if len(cells) > MANY:
        _long_table(columns, cells, set(right))
        return
    from rich import box
    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table

    table = Table(title=escape(title), title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    right = set(right)
    for number, column in enumerate(columns):
        table.add_column(escape(column), justify="right" if number in right else "left")
    for row in cells:
        table.add_row(*map(escape, row))
    Console(highlight=False, width=None if sys.stdout.isatty() else _WIDE).print(table)


def _long_table(columns: Sequence[str], rows: Sequence[Sequence[str]], right: set[int]) -> None:
    """The same, for a book of two thousand tunes: one line each, as wide as it needs."""
    table = [list(columns), *rows]
    widths = [max(map(len, column)) for column in zip(*table, strict=True)]
    for row in table:
        cells = (
            cell.rjust(width) if n in right else cell.ljust(width)
            for n, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        print("  ".join(cells).rstrip())


def line(text: str) -> None:
    """Print one line, as it is."""
    print(text)


def note_name(pitch: int, signature: Iterable[tuple[str, int]] = ()) -> str:
    """A pitch in scientific notation (middle C is C4), as a key with that signature calls it."""
    return name_of(pitch, signature=signature).replace("#", "♯").replace("b", "♭")
