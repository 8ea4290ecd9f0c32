"""The lift of a dance: the time within a beat shared out unevenly, the beats where they are.

Conventions: places are whole notes, counted from the beginning of a stretch.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

from companion.errors import Place, UserError
from companion.places import table
from companion.sound.tempi import dance_of
from companion.tune.model import Meter


@dataclass(frozen=True, slots=True)
class Lift:
    """One entry of `config/lift.toml`; the meaning of each field stands there. `amount` goes from 0 (none) to 1."""

    unit: Fraction
    shares: tuple[float, ...]
    amount: float = 1.0

    def place(self, at: Fraction, bar_line: Fraction) -> float:
        """Where the place `at` is played; `bar_line` is the place of any bar line."""
        count = len(self.shares)
        units, within = divmod(at - bar_line, self.unit)
        step, rest = divmod(within * count, self.unit)
        whole = sum(self.shares)
        sizes = [(1 - self.amount) / count + self.amount * share / whole for share in self.shares]
        inside = sum(sizes[:step]) + sizes[step] * float(rest / self.unit)
        return float(bar_line + units * self.unit) + inside * float(self.unit)


def lift_of(rhythm: str, meter: Meter, amount: float) -> Lift | None:
    """The lift of a tune's dance; None where it has none, or where its meter is not the dance's."""
    dance = dance_of(rhythm)
    path = table("lift.toml")
    lifts = _lifts(path, path.stat().st_mtime_ns if path.is_file() else 0)
    found = lifts.get(dance.name) if dance is not None else None
    if found is None or amount <= 0 or meter.bar is None or meter.bar % found.unit:
        return None
    if (len(found.shares) == 3) != any(beat.numerator == 3 for beat in meter.beats):
        return None
    return Lift(found.unit, found.shares, min(1.0, amount))


@lru_cache(maxsize=4)
def _lifts(path: Path, _changed: int) -> dict[str, Lift]:
    try:
        with path.open("rb") as file:
            entries = tomllib.load(file)
        found = {}
        for entry in entries.values():
            lift = Lift(Fraction(entry["unit"]), tuple(float(share) for share in entry["shares"]))
            if lift.unit <= 0 or not lift.shares or min(lift.shares) <= 0:
                raise ValueError("unit and shares must be above 0")
            found.update({str(name): lift for name in entry["dances"]})
    except OSError as error:
        raise UserError("the table of lifts cannot be read; restore it.", Place(path)) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise UserError(f"this table of lifts is not TOML: {error}.", Place(path)) from error
    except (KeyError, TypeError, ValueError, AttributeError, ZeroDivisionError) as error:
        raise UserError(
            f"an entry of the table of lifts is not as it should be ({error}); mend it.", Place(path)
        ) from error
    return found
