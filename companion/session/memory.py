"""What the program asks of the system's memory."""

from __future__ import annotations

import ctypes
import sys
from contextlib import suppress

M_MMAP_THRESHOLD = -3  # malloc.h of the GNU C library: mallopt(3)
LARGE = 1 << 20  # bytes: from a few seconds of sound on


def trim() -> None:
    """Give back what has been freed (some milliseconds: for a moment in which nothing moves)."""
    if sys.platform.startswith("linux"):
        with suppress(OSError, AttributeError):
            ctypes.CDLL(None).malloc_trim(0)


def give_back() -> None:
    """Let large arrays go back to the system as soon as they are freed.

    The GNU C library takes to keeping them once some have been freed, so that a session would hold on to the sound of
    the longest rounds that it has rendered. Elsewhere nothing is done.
    """
    if sys.platform.startswith("linux"):
        with suppress(OSError, AttributeError):
            ctypes.CDLL(None).mallopt(M_MMAP_THRESHOLD, LARGE)
