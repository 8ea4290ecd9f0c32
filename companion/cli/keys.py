"""Single keys from the terminal, where there is one."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Callable, Iterator


@contextlib.contextmanager
def keys() -> Iterator[Callable[[], str] | None]:
    """A function that gives the keys pressed since the last call; None where nobody sits at a terminal."""
    if not sys.stdin or not sys.stdin.isatty():
        yield None
    elif os.name == "nt":
        yield _windows
    else:
        with _posix() as read:
            yield read


def _windows() -> str:
    import msvcrt

    found = ""
    while msvcrt.kbhit():  # type: ignore[attr-defined, unused-ignore]
        found += msvcrt.getwch()  # type: ignore[attr-defined, unused-ignore]
    return found


@contextlib.contextmanager
def _posix() -> Iterator[Callable[[], str]]:
    import select
    import termios
    import tty

    handle = sys.stdin.fileno()
    kept = termios.tcgetattr(handle)

    def read() -> str:
        found = b""
        while select.select([handle], [], [], 0)[0]:
            piece = os.read(handle, 64)
            if not piece:
                break
            found += piece
        return found.decode(errors="ignore")

    try:
        tty.setcbreak(handle)
        yield read
    finally:
        termios.tcsetattr(handle, termios.TCSADRAIN, kept)
