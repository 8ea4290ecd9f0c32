"""The numbers of the lesson, read from `config/lesson.toml`."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from companion.errors import Place, UserError
from companion.lesson.model import Kind
from companion.places import table


@dataclass(frozen=True, slots=True)
class Weights:
    """What each thing adds to a piece's difficulty, in points."""

    note: float
    reach: float
    turn: float
    row: float
    little_finger: float


@dataclass(frozen=True, slots=True)
class Rules:
    """How a tune is cut and learnt; the meaning of each number stands beside it in the table."""

    steps: tuple[str, ...]
    listen_rounds: int
    in_order_needed: int
    rungs: tuple[float, ...]
    clean_needed: int
    failed_lower: int
    enough: tuple[tuple[Kind, float], ...]
    phrase_bars: int
    break_minutes: float
    weights: Weights

    def top_rung(self, kind: Kind) -> int:
        """Index of the rung at which a piece of this kind is good enough to leave."""
        wanted = dict(self.enough)[kind]
        return next((i for i, rung in enumerate(self.rungs) if rung >= wanted), len(self.rungs) - 1)


@cache
def lesson_rules(path: Path | None = None) -> Rules:
    """Read the table. Raises `UserError` with the file's name where something is missing or out of range."""
    file = path or table("lesson.toml")
    try:
        raw = tomllib.loads(file.read_text(encoding="utf-8"))
        rules = Rules(
            steps=tuple(str(step) for step in raw["steps"]["order"]),
            listen_rounds=int(raw["steps"]["listen_rounds"]),
            in_order_needed=int(raw["steps"]["in_order_needed"]),
            rungs=tuple(float(rung) for rung in raw["ladder"]["rungs"]),
            clean_needed=int(raw["ladder"]["clean_needed"]),
            failed_lower=int(raw["ladder"]["failed_lower"]),
            enough=tuple((kind, float(raw["enough"][kind.value])) for kind in Kind),
            phrase_bars=int(raw["cut"]["phrase_bars"]),
            break_minutes=float(raw["care"]["break_minutes"]),
            weights=Weights(**{name: float(value) for name, value in raw["difficulty"].items()}),
        )
    except (OSError, UnicodeDecodeError) as error:
        raise UserError(f"this table cannot be read ({error}); mend it or remove it", Place(file)) from None
    except tomllib.TOMLDecodeError as error:
        raise UserError(f"this is not valid TOML: {error}; mend that line", Place(file)) from None
    except KeyError as error:
        message = f"the entry {error} is missing; add it, or remove the file to go back to ours"
        raise UserError(message, Place(file)) from None
    except (TypeError, ValueError) as error:
        raise UserError(f"a value is of the wrong kind ({error}); mend it", Place(file)) from None
    return _validated(rules, file)


def _validated(rules: Rules, file: Path) -> Rules:
    known = {"listen", "in order", "in time"}
    counts = (rules.clean_needed, rules.failed_lower, rules.in_order_needed, rules.listen_rounds, rules.phrase_bars)
    complaints = [
        (not rules.steps or not set(rules.steps) <= known, f"steps.order takes the steps {sorted(known)}"),
        (rules.steps[-1:] != ("in time",), 'steps.order must end with "in time"'),
        (not rules.rungs or list(rules.rungs) != sorted(set(rules.rungs)), "ladder.rungs must rise"),
        (any(not 0.2 <= rung <= 1.5 for rung in rules.rungs), "ladder.rungs must lie between 0.2 and 1.5"),
        (min(counts) < 1, "a count must be 1 or more"),
    ]
    for wrong, message in complaints:
        if wrong:
            raise UserError(f"{message}; mend it", Place(file))
    return rules
