"""What a hand finds easy and hard: the table `config/hand.toml` as a value."""

from __future__ import annotations

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


def read_hand(path: Path) -> Hand:
    """Read the table of a hand.

    Raises
    ------
    UserError : the file is broken; with its line and what to do.
    """
    file = read_toml(path)
    values: dict[str, float] = {}
    for field in fields(Hand):
        where = ("time" if field.name in _TIME else "costs", field.name)
        values[field.name] = file.number(*where, "value", least=0, most=1 if field.name in _PARTS else _MOST)
    for table, entries in file.data.items():
        for name in entries if isinstance(entries, dict) else ():
            if name not in values:
                raise file.wrong(f"there is no cost “{name}”; remove it", table, name)
    if not values["quick"] < values["slow"]:
        raise file.wrong("`slow` must be more than `quick`; correct it", "time", "slow", "value")
    return Hand(**values)
