"""The numbers of the lesson, read from `config/lesson.toml`."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from companion.lesson.lesson_values import SIZES, Kind
from companion.toml_file import TomlFile, read_toml

_STEPS = ("listen", "in order", "in time")
_KINDS = tuple(kind for kind in Kind if kind is not Kind.MOVE)
_RUNG = (0.2, 1.5)  # of the tempo to reach


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
class LessonRules:
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
    by_heart: frozenset[Kind]
    by_heart_needed: int
    by_heart_tries: int
    own_step: float
    shrink_after: int
    long_piece: int
    spots_at_once: int
    spot_slower: int
    known_needed: int
    forgotten_after: int
    most_times: int
    settled_after: int
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
    remind_minutes: float
    still_seconds: float
    idle_minutes: float
    weights: Weights

    def top_rung(self, kind: Kind) -> int:
        """Index of the rung at which a piece of this kind is good enough to leave."""
        wanted = dict(self.enough)[kind]
        return next((i for i, rung in enumerate(self.rungs) if rung >= wanted), len(self.rungs) - 1)


def read_lesson_rules(path: Path, ours: Path) -> LessonRules:
    """Read the table. Raises `UserError` with the file and line where something is missing or out of range.

    `ours` is the table that comes with the program: what is new in it, a player's own copy may lack.
    """
    file = read_toml(path)

    def counted(section: str, *names: str, least: int = 1) -> dict[str, Any]:
        return {name: file.count(section, name, least=least) for name in names}

    def minutes(section: str, *names: str) -> dict[str, Any]:
        return {name: file.number(section, name, above=0) for name in names}

    return LessonRules(
        steps=_steps(file),
        **counted("steps", "listen_rounds", "in_order_needed", "in_order_at_sight"),
        rungs=_rungs(file),
        **counted("ladder", "clean_needed", "failed_lower", "stride", "most_stride"),
        **counted("ladder", "pace_step", "fastest_pace", least=0),
        enough=tuple((kind, file.number("enough", kind.value, least=0)) for kind in _KINDS),
        **_by_heart(file, read_toml(ours)),
        own_step=_newer(file, read_toml(ours), "own_rounds").number("own_rounds", "step", above=0, most=0.5),
        **counted("spots", "shrink_after", "spots_at_once", "known_needed"),
        **counted("spots", "forgotten_after", "most_times", "settled_after"),
        **counted("spots", "long_piece", "spot_slower", least=0),
        nearly_known=file.number("spots", "nearly_known", least=0, most=0.5),
        largest_bite=_largest_bite(file),
        several=tuple(file.count(*one, least=1) for one in file.each("cut", "several")),
        **counted("cut", "phrase_bars"),
        **counted("sitting", "again_pieces", least=0),
        **counted("sitting", "again_tries"),
        due_share=file.number("sitting", "due_share", least=0, most=1),
        **minutes("sitting", "due_minutes", "turn_minutes", "ending_minutes", "minutes"),
        **minutes("care", "rest_minutes", "break_minutes"),
        **_care(file, read_toml(ours)),
        weights=file.section(Weights, "difficulty"),
    )


def _newer(file: TomlFile, ours: TomlFile, section: str) -> TomlFile:
    """Where a newer section stands: a player's own copy of the table, made before there was that, takes ours."""
    return file if section in file.data else ours


def _by_heart(file: TomlFile, ours: TomlFile) -> dict[str, Any]:
    """What is played by heart."""
    given = _newer(file, ours, "by_heart")
    kinds = []
    for place in given.each("by_heart", "kinds"):
        named = given.string(*place)
        if named not in _KINDS:
            raise given.wrong(f"`by_heart.kinds` takes {', '.join(_KINDS)}; correct it", "by_heart", "kinds")
        kinds.append(Kind(named))
    numbers = {f"by_heart_{name}": given.count("by_heart", name, least=1) for name in ("needed", "tries")}
    return {"by_heart": frozenset(kinds), **numbers}


def _care(file: TomlFile, ours: TomlFile) -> dict[str, Any]:
    """The newer numbers of [care]: a player's own copy of the table, made before they were, takes ours."""
    names = ("remind_minutes", "still_seconds", "idle_minutes")
    return {name: (file if name in file.table("care") else ours).number("care", name, above=0) for name in names}


def _steps(file: TomlFile) -> tuple[str, ...]:
    steps = tuple(file.string(*one) for one in file.each("steps", "order"))
    if not set(steps) <= set(_STEPS) or steps[-1:] != ("in time",):
        raise file.wrong(f'`steps.order` takes {", ".join(_STEPS)}, ending with "in time"', "steps", "order")
    return steps


def _rungs(file: TomlFile) -> tuple[float, ...]:
    rungs = tuple(file.number(*one, least=_RUNG[0], most=_RUNG[1]) for one in file.each("ladder", "rungs"))
    if not rungs or list(rungs) != sorted(set(rungs)):
        raise file.wrong("`ladder.rungs` must rise from one to the next; correct it", "ladder", "rungs")
    return rungs


def _largest_bite(file: TomlFile) -> Kind:
    named = file.string("cut", "largest_bite")
    if named not in SIZES:
        raise file.wrong(f"`cut.largest_bite` must be one of {', '.join(SIZES)}; correct it", "cut", "largest_bite")
    return Kind(named)
