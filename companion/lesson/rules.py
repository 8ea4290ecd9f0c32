"""The numbers of the lesson, read from `config/lesson.toml`."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from companion.errors import Place, UserError
from companion.lesson.model import Kind
from companion.lesson.reading import reading
from companion.places import table

SPOTS = (
    "shrink_after",
    "long_piece",
    "spots_at_once",
    "spot_slower",
    "known_needed",
    "forgotten_after",
    "most_times",
)


@dataclass(frozen=True, slots=True)
class Weights:
    """What each thing adds to a piece's difficulty, in points."""

    note: float
    reach: float
    turn: float
    row: float
    little_finger: float
    speed: float


@dataclass(frozen=True, slots=True)
class Rules:
    """How a tune is cut and learnt; the meaning of each number stands beside it in the table."""

    steps: tuple[str, ...]
    listen_rounds: int
    in_order_needed: int
    in_order_at_sight: int
    rungs: tuple[float, ...]
    clean_needed: int
    failed_lower: int
    stride: int
    most_stride: int
    pace_step: int
    fastest_pace: int
    enough: tuple[tuple[Kind, float], ...]
    shrink_after: int
    long_piece: int
    spots_at_once: int
    spot_slower: int
    known_needed: int
    forgotten_after: int
    most_times: int
    nearly_known: float
    largest_bite: Kind
    several: tuple[int, ...]
    phrase_bars: int
    again_pieces: int
    again_tries: int
    due_share: float
    due_minutes: float
    turn_minutes: float
    ending_minutes: float
    minutes: float
    rest_minutes: float
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
    with reading(file):
        raw = tomllib.loads(file.read_text(encoding="utf-8"))
        rules = Rules(
            steps=tuple(str(step) for step in raw["steps"]["order"]),
            listen_rounds=int(raw["steps"]["listen_rounds"]),
            in_order_needed=int(raw["steps"]["in_order_needed"]),
            in_order_at_sight=int(raw["steps"]["in_order_at_sight"]),
            rungs=tuple(float(rung) for rung in raw["ladder"]["rungs"]),
            clean_needed=int(raw["ladder"]["clean_needed"]),
            failed_lower=int(raw["ladder"]["failed_lower"]),
            stride=int(raw["ladder"]["stride"]),
            most_stride=int(raw["ladder"]["most_stride"]),
            pace_step=int(raw["ladder"]["pace_step"]),
            fastest_pace=int(raw["ladder"]["fastest_pace"]),
            enough=tuple((kind, float(raw["enough"][kind.value])) for kind in Kind if kind is not Kind.MOVE),
            **{name: int(raw["spots"][name]) for name in SPOTS},
            nearly_known=float(raw["spots"]["nearly_known"]),
            largest_bite=Kind(raw["cut"]["largest_bite"]),
            several=tuple(int(times) for times in raw["cut"]["several"]),
            phrase_bars=int(raw["cut"]["phrase_bars"]),
            again_pieces=int(raw["sitting"]["again_pieces"]),
            again_tries=int(raw["sitting"]["again_tries"]),
            due_share=float(raw["sitting"]["due_share"]),
            due_minutes=float(raw["sitting"]["due_minutes"]),
            turn_minutes=float(raw["sitting"]["turn_minutes"]),
            ending_minutes=float(raw["sitting"]["ending_minutes"]),
            minutes=float(raw["sitting"]["minutes"]),
            rest_minutes=float(raw["care"]["rest_minutes"]),
            break_minutes=float(raw["care"]["break_minutes"]),
            weights=Weights(**{name: float(value) for name, value in raw["difficulty"].items()}),
        )
    return _validated(rules, file)


def _validated(rules: Rules, file: Path) -> Rules:
    known = {"listen", "in order", "in time"}
    counts = (
        rules.clean_needed,
        rules.failed_lower,
        rules.in_order_needed,
        rules.in_order_at_sight,
        rules.listen_rounds,
        rules.phrase_bars,
        rules.stride,
        rules.most_stride,
        rules.shrink_after,
        rules.spots_at_once,
        rules.known_needed,
        rules.forgotten_after,
        rules.most_times,
        rules.again_tries,
        *rules.several,
    )
    minutes = (
        rules.due_minutes,
        rules.turn_minutes,
        rules.ending_minutes,
        rules.minutes,
        rules.rest_minutes,
        rules.break_minutes,
    )
    complaints = [
        (not rules.steps or not set(rules.steps) <= known, f"steps.order takes the steps {sorted(known)}"),
        (rules.steps[-1:] != ("in time",), 'steps.order must end with "in time"'),
        (not rules.rungs or list(rules.rungs) != sorted(set(rules.rungs)), "ladder.rungs must rise"),
        (any(not 0.2 <= rung <= 1.5 for rung in rules.rungs), "ladder.rungs must lie between 0.2 and 1.5"),
        (min(counts) < 1, "a count must be 1 or more"),
        (not 0 <= rules.nearly_known <= 0.5, "spots.nearly_known must lie between 0 and 0.5"),
        (not 0 <= rules.due_share <= 1, "sitting.due_share must lie between 0 and 1"),
        (min(minutes) <= 0, "minutes must be more than 0"),
        (min(rules.spot_slower, rules.fastest_pace, rules.again_pieces) < 0, "no number may be negative"),
    ]
    for wrong, message in complaints:
        if wrong:
            raise UserError(f"{message}; mend it", Place(file))
    return rules
