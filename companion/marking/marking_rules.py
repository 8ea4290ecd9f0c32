"""The rules of `config/marks.toml`, as one value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

from companion.marking.cause_table import WEIGHTS
from companion.toml_file import read_toml

_UNSURE = "unsure_share"


@dataclass(frozen=True, slots=True)
class CleanBounds:
    """What a clean round may hold: counts, the bounds of lateness (share of a beat, ms), the share outside them."""

    wrong: int
    missed: int
    extra: int
    beat_share: float
    least_ms: float
    most_ms: float
    forgiven_ms: float
    outside_share: float

    def tolerance_ms(self, beat_seconds: float) -> float:
        """How early or late a note may be, in ms, where a beat lasts `beat_seconds`."""
        return min(max(self.beat_share * beat_seconds * 1000.0, self.least_ms), self.most_ms)


@dataclass(frozen=True, slots=True)
class Clean(CleanBounds):
    """All of `[clean]`: the bounds, and the share of its notes that may be unsure."""

    unsure_share: float


@dataclass(frozen=True, slots=True)
class Length:
    """Shares of the written length under and over which a note is too short or too long."""

    short: float
    long: float


@dataclass(frozen=True, slots=True)
class OrnamentRule:
    """What an added ornament looks like: lengths in ms, distances from its main note in semitones."""

    longest_ms: float
    above: int
    below: int
    triplet_ms: float


@dataclass(frozen=True, slots=True)
class Chances:
    """The matcher's model of a player: chances (0 to 1), spreads of onsets in ms."""

    right: float
    wrong: float
    missed: float
    missed_on: float
    extra: float
    extra_on: float
    first_spread_ms: float
    least_spread_ms: float
    most_spread_ms: float


@dataclass(frozen=True, slots=True)
class CauseBounds:
    """When causes are said: see `[cause]` in the table."""

    equal: float
    run: int
    wait: float
    rush: float


@dataclass(frozen=True, slots=True)
class CauseRules(CauseBounds):
    """All of `[cause]`: the bounds, and what each cause of a wrong note weighs before other evidence, by its key."""

    weights: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class MarkingRules:
    """All of `config/marks.toml`."""

    clean: Clean
    length: Length
    ornament: OrnamentRule
    match: Chances
    cause: CauseRules


def read_marking_rules(path: Path, ours: Path) -> MarkingRules:
    """Read a table of rules; what is newer than a player's own copy of it comes from `ours`.

    Raises
    ------
    UserError
        Where the file cannot be read, or a value is missing, unknown or not a number.
    """
    file = read_toml(path)
    newer = file if file.get("clean", _UNSURE) is not None else read_toml(ours)
    return MarkingRules(
        Clean(
            **asdict(file.section(CleanBounds, "clean", besides=(_UNSURE,))),
            unsure_share=newer.number("clean", _UNSURE, least=0, most=1),
        ),
        file.section(Length, "length"),
        file.section(OrnamentRule, "ornament"),
        file.section(Chances, "match"),
        CauseRules(
            **asdict(file.section(CauseBounds, "cause", besides=WEIGHTS)),
            weights={key: file.number("cause", key) for key in WEIGHTS},
        ),
    )
