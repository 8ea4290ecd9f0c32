"""Exact alignment of two sequences: the cheapest way to pair, leave out and put in (dynamic programming).

Runs of what is left out, and of what is put in, cost less a piece than single ones (Gotoh, J. Mol. Biol. 162, 1982).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# Readings that cost the same but for rounding are equal.
_EQUAL = 1e-6


def align(
    pair: Floats, missed_first: float, missed_next: float, extra: Floats, extra_first: float
) -> tuple[list[tuple[int, int]], float]:
    """Align `n` asked notes with `m` heard ones.

    Parameters
    ----------
    pair : (n, m) cost of taking heard note j for asked note i.
    missed_first, missed_next : cost of an asked note left out, the first of a run and each after it.
    extra : (m,) cost of each heard note that belongs to no asked note.
    extra_first : what the first of a run of those costs on top.

    Returns
    -------
    list of (int, int), float
        The pairs, in order, and what the whole reading costs. Among readings of equal cost, asked notes go with the
        latest heard ones: of a phrase begun twice, the last attempt is matched.
    """
    n, m = pair.shape
    ahead = np.concatenate(([0.0], np.cumsum(extra)))
    paired = np.full((n + 1, m + 1), np.inf)
    left_out = np.full((n + 1, m + 1), np.inf)
    put_in = np.full((n + 1, m + 1), np.inf)
    paired[0, 0] = 0.0
    put_in[0, 1:] = ahead[1:] + extra_first
    best = np.minimum(paired[0], put_in[0])
    entering = ahead[1:] + extra_first
    for i in range(1, n + 1):
        paired[i, 1:] = best[:-1] + pair[i - 1]
        left_out[i] = np.minimum(best + missed_first, left_out[i - 1] + missed_next)
        either = np.minimum(paired[i], left_out[i])
        put_in[i, 1:] = np.minimum.accumulate(either[:-1] - ahead[:-1]) + entering
        best = np.minimum(either, put_in[i])
    return _trace(paired, left_out, put_in, missed_first, extra, extra_first), float(best[m])


def _trace(
    paired: Floats, left_out: Floats, put_in: Floats, missed_first: float, extra: Floats, extra_first: float
) -> list[tuple[int, int]]:
    """Walk back from the end along the cheapest reading."""
    i, j = paired.shape[0] - 1, paired.shape[1] - 1
    pairs: list[tuple[int, int]] = []
    layer = _cheapest(paired[i, j], left_out[i, j], put_in[i, j])
    while i > 0 or j > 0:
        if layer == "paired":
            i, j = i - 1, j - 1
            pairs.append((i, j))
            layer = _cheapest(paired[i, j], left_out[i, j], put_in[i, j])
        elif layer == "left_out":
            here = left_out[i, j]
            i -= 1
            if min(paired[i, j], put_in[i, j], left_out[i, j]) + missed_first <= here + _EQUAL:
                layer = _cheapest(paired[i, j], left_out[i, j], put_in[i, j])
        else:
            here = put_in[i, j]
            j -= 1
            if min(paired[i, j], left_out[i, j]) + extra_first + extra[j] <= here + _EQUAL:
                layer = _cheapest(paired[i, j], left_out[i, j], np.inf)
    pairs.reverse()
    return pairs


def _cheapest(paired: float, left_out: float, put_in: float) -> str:
    """Which of three costs is the least; equal ones in this order: paired, put in, left out."""
    least = min(paired, left_out, put_in) + _EQUAL
    if paired <= least:
        return "paired"
    return "put_in" if put_in <= least else "left_out"
