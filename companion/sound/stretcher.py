"""Slower, with the pitch kept: python-stretch (Signalsmith Stretch), in steps that it does cleanly.

A stretch to more than twice the length in one go blurs the pitch (14 cents off at a fifth of the tempo, measured); in
steps of up to twice it stays within 3.

Conventions: sound is float32 of shape (frames, channels); `share` is the new tempo beside the old.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from companion.errors import UserError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Sound = NDArray[np.float32]

SHARES = (0.2, 1.5)
BLOCK_S, HOP_S = 0.07, 0.0175  # of the analysis: long enough for the lowest reeds, short enough for an attack


def stretched(sound: Sound, rate: int, share: float, semitones: float = 0.0) -> Sound:
    """Sound at `share` of its tempo: ``len(sound) / share`` frames, within one for each step.

    Raises
    ------
    UserError : a share out of bounds, or no python-stretch on this machine.
    """
    import numpy as np

    if not SHARES[0] - 1e-9 <= share <= SHARES[1] + 1e-9:
        raise UserError(
            f"a recording can sound at 20% to 150% of its own tempo, not at {100 * share:.0f}%; ask for another tempo"
        )
    if abs(share - 1) < 1e-9 and not semitones:
        return sound
    steps = max(1, math.ceil(-math.log2(share) - 1e-9))
    part: Any = np.ascontiguousarray(sound.T, np.float32)
    for step in range(steps):
        engine = _engine(part.shape[0], rate)
        engine.setTimeFactor(share ** (1 / steps))
        if semitones and step == 0:
            engine.setTransposeSemitones(semitones)
        part = engine.process(part)
    made: Sound = np.ascontiguousarray(part.T, np.float32)
    return made


def _engine(channels: int, rate: int) -> Any:
    try:
        from python_stretch.Signalsmith import Stretch
    except ImportError:
        raise UserError(
            "a recording cannot be slowed down here: python-stretch is not installed (`pip install python-stretch`)"
        ) from None
    engine = Stretch(1)  # a seed: the same sound each time
    engine.configure(channels, round(BLOCK_S * rate), round(HOP_S * rate))
    return engine
