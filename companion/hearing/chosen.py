"""The MIDI input that the player named last: it is looked for first when none is named."""

from __future__ import annotations

import contextlib
from pathlib import Path

from companion.hearing.ports import base_name
from companion.places import own_data
from companion.whole_file import whole_file

FILE = "port.txt"


def chosen_port() -> str | None:
    """The name of the input that was named last, without its numbers; None where none was."""
    with contextlib.suppress(OSError, UnicodeDecodeError):
        return _path().read_text(encoding="utf-8").strip() or None
    return None


def choose_port(name: str) -> None:
    """Remember an input by its name. Raises `UserError` where that cannot be kept."""
    path = _path()
    with contextlib.suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
    with whole_file(path) as beside:
        beside.write_text(base_name(name) + "\n", encoding="utf-8")


def _path() -> Path:
    return own_data() / FILE
