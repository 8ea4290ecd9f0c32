"""Alignment of what was heard with what was asked, for a player who may go back and begin again.

As `companion.marking.align`, with one more step: from any place before the end the player may return to any earlier
one. The model is that of score following with repeats (Nakamura and others, IEEE/ACM TASLP 24(2), 2016), its best path
found by Viterbi's algorithm, one heard note at a time.
"""

from __future__ import annotations

import numpy as np

from companion.marking.chances import Floats

_EQUAL = 1e-6


def follow(
    pair: Floats,
    missed_first: float,
    missed_next: float,
    extra: Floats,
    extra_first: float,
    extra_on: Floats,
    back: Floats,
) -> list[tuple[int, int]]:
    """Align `n` asked notes with `m` heard ones, returns allowed.

    Parameters
    ----------
    pair, missed_first, missed_next, extra, extra_first : as in `align`.
    extra_on : (m,) what it costs besides that an extra note follows an extra one.
    back : (m,) what it costs to have gone back before each heard note.

    Returns
    -------
    list of (int, int)
        What was played, in order of hearing. An asked note occurs as often as it was played again.
    """
    n, m = pair.shape
    skips = missed_next * np.arange(n + 1)
    first_skip = missed_first - missed_next
    came = np.full((m + 1, n + 1), np.inf)  # paired: heard j is asked i - 1
    extras = np.full((m + 1, n + 1), np.inf)
    settled = np.full((m + 1, n + 1), np.inf)  # after heard j, returns made
    ready = np.empty((m + 1, n + 1))  # and after notes left out
    start = np.full(n + 1, np.inf)
    start[0] = 0.0
    settled[0] = start
    ready[0] = _with_skips(start, skips, first_skip)
    for j in range(1, m + 1):
        before = ready[j - 1]
        came[j, 1:] = before[:-1] + pair[:, j - 1]
        extras[j] = np.minimum(before + extra_first, extras[j - 1] + extra_on[j - 1]) + extra[j - 1]
        now = np.minimum(came[j], extras[j])
        if j < m:
            # From every later place but the end, where the round is over.
            least = np.minimum.accumulate(now[n - 1 :: -1])[::-1]
            settled[j, : n - 1] = np.minimum(now[: n - 1], least[1:] + back[j])
            settled[j, n - 1 :] = now[n - 1 :]
        else:
            settled[j] = now
        ready[j] = _with_skips(settled[j], skips, first_skip)
    return _trace(missed_first, skips, extra_first, extra_on, (came, extras, settled, ready))


def _with_skips(now: Floats, skips: Floats, first: float) -> Floats:
    """The cost of each place when any number of notes may be left out on the way to it."""
    skipped = np.minimum.accumulate(now[:-1] - skips[:-1]) + skips[1:] + first
    out = now.copy()
    out[1:] = np.minimum(now[1:], skipped)
    return out


def _trace(
    missed_first: float,
    skips: Floats,
    extra_first: float,
    extra_on: Floats,
    layers: tuple[Floats, Floats, Floats, Floats],
) -> list[tuple[int, int]]:
    """Walk back from the end along the cheapest path."""
    came, extras, settled, ready = layers
    m, n = came.shape[0] - 1, came.shape[1] - 1
    first = missed_first - (skips[1] if n else 0.0)
    i, j, in_extras = n, m, False
    found: list[tuple[int, int]] = []
    while j > 0:
        if not in_extras:
            if ready[j, i] < settled[j, i] - _EQUAL:
                # Notes were left out on the way here.
                i = int(np.argmin(settled[j, :i] - skips[:i] + skips[i] + first))
            if settled[j, i] < min(came[j, i], extras[j, i]) - _EQUAL:
                # The player went back to here from a later place, the nearest of the likeliest.
                i = i + 1 + int(np.argmin(np.minimum(came[j, i + 1 : n], extras[j, i + 1 : n])))
        if not in_extras and came[j, i] <= extras[j, i] + _EQUAL:
            found.append((i - 1, j - 1))
            i -= 1
        else:
            in_extras = extras[j - 1, i] + extra_on[j - 1] < ready[j - 1, i] + extra_first - _EQUAL
        j -= 1
    found.reverse()
    return found
