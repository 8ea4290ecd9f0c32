"""How much of each template a spectrum holds: a fit in which nothing is below nothing (Kullback–Leibler divergence).

The multiplicative rule is that of Lee and Seung, "Algorithms for non-negative matrix factorization" (NIPS 13, 2001),
with the templates held fast.
"""

from __future__ import annotations

import numpy as np

from companion.hearing.spectra import Floats

_FLOOR = np.float32(1e-7)


def as_shares(templates: Floats) -> Floats:
    """(templates, bands): each template scaled so that its magnitudes come to 1."""
    out: Floats = np.ascontiguousarray(templates / (templates.sum(1, keepdims=True) + _FLOOR), np.float32)
    return out


def shares(
    spectra: Floats, unit: Floats, rounds: int, *, start: Floats | None = None, moving: Floats | None = None
) -> Floats:
    """(frames, templates): how much of its frame's magnitude each template explains.

    Parameters
    ----------
    spectra : (frames, bands). unit : (templates, bands), as `as_shares` gives them.
    start : (templates,) a first guess, as they come out; None for the same of each.
    moving : (frames, bands) one more template, another in each frame; what it explains comes last, in a column more.
    """
    loud = spectra.sum(1, keepdims=True)
    if start is None:
        fitted = np.repeat(loud / len(unit), len(unit), axis=1)
    else:
        # Never quite nothing, or it could not come back.
        fitted = np.maximum(start[None, :], 1e-3 * loud / len(unit)).astype(np.float32)
    wanted = spectra + _FLOOR
    if moving is None:
        for _ in range(rounds):
            fitted *= (wanted / (fitted @ unit + _FLOOR)) @ unit.T
        return fitted
    own = moving / (moving.sum(1, keepdims=True) + _FLOOR)
    gain = np.where(moving.sum(1, keepdims=True) > _FLOOR, loud / 4, 0)
    for _ in range(rounds):
        ratio = wanted / (fitted @ unit + gain * own + _FLOOR)
        fitted *= ratio @ unit.T
        gain *= (ratio * own).sum(1, keepdims=True)
    return np.concatenate([fitted, gain], axis=1)


def misfit(spectra: Floats, fitted: Floats, unit: Floats) -> Floats:
    """(frames,): the share of each frame's magnitude that its templates do not explain."""
    out: Floats = np.abs(spectra - fitted @ unit).sum(1) / (spectra.sum(1) + _FLOOR)
    return out
