"""The inputs that the player named last: of MIDI for the instrument and for a separate pedal, and the microphone. They
are looked for first."""

from __future__ import annotations

import contextlib
from pathlib import Path

from companion.input.ports import base_name
from companion.places import own_data
from companion.whole_file import whole_file

INSTRUMENT, PEDAL, MICROPHONE = "port", "pedal", "microphone"


def chosen_port(what: str = INSTRUMENT) -> str | None:
    """The name of the input that was named last, without its numbers; None where none was."""
    with contextlib.suppress(OSError, UnicodeDecodeError):
        return _path(what).read_text(encoding="utf-8").strip() or None
    return None


def chosen_before(what: str) -> bool:
    """Whether the player has ever named one, or said that there is to be none."""
    return _path(what).is_file()


def choose_port(name: str, what: str = INSTRUMENT) -> None:
    """Remember an input by its name ("": none). Raises `UserError` where that cannot be kept."""
    path = _path(what)
    with contextlib.suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
    with whole_file(path) as beside:
        beside.write_text(base_name(name) + "\n", encoding="utf-8")


def _path(what: str) -> Path:
    return own_data() / f"{what}.txt"
