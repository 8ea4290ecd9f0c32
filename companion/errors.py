"""The one exception that stands for a mistake of the user's: one clear sentence, exit code 2."""

from __future__ import annotations

import traceback
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Place:
    """Where in a file something is wrong. Lines and columns count from 1; 0 means "no such place"."""

    file: Path | None = None
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        parts = [str(self.file)] if self.file is not None else []
        parts += [str(n) for n in (self.line, self.column) if n]
        return ":".join(parts)


class UserError(Exception):
    """Something the user gave cannot be used.

    Parameters
    ----------
    message : one sentence that says what is wrong and what to do about it.
    place : the file, line and column it is about, where there is one.
    """

    def __init__(self, message: str, place: Place | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.place = place

    def __str__(self) -> str:
        where = str(self.place) if self.place is not None else ""
        return f"{where}: {self.message}" if where else self.message


def raised_by(error: BaseException, *packages: str) -> bool:
    """Whether an error comes out of one of these packages, not out of our own code that called it.

    What a library makes of a bad file is the file's fault; an error of our own is not, though the same line catches it.
    """
    names = [
        frame.f_globals.get("__name__", "").partition(".")[0] for frame, _ in traceback.walk_tb(error.__traceback__)
    ]
    ours = max((n for n, name in enumerate(names) if name == __package__), default=-1)
    return any(name in packages for name in names[ours + 1 :])
