"""What can be asked for with no hand free: by a MIDI pedal, or by holding a button of the box (`config/keys.toml`)."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from companion.errors import Place, UserError
from companion.places import shipped, table
from companion.screen.actions import Action

LAST_CONTROL = 119  # from 120 on they are not controllers but modes (MIDI 1.0)
LONGEST = 30.0  # seconds that a button may have to be held


@dataclass(frozen=True, slots=True)
class Feet:
    """The table: what each controller does, and what a button does that is held (`seconds` 0: nothing)."""

    controls: Mapping[int, Action]
    held: Action
    seconds: float

    def controls_of(self, action: Action) -> tuple[int, ...]:
        """The controllers that do something, the first of them being the one that is shown."""
        return tuple(number for number, does in self.controls.items() if does is action)


@lru_cache(maxsize=2)
def load_feet() -> Feet:
    """Read the table; of a player's own file that has no such tables, ours.

    Raises
    ------
    UserError
        Where the file cannot be read, or an entry is none.
    """
    path = table("keys.toml")
    given, ours = _toml(path), _toml(shipped("config", "keys.toml"))
    midi, held = given.get("midi", ours["midi"]), given.get("held", ours["held"])
    if not isinstance(midi, dict) or not isinstance(held, dict):
        raise UserError("midi and held must be tables: [midi], [held].", Place(path))
    return Feet(_controls(midi, path), *_held(held, path))


def _controls(entries: dict[str, Any], path: Path) -> dict[int, Action]:
    found: dict[int, Action] = {}
    for name, given in entries.items():
        if name not in list(Action):
            raise UserError(f"[midi] {name} is nothing that can be asked for; take it out.", Place(path))
        for entry in given if isinstance(given, list) else [given]:
            match = re.fullmatch(r"control (\d{1,3})", entry) if isinstance(entry, str) else None
            if match is None or int(match[1]) > LAST_CONTROL:
                raise UserError(
                    f'[midi] {name} takes controllers from 0 to {LAST_CONTROL}: {name} = ["control 64"].', Place(path)
                )
            number = int(match[1])
            if number in found:
                raise UserError(f"[midi] controller {number} is given to {found[number]} and to {name}.", Place(path))
            found[number] = Action(name)
    return found


def _held(entry: dict[str, Any], path: Path) -> tuple[Action, float]:
    does, seconds = entry.get("does", "pause"), entry.get("seconds", 0.0)
    if does not in list(Action):
        raise UserError(f"[held] does = {does!r} is nothing that can be asked for.", Place(path))
    if isinstance(seconds, bool) or not isinstance(seconds, int | float) or not 0 <= seconds <= LONGEST:
        raise UserError(f"[held] seconds must be a number from 0 to {LONGEST:.0f}.", Place(path))
    return Action(does), float(seconds)


def _toml(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as why:
        raise UserError(f"The table of keys cannot be read: {why}.", Place(path)) from why
