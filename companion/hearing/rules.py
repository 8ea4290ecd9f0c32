"""The rules of `config/marks.toml`, as one value."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from companion.errors import Place, UserError
from companion.places import table

_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class Clean:
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
class CauseWeights:
    """What each cause of a wrong note weighs before other evidence; the rest as in the table."""

    other_direction: float
    button_below: float
    button_above: float
    other_row: float
    next_note: float
    note_before: float
    bar_before: float
    equal: float
    run: int
    wait: float
    rush: float


@dataclass(frozen=True, slots=True)
class Rules:
    """All of `config/marks.toml`."""

    clean: Clean
    length: Length
    ornament: OrnamentRule
    match: Chances
    cause: CauseWeights


def read_rules(path: Path) -> Rules:
    """Read a table of rules.

    Raises
    ------
    UserError
        Where the file cannot be read, is not TOML, or a value is missing, unknown or not a number.
    """
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise UserError(f"The rules for the marks cannot be read: {error.strerror}.", Place(path)) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise UserError(f"The rules for the marks are not TOML: {error}.", Place(path)) from error
    return Rules(
        _section(Clean, data, "clean", path),
        _section(Length, data, "length", path),
        _section(OrnamentRule, data, "ornament", path),
        _section(Chances, data, "match", path),
        _section(CauseWeights, data, "cause", path),
    )


@cache
def default_rules() -> Rules:
    """The player's own `marks.toml` where there is one, else the one that comes with the program."""
    return read_rules(table("marks.toml"))


def _section(kind: type[_T], data: dict[str, Any], name: str, path: Path) -> _T:
    """One section of the table as a value of `kind`."""
    section = data.get(name)
    wanted = [field.name for field in fields(kind)]  # type: ignore[arg-type]
    if not isinstance(section, dict):
        raise UserError(f"The section [{name}] is missing; it holds {', '.join(wanted)}.", Place(path))
    for key in wanted:
        value = section.get(key)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise UserError(f"[{name}] needs a number for {key!r}.", Place(path))
    unknown = sorted(set(section) - set(wanted))
    if unknown:
        raise UserError(f"[{name}] does not know {unknown[0]!r}; it holds {', '.join(wanted)}.", Place(path))
    return kind(**section)
