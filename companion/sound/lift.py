"""The lift of a dance: the time within a beat shared out unevenly, the beats where they are.

Conventions: places are whole notes, counted from the beginning of a stretch.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from companion.sound.tempi import Dances, dance_of
from companion.toml_file import read_toml
from companion.tune.tune_values import Meter


@dataclass(frozen=True, slots=True)
class DanceLift:
    """One entry of `config/lift.toml`; the meaning of each field stands there. `amount` goes from 0 (none) to 1."""

    unit: Fraction
    shares: tuple[float, ...]
    amount: float = 1.0

    def by(self, amount: float) -> DanceLift | None:
        """The same, so much of it (from 0 to 1, what is beyond counts as 1); None where that is none at all."""
        return replace(self, amount=min(1.0, amount)) if amount > 0 else None

    def place(self, at: Fraction, bar_line: Fraction) -> float:
        """Where the place `at` is played; `bar_line` is the place of any bar line."""
        count = len(self.shares)
        units, within = divmod(at - bar_line, self.unit)
        step, rest = divmod(within * count, self.unit)
        whole = sum(self.shares)
        sizes = [(1 - self.amount) / count + self.amount * share / whole for share in self.shares]
        inside = sum(sizes[:step]) + sizes[step] * float(rest / self.unit)
        return float(bar_line + units * self.unit) + inside * float(self.unit)


def lift_of(rhythm: str, meter: Meter, dances: Dances, lifts: Mapping[str, DanceLift]) -> DanceLift | None:
    """The lift of a tune's dance; None where it has none, or where its meter is not the dance's."""
    dance = dance_of(rhythm, dances)
    found = lifts.get(dance.name) if dance is not None else None
    if found is None or meter.bar is None or meter.bar % found.unit:
        return None
    if (len(found.shares) == 3) != any(beat.numerator == 3 for beat in meter.beats):
        return None
    return found


def read_lifts(path: Path) -> dict[str, DanceLift]:
    """Read the lifts, by the names of their dances. Raises `UserError` where the table is broken."""
    file, found = read_toml(path), {}
    for name in file.data:
        shares = tuple(file.number(*one, above=0) for one in file.each(name, "shares"))
        if not shares:
            raise file.wrong(f"`{name}.shares` has no share in it; give one for each note of the unit", name, "shares")
        lift = DanceLift(file.fraction(name, "unit", most=4), shares)
        found.update({file.string(*one): lift for one in file.each(name, "dances")})
    return found
