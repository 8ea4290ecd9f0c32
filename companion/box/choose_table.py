"""What makes a tune hard, in points: the table `config/choose.toml` as a value."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from companion.toml_file import read_toml

_PARTS = ("buttons", "reaches", "little", "turns", "rows", "away", "awkward", "speed", "length")


@dataclass(frozen=True, slots=True)
class ChooseTable:
    """The values of `config/choose.toml`: points by part, levels in order with their most points, the usual speed."""

    points: tuple[tuple[str, float], ...]
    levels: tuple[tuple[str, float], ...]
    whole_note: float


def read_choose(path: Path) -> ChooseTable:
    """Read the table.

    Raises
    ------
    UserError : the file is broken; with its line and what to do.
    """
    file = read_toml(path)
    levels = file.table("levels")
    if not levels:
        raise file.wrong("there must be at least one level; add it, with the most points that it goes to", "levels")
    return ChooseTable(
        tuple((name, file.number("points", name, "value", least=0)) for name in _PARTS),
        tuple((name, file.number("levels", name, least=0)) for name in levels),
        file.number("speed", "whole_note", above=0),
    )
