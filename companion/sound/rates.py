"""Sound at another rate. Pure."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Sound = NDArray[np.float32]

PIECE_S, MARGIN_S = 10, 0.5  # of what is worked on at once, and of what is looked at on either side of it


def at_rate(sound: Sound, rate: int, wanted: int) -> Sound:
    """The same sound at another rate, band-limited: by the discrete Fourier transform, ten seconds at a time.

    Parameters
    ----------
    sound : (frames,) or (frames, channels), float32, at `rate` frames a second.

    Returns
    -------
    Sound of the same length in seconds, at `wanted` frames a second.
    """
    import numpy as np

    if rate == wanted or not len(sound):
        return sound
    # Pieces that come to a whole number of frames at either rate, so that nothing drifts.
    grain = rate // math.gcd(rate, wanted)
    each, margin = (math.ceil(seconds * rate / grain) * grain for seconds in (PIECE_S, MARGIN_S))
    parts = []
    for first in range(0, len(sound), each):
        begin = max(0, first - margin)
        piece = sound[begin : first + each + margin]
        # A little silence, so that the end does not ring into the beginning.
        length = -(-(len(piece) + rate // 10) // grain) * grain
        new = length * wanted // rate
        spectrum = np.fft.rfft(piece, length, axis=0)
        made = np.fft.irfft(spectrum[: new // 2 + 1], new, axis=0) * (new / length)
        skip = (first - begin) * wanted // rate
        count = min(each, len(sound) - first) * wanted / rate
        parts.append(made[skip : skip + round(count)].astype(np.float32))
    return np.concatenate(parts)
