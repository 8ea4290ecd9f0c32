"""Sound cut into frames, and each frame's magnitudes in bands that are fine where a box's lower partials lie.

Conventions: sound is float32 of shape (frames,) at `RATE`. Frame t of a sound ends with sample (t + 1) · HOP: what is
played is seen as soon as a window that ends there can show it, never earlier.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]


RATE = 44_100
HOP = 256  # 5.8 ms
LONG, SHORT = 2048, 1024  # samples of a window: which note it is; whether one was begun again
_LOW, _HIGH = 100.0, 8000.0  # Hz: a microphone of a laptop gives little outside
_FINE = 2600.0  # Hz: up to here a band is one bin; above, bands grow with their frequency
_GROWTH = 0.012
_CHUNK = 2048  # frames worked on at once


class Spectra:
    """Magnitudes of windows of `size` samples.

    `rising` is the share of the window that rises: a window that falls fast sees what is new sooner.
    """

    def __init__(self, size: int = LONG, rising: float = 0.75) -> None:
        self.size = size
        up = round(size * rising)
        rise = 0.5 - 0.5 * np.cos(np.pi * (np.arange(up) + 0.5) / up)
        fall = 0.5 + 0.5 * np.cos(np.pi * (np.arange(size - up) + 0.5) / (size - up))
        shape = np.concatenate([rise, fall])
        self._window = (shape / shape.sum()).astype(np.float32)
        bin_hz = RATE / size
        edges = [int(np.ceil(_LOW / bin_hz))]
        while edges[-1] * bin_hz < _HIGH:
            hz = edges[-1] * bin_hz
            edges.append(edges[-1] + (1 if hz < _FINE else max(1, round(hz * _GROWTH / bin_hz))))
        self._starts, self._end = np.array(edges[:-1]), edges[-1]
        self.centres = (np.array(edges[:-1]) + np.array(edges[1:]) - 1) / 2 * bin_hz
        self.bands = len(self.centres)

    def one(self, samples: Floats) -> Floats:
        """(bands,): the magnitudes of one window, of (size,) samples."""
        bins = np.fft.rfft(samples * self._window)[: self._end]
        power = np.square(bins.real) + np.square(bins.imag)
        out: Floats = np.sqrt(np.add.reduceat(power, self._starts)).astype(np.float32)
        return out

    def of(self, sound: Floats) -> Floats:
        """(frames, bands): the magnitudes of each frame of a sound, as if silence came before it."""
        return self.after(np.zeros(self.size - HOP, np.float32), sound)

    def after(self, before: Floats, sound: Floats) -> Floats:
        """(frames, bands) of the sound that follows `before`, the last (size − HOP,) samples."""
        joined = np.concatenate([before, sound])
        count = max(0, (len(joined) - self.size) // HOP + 1)
        out = np.empty((count, self.bands), np.float32)
        for first in range(0, count, _CHUNK):
            last = min(count, first + _CHUNK)
            part = joined[first * HOP : (last - 1) * HOP + self.size]
            windows = np.lib.stride_tricks.sliding_window_view(part, self.size)[::HOP]
            bins = np.fft.rfft(windows * self._window, axis=1)[:, : self._end]
            power = np.square(bins.real) + np.square(bins.imag)
            out[first:last] = np.sqrt(np.add.reduceat(power, self._starts, axis=1))
        return out
