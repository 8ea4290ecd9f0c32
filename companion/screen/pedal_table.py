"""What you can do with no hand free: by a MIDI pedal, or by holding a button of the box (`config/keys.toml`)."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from companion.places import shipped, table
from companion.screen.actions import Action
from companion.toml_file import TomlFile, read_toml

LAST_CONTROL = 119  # from 120 on they are not controllers but modes (MIDI 1.0)
TEMPO = "tempo"  # in the table: a pedal whose place is a tempo
LONGEST = 30.0  # seconds that a button may have to be held


@dataclass(frozen=True, slots=True)
class PedalTable:
    """The table: what each controller does, and what a button does that is held (`seconds` 0: nothing).

    `tempo` are the controllers whose value is a tempo: a pedal that can be left anywhere between its ends.
    """

    controls: Mapping[int, Action]
    held: Action
    seconds: float
    tempo: frozenset[int] = frozenset()

    @property
    def listened(self) -> frozenset[int]:
        """All controllers that mean something."""
        return self.tempo | frozenset(self.controls)

    def controls_of(self, action: Action) -> tuple[int, ...]:
        """The controllers that do something, the first of them being the one that is shown."""
        return tuple(number for number, does in self.controls.items() if does is action)


@lru_cache(maxsize=2)
def load_pedals() -> PedalTable:
    """Read the table; of a player's own file that has no such tables, ours.

    Raises
    ------
    UserError
        Where the file cannot be read, or an entry is none.
    """
    given, ours = read_toml(table("keys.toml")), read_toml(shipped("config", "keys.toml"))
    controls = _controls(given if "midi" in given.data else ours)
    held = _held(given if "held" in given.data else ours)
    tempo = frozenset(number for number, does in controls.items() if does == TEMPO)
    switches = {number: Action(does) for number, does in controls.items() if does != TEMPO}
    return PedalTable(switches, *held, tempo)


def _controls(file: TomlFile) -> dict[int, str]:
    """What each controller does, by its number."""
    found: dict[int, str] = {}
    for name, given in file.table("midi").items():
        if name not in (*Action, TEMPO):
            raise file.wrong(f"[midi] {name} is not something the program can do; take it out.", "midi", name)
        for index, entry in enumerate(given if isinstance(given, list) else [given]):
            match = re.fullmatch(r"control (\d{1,3})", entry) if isinstance(entry, str) else None
            if match is None or int(match[1]) > LAST_CONTROL:
                message = f'[midi] {name} takes controllers from 0 to {LAST_CONTROL}: {name} = ["control 64"].'
                raise file.wrong(message, "midi", name, index)
            number = int(match[1])
            if number in found:
                both = f"{found[number]} and to {name}"
                message = f"[midi] controller {number} is given to {both}; remove it from one."
                raise file.wrong(message, "midi", name, index)
            found[number] = name
    return found


def _held(file: TomlFile) -> tuple[Action, float]:
    """What a button does that is held, and for how long it must be."""
    entry = file.table("held")
    does = file.string("held", "does") if "does" in entry else Action.PAUSE
    if does not in list(Action):
        raise file.wrong(f"[held] does = {does!r} is not something the program can do; correct it.", "held", "does")
    return Action(does), file.number("held", "seconds", least=0, most=LONGEST) if "seconds" in entry else 0.0
