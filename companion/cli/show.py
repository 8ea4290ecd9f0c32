"""Printing: JSON for programs, tables for people."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Sequence
from typing import Any


def as_json(value: dict[str, Any]) -> None:
    """Print one JSON object."""
    json.dump(value, sys.stdout, ensure_ascii=False, indent=None)
    sys.stdout.write("\n")


def as_table(title: str, columns: Sequence[str], rows: Iterable[Sequence[object]], right: Iterable[int] = ()) -> None:
    """Print a table; the columns numbered in `right` are set to the right."""
    from rich import box
    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table

    table = Table(title=escape(title), title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    right = set(right)
    for number, column in enumerate(columns):
        table.add_column(escape(column), justify="right" if number in right else "left")
    for row in rows:
        table.add_row(*(escape("" if cell is None else str(cell)) for cell in row))
    Console(highlight=False).print(table)


def line(text: str) -> None:
    """Print one line, as it is."""
    print(text)


def note_name(pitch: int) -> str:
    """A pitch in scientific notation (middle C is C4), sharps for black keys, as layouts are written."""
    return f"{('C', 'C♯', 'D', 'D♯', 'E', 'F', 'F♯', 'G', 'G♯', 'A', 'A♯', 'B')[pitch % 12]}{pitch // 12 - 1}"
