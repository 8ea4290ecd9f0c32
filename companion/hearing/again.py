"""Whether a note was begun again while it sounded: all its partials dip at once and come back.

A reed that beats with another dips too, but each partial in its own time; so the dips of all partials are averaged,
each counted up to a bound. Ours: of the measures tried on wet tunings, this one told the two apart best.

Conventions: levels in dB; frames of short windows, a `HOP` apart.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from companion.hearing.spectra import Floats, Spectra

AROUND = 12  # frames before and after within which a note must have been louder
MOST = 8.0  # dB: a deeper dip of one partial says no more
_OVER_NOISE = 5.0  # times: a partial nearer to the noise is left out
_MOST_PARTIALS = 40


def pitch_hz(pitch: float, cents: float = 0.0) -> float:
    """The frequency of a MIDI pitch at A = 440 Hz."""
    return float(440.0 * 2.0 ** ((pitch - 69 + cents / 100) / 12))


def partials(spectra: Spectra, hertz: float, steady: Floats, quiet: Floats) -> NDArray[np.float32]:
    """(partials, bands) of ones and noughts: the bands of each partial that stands out of the noise.

    `steady`, `quiet` : (bands,) the magnitudes of the note, and without it.
    """
    number = np.maximum(1, np.round(spectra.centres / hertz)).astype(int)
    rows = []
    for partial in range(1, min(_MOST_PARTIALS, int(number.max())) + 1):
        here = number == partial
        loud, noise = np.sqrt((steady[here] ** 2).sum()), np.sqrt((quiet[here] ** 2).sum())
        if here.any() and loud > _OVER_NOISE * noise:
            rows.append(here)
    if not rows:
        rows = [np.ones(spectra.bands, bool)]
    return np.array(rows, np.float32)


def levels(short: Floats, rows: Floats, quiet: Floats) -> Floats:
    """(frames, partials) in dB: how loud each partial is in each frame of short windows."""
    power = np.square(short) @ rows.T + (np.square(quiet) @ rows.T)[None, :]
    out: Floats = (10.0 * np.log10(power + 1e-14)).astype(np.float32)
    return out


def dips(level: Floats) -> Floats:
    """(frames,) in dB: how far the partials lie below what they were a little before and are a little after."""
    frames = len(level)
    if not frames:
        return np.zeros(0, np.float32)
    edge = np.full((AROUND, level.shape[1]), -np.inf, np.float32)
    around = np.lib.stride_tricks.sliding_window_view(np.concatenate([edge, level, edge]), AROUND + 1, axis=0)
    highest = around.max(-1)
    before, after = highest[:frames], highest[AROUND : AROUND + frames]
    depth = np.minimum(np.minimum(before, after) - level, MOST)
    out: Floats = depth.mean(1)
    return out


def peaks(depth: Floats, least: float) -> list[int]:
    """The frames at which dips are deepest: at least `least` dB, and the deepest within `AROUND` frames."""
    found: list[int] = []
    for t in np.flatnonzero(depth >= least):
        near = depth[max(0, t - AROUND) : t + AROUND + 1]
        if depth[t] >= near.max() and (not found or t - found[-1] > AROUND):
            found.append(int(t))
    return found


def comes_back(level: Floats, at: int) -> float:
    """When, in frames with their fraction, the partials that dip at frame `at` are half way back."""
    mean = np.minimum(level, np.median(level, axis=0) + 3.0).mean(1)
    after = mean[at : at + AROUND + 1]
    middle = (after[0] + after.max()) / 2
    k = int(np.argmax(after >= middle))
    if k == 0:
        return float(at)
    return at + k - 1 + float((middle - after[k - 1]) / max(after[k] - after[k - 1], 1e-9))
