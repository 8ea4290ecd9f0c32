"""What you have chosen in the window: kept in a file of its own, which nobody has to open.

`settings.toml` in the player's own config folder. What is given on the command line comes before it. With two windows
open, each writes only what was changed in it, so the last change of a setting wins and no other is lost; a window shows
what the other has changed when it is opened again.
"""

from __future__ import annotations

import contextlib
import json
from dataclasses import dataclass, fields, replace
from pathlib import Path

from companion.box.hand_costs import PLAIN
from companion.places import own_config, table
from companion.screen.look import Facing, Look
from companion.screen.theme import DEFAULT
from companion.toml_file import read_toml
from companion.whole_file import whole_file

FILE = "settings.toml"
LONGEST_WAIT = 120.0  # seconds
_LIMITS = {"level": (0, 100), "wait": (-1.0, LONGEST_WAIT), "text": (1.0, 1.4)}


@dataclass(frozen=True, slots=True)
class PlayerChoices:
    """The player's choices.

    Parameters
    ----------
    box : a layout by name, or a file.
    hand : the hand by which tunes are fingered (`companion.tables`), where a tutor names none for the tune.
    device : the sound device as the system names it, "" for the usual one.
    level : how loud, in per cent.
    wait : seconds of the page between two pieces; below 0: as `config/window.toml` says.
    theme, text, facing, left_handed, reduced_motion, names, staff : how the window looks.
    by_ear : nobody is heard where no instrument is there; no demonstration plays instead.
    """

    box: str = "bc-21"
    hand: str = PLAIN
    device: str = ""
    level: int = 100
    wait: float = -1.0
    theme: str = DEFAULT
    text: float = 1.0
    facing: str = Facing.PLAYER.value
    left_handed: bool = False
    reduced_motion: bool = False
    by_ear: bool = False
    names: bool = False
    staff: bool = False

    @property
    def look(self) -> Look:
        """How the window looks."""
        facing = Facing(self.facing)
        return Look(facing, self.left_handed, self.text, self.reduced_motion, self.names, self.staff)

    @property
    def loudness(self) -> float:
        """The level as a factor of amplitude: squared, so that half of it sounds about half as loud."""
        return (self.level / 100) ** 2

    @property
    def calm_wait(self) -> float:
        """Seconds of the page between two pieces."""
        return calm_wait() if self.wait < 0 else self.wait


def load_choices() -> PlayerChoices:
    """Read the player's choices; what the file leaves out is as it comes with the program.

    Raises
    ------
    UserError
        Where the file is not TOML, or a value is not of its kind.
    """
    path = _path()
    if not path.is_file():
        return PlayerChoices()
    file = read_toml(path, "correct it, or remove the file and choose again in the window")
    own = file.section(PlayerChoices, default=PlayerChoices())
    if own.facing not in list(Facing):
        raise file.wrong(f"`facing` must be one of {', '.join(Facing)}; {file.remedy}", "facing")
    for name, (least, most) in _LIMITS.items():
        if name in file.data:
            file.number(name, least=least, most=most)
    return own


def keep_own(own: PlayerChoices) -> Path:
    """Keep the player's choices, whole or not at all. Raises `UserError` where that cannot be done."""
    path = _path()
    with contextlib.suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
    lines = ["# What was chosen in the window. It is written anew with every choice there."]
    lines += [
        f"{field.name} = {json.dumps(getattr(own, field.name), ensure_ascii=False)}" for field in fields(PlayerChoices)
    ]
    with whole_file(path) as beside:
        beside.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def keep_changes(before: PlayerChoices, after: PlayerChoices) -> None:
    """Keep only what differs between two choices, on top of what the file says now: another window may have changed
    the rest. Raises `UserError` where the file cannot be read or written."""
    changed = {one.name: getattr(after, one.name) for one in fields(PlayerChoices)}
    changed = {name: value for name, value in changed.items() if value != getattr(before, name)}
    if changed:
        keep_own(replace(load_choices(), **changed))


def chosen_before() -> bool:
    """Whether the player has ever chosen anything."""
    return _path().is_file()


def calm_wait() -> float:
    """How long the page between two pieces stays, from `config/window.toml`. Raises `UserError` where that is wrong."""
    return read_toml(table("window.toml")).number("calm", "wait", least=0, most=LONGEST_WAIT)


def _path() -> Path:
    return own_config() / FILE
