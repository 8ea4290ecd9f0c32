"""The folders in which sessions without a sound device leave what was played: how much they take, and which may go."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from companion.errors import Place, UserError
from companion.places import own_data

PICTURE, SOUND, TAKE, MARKS = "window.png", "sound.flac", "take.mid", "marks.json"  # their names in the folder
_NAME = "%Y-%m-%d %H.%M.%S"
_NAMED = re.compile(r"\d{4}-\d\d-\d\d \d\d\.\d\d\.\d\d")
_OURS = re.compile(r"window\.png|sound\.(flac|wav)|take\.mid|marks(-\d+)?\.json")  # WAV: before it was FLAC
_STAYS = "kept.txt"


def takes() -> Path:
    """The folder that holds them."""
    return own_data() / "takes"


def folder_for(named: str | None) -> Path:
    """The folder to leave things in, made: the one that is named, or one of the player's own by date and time."""
    folder = Path(named) if named is not None else takes() / datetime.now().strftime(_NAME)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if named is not None and _NAMED.fullmatch(folder.name) and folder.resolve().parent == takes().resolve():
            # It looks like one of ours, but the player chose it.
            (folder / _STAYS).write_text("This folder was named with --keep: it is not taken away.\n", encoding="utf-8")
    except OSError as error:
        message = f"no folder can be made here ({error.strerror}); name another with --keep"
        raise UserError(message, Place(folder)) from None
    return folder


def taken_up() -> tuple[int, int]:
    """How many such folders there are, and the bytes in them."""
    folders = list(_folders())
    return len(folders), sum(path.stat().st_size for folder in folders for path in folder.iterdir())


def clear_old(sessions: int, spared: Path) -> None:
    """Take away all but the last `sessions` folders (0: none), `spared` never.

    Only what the program itself named and filled: a folder with anything else in it is left as it is.
    """
    if not sessions:
        return
    for folder in sorted(_folders(), reverse=True)[sessions:]:
        if folder != spared:
            with contextlib.suppress(OSError):  # a file may be open elsewhere; the next session tries again
                for path in folder.iterdir():
                    path.unlink()
                folder.rmdir()


def _folders() -> Iterator[Path]:
    """The folders that sessions named and filled."""
    try:
        found = list(takes().iterdir())
    except OSError:
        return
    for folder in found:
        if _NAMED.fullmatch(folder.name) and folder.is_dir() and not folder.is_symlink():
            with contextlib.suppress(OSError):
                if all(_OURS.fullmatch(path.name) and path.is_file() for path in folder.iterdir()):
                    yield folder
