"""An ear: what is learnt of how one box sounds in one room, and its file.

Conventions: sound is float32, one channel, shape (frames,), full scale 1; seconds count from its beginning.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Sound = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Ear:
    """What is known of a box in a room.

    `pitches` are those of the right hand that were learnt, ascending; `guessed` says that nothing was learnt and the
    program's own reeds stand in.
    """

    pitches: tuple[int, ...]
    guessed: bool = False


def read_ear(path: Path | str) -> Ear:
    """Read an ear's file. Raises `UserError` where it is not there or is no such file."""
    raise NotImplementedError(path)


def write_ear(path: Path | str, ear: Ear) -> None:
    """Write an ear's file, whole or not at all. Raises `UserError` where it cannot be written."""
    raise NotImplementedError(path, ear)


def own_ear() -> Ear:
    """The ear for a box that nobody has learnt: the program's own reeds. Made once, kept."""
    raise NotImplementedError
