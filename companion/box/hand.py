"""What a hand finds easy and hard: the table `config/hand.toml` as a value."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from functools import lru_cache
from pathlib import Path
from typing import Any

from companion import places
from companion.box.toml_places import line_of
from companion.errors import Place, UserError


@dataclass(frozen=True, slots=True)
class Hand:
    """The costs of `config/hand.toml`, under the same names; what each means is said there.

    Costs are numbers of at least 0, kept to a thousandth. `whole_note`, `quick`, `slow`, `reach_of_air` and `spare_air`
    are seconds; `eased` and `phrase` are parts from 0 to 1.
    """

    place: float
    further: float
    lean: float
    stretch: float
    hop: float
    cross: float
    little: float
    little_ornament: float
    untapped: float
    ring: float
    change: float
    carried: float
    turn: float
    row: float
    side: float
    off: float
    air: float
    same: float
    whole_note: float
    quick: float
    slow: float
    eased: float
    phrase: float
    reach_of_air: float
    spare_air: float


_TIME = ("whole_note", "quick", "slow", "eased", "phrase", "reach_of_air", "spare_air")


def load_hand(path: Path | None = None) -> Hand:
    """The hand of `path`, or of `config/hand.toml` (the player's own stands in for it).

    Raises
    ------
    UserError : the file is broken; with its line and what to do.
    """
    return _read(path if path is not None else places.table("hand.toml"))[0]


def meanings(path: Path | None = None) -> dict[str, str]:
    """What each cost means, in the words of the table."""
    return dict(_read(path if path is not None else places.table("hand.toml"))[1])


@lru_cache(maxsize=8)
def _read(path: Path) -> tuple[Hand, tuple[tuple[str, str], ...]]:
    try:
        text = path.read_text(encoding="utf-8")
        data = tomllib.loads(text)
    except OSError as fault:
        raise UserError(
            f"the hand's costs cannot be read ({fault.strerror}); restore this file", Place(path)
        ) from fault
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
        raise UserError(f"the hand's costs are not valid TOML: {fault}; mend this file", Place(path)) from fault
    values: dict[str, float] = {}
    means: list[tuple[str, str]] = []
    for field in fields(Hand):
        table = "time" if field.name in _TIME else "costs"
        values[field.name] = _number(path, text, data, table, field.name)
        means.append((field.name, str(data[table][field.name].get("means", ""))))
    for table, entries in data.items():
        for name in entries if isinstance(entries, dict) else ():
            if name not in values:
                raise UserError(f"there is no cost “{name}”; remove it", Place(path, *line_of(text, (table, name))))
    if not values["quick"] < values["slow"]:
        raise UserError(
            "`slow` must be more than `quick`; mend it", Place(path, *line_of(text, ("time.slow", "value")))
        )
    return Hand(**values), tuple(means)


def _number(path: Path, text: str, data: dict[str, Any], table: str, name: str) -> float:
    """One value of the table, checked."""
    entry = data.get(table, {}).get(name) if isinstance(data.get(table), dict) else None
    if not isinstance(entry, dict) or "value" not in entry:
        raise UserError(
            f"the cost [{table}.{name}] is missing its `value`; add it", Place(path, *line_of(text, (table, name)))
        )
    value, place = entry["value"], Place(path, *line_of(text, (table, name, "value")))
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 1000:
        raise UserError(f"[{table}.{name}] must be a number from 0 to 1000", place)
    if name in ("eased", "phrase") and value > 1:
        raise UserError(f"[{table}.{name}] is a part of a cost; it must be from 0 to 1", place)
    return float(value)
