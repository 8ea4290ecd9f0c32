"""What the player has chosen in the window: kept in a file of their own, which nobody has to open.

`settings.toml` in the player's own config folder. What is given on the command line comes before it.
"""

from __future__ import annotations

import contextlib
import json
import tomllib
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from companion.errors import Place, UserError
from companion.places import own_config, table
from companion.screen.look import Facing, Look
from companion.screen.theme import DEFAULT
from companion.whole_file import whole_file

FILE = "settings.toml"
LONGEST_WAIT = 120.0  # seconds


@dataclass(frozen=True, slots=True)
class Own:
    """The player's choices.

    Parameters
    ----------
    box : a layout by name, or a file.
    device : the sound device as the system names it, "" for the usual one.
    level : how loud, in per cent.
    wait : seconds of the page between two pieces; below 0: as `config/window.toml` says.
    theme, text, facing, left_handed, reduced_motion : how the window looks.
    """

    box: str = "bc-21"
    device: str = ""
    level: int = 100
    wait: float = -1.0
    theme: str = DEFAULT
    text: float = 1.0
    facing: str = Facing.PLAYER.value
    left_handed: bool = False
    reduced_motion: bool = False

    @property
    def look(self) -> Look:
        """How the window looks."""
        return Look(Facing(self.facing), self.left_handed, self.text, self.reduced_motion)

    @property
    def loudness(self) -> float:
        """The level as a factor of amplitude: squared, so that half of it sounds about half as loud."""
        return (self.level / 100) ** 2

    @property
    def calm_wait(self) -> float:
        """Seconds of the page between two pieces."""
        return calm_wait() if self.wait < 0 else self.wait


def load_own() -> Own:
    """Read the player's choices; what the file leaves out is as it comes with the program.

    Raises
    ------
    UserError
        Where the file is not TOML, or a value is not of its kind.
    """
    path = _path()
    if not path.is_file():
        return Own()
    read = _toml(path)
    values: dict[str, Any] = {}
    for field in fields(Own):
        default = getattr(Own(), field.name)
        value = read.get(field.name, default)
        if isinstance(default, float) and isinstance(value, int) and not isinstance(value, bool):
            value = float(value)
        if type(value) is not type(default) or not _sensible(field.name, value):
            raise UserError(
                f"{field.name} should be like {json.dumps(default)}, not {value!r}; mend it, or remove the file "
                "and choose again in the window",
                Place(path),
            )
        values[field.name] = value
    return Own(**values)


def keep_own(own: Own) -> Path:
    """Keep the player's choices, whole or not at all. Raises `UserError` where that cannot be done."""
    path = _path()
    with contextlib.suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
    lines = ["# What was chosen in the window. It is written anew with every choice there."]
    lines += [f"{field.name} = {json.dumps(getattr(own, field.name), ensure_ascii=False)}" for field in fields(Own)]
    with whole_file(path) as beside:
        beside.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def calm_wait() -> float:
    """How long the page between two pieces stays, from `config/window.toml`. Raises `UserError` where that is wrong."""
    path = table("window.toml")
    calm = _toml(path).get("calm", {})
    value = calm.get("wait") if isinstance(calm, dict) else None
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= LONGEST_WAIT:
        raise UserError(f"[calm] wait must be a number of seconds from 0 to {LONGEST_WAIT:.0f}; mend it", Place(path))
    return float(value)


def _sensible(name: str, value: Any) -> bool:
    if name == "facing":
        return value in list(Facing)
    limits = {"level": (0, 100), "wait": (-1.0, LONGEST_WAIT), "text": (1.0, 1.4)}
    low, high = limits.get(name, (value, value))
    return bool(low <= value <= high)


def _path() -> Path:
    return own_config() / FILE


def _toml(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise UserError(f"this file cannot be read ({error.strerror}); mend that, or remove it", Place(path)) from None
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise UserError(f"this is not valid TOML: {error}; mend it, or remove it", Place(path)) from None
