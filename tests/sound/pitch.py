"""Measures on waves, with numpy's FFT and nothing of the program's own."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def cents_off(wave: NDArray[np.floating], rate: int, pitch: int, concert: float = 440.0) -> float:
    """How far the strongest partial near a MIDI pitch lies from equal temperament (positive: sharp)."""
    wanted = concert * 2 ** ((pitch - 69) / 12)
    size = 8 * len(wave)
    spectrum = np.abs(np.fft.rfft(wave * np.hanning(len(wave)), size))
    hertz = np.fft.rfftfreq(size, 1 / rate)
    near = np.flatnonzero((hertz > wanted * 0.9) & (hertz < wanted * 1.1))
    peak = int(near[spectrum[near].argmax()])
    a, b, c = np.log(spectrum[peak - 1 : peak + 2])
    place = peak + 0.5 * (a - c) / (a - 2 * b + c)  # the parabola through the peak and its neighbours
    return float(1200 * np.log2(place * rate / size / wanted))


def rise(wave: NDArray[np.floating], rate: int) -> float:
    """Seconds from a tenth to nine tenths of the level that is reached, over windows of 5 ms."""
    window = round(0.005 * rate)
    level = np.sqrt(np.convolve(wave.astype(np.float64) ** 2, np.ones(window) / window, "valid"))
    top = float(np.median(level[len(level) // 2 :]))
    smooth = np.maximum.accumulate(level)
    return float((np.argmax(smooth > 0.9 * top) - np.argmax(smooth > 0.1 * top)) / rate)
