"""What a hand finds easy and hard: the table `config/hand.toml` as a value, and the hands that differ from it.

A hand of `config/hands/` says only where it differs from its parent: another hand, or the plain one of `hand.toml`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from pathlib import Path

from companion.toml_file import read_toml


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
    again: float
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
_PARTS = ("eased", "phrase")  # of a cost, the rest being costs and seconds
_MOST = 1000.0

PLAIN = "plain"  # the hand of `config/hand.toml`


def parent_of(path: Path, others: Sequence[str]) -> str:
    """The name of a hand's parent, one of `others`; the plain hand where its table names none.

    Raises
    ------
    UserError : the file is broken, or names none of these.
    """
    file = read_toml(path)
    parent = file.string("parent") if "parent" in file.data else PLAIN
    if parent not in others:
        raise file.wrong(f"“{parent}” cannot be its parent; name one of {', '.join(others)}", "parent")
    return parent


def read_hand(path: Path, parent: Hand | None = None) -> Hand:
    """Read the table of a hand; what it does not say is as in `parent`.

    Raises
    ------
    UserError : the file is broken; with its line and what to do.
    """
    file = read_toml(path)
    values: dict[str, float] = {}
    groups = {name: file.table(name) for name in ("costs", "time") if parent is None or name in file.data}
    for field in fields(Hand):
        group = "time" if field.name in _TIME else "costs"
        if parent is not None and field.name not in groups.get(group, {}):
            values[field.name] = getattr(parent, field.name)
        else:
            most = 1 if field.name in _PARTS else _MOST
            values[field.name] = file.number(group, field.name, "value", least=0, most=most)
    for name, entries in file.data.items():
        if name not in ("costs", "time", "parent", "means"):
            raise file.wrong(f"there is no “{name}” in the table of a hand; remove it", name)
        for entry in entries if isinstance(entries, dict) else ():
            if entry not in values:
                raise file.wrong(f"there is no cost “{entry}”; remove it", name, entry)
    if not values["quick"] < values["slow"]:
        raise file.wrong("`slow` must be more than `quick`; correct it", "time", "slow", "value")
    return Hand(**values)
