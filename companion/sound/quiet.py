"""The terminal kept clear of what libraries in C write there by themselves."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterator


@contextlib.contextmanager
def nothing_on_terminal() -> Iterator[None]:
    """While the block runs, what is written to the standard error goes nowhere. Does nothing without a terminal."""
    try:
        kept = os.dup(2)
    except OSError:
        yield
        return
    if sys.stderr is not None:
        sys.stderr.flush()
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)
