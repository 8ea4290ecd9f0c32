"""What both ways of matching share: the chances of right, wrong and added pitches, and robust estimates of time.

A written note is played right, played with another pitch or left out; a heard note that stands for no written one is
extra. Costs are negative logarithms of chances.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from companion.marking.mark_values import Asked, Heard
from companion.marking.marking_rules import MarkingRules, OrnamentRule

Floats = NDArray[np.float64]
Pairs = tuple[tuple[int, int], ...]
Slips = Sequence[frozenset[int]]
"""For each asked note, the pitches that one slip gives in its place."""

# Onsets stray by Student's t with four degrees of freedom: bell-shaped near the middle, with room for hesitations.
DEGREES = 4.0
# Chance of each wrong pitch, by its distance in semitones from the one that was asked; and of an extra note's pitch.
_NEAR, _FIFTH, _OCTAVE, _FAR = 1 / 12, 1 / 24, 1 / 48, 1 / 120
EXTRA_PITCH = 1 / 16
# Where the fingering is known: the share of wrong notes that are one slip (ours).
_SLIPS = 0.9
# Points this many apart are near each other (about a bar), yet far enough that one note hardly tilts their line;
# the error of a median is so many times the middle distance from it, over the root of the number; surely: that often.
_NEAR_POINTS, _MEDIAN_ERROR, _SURELY = 8, 1.4826 * 1.2533, 3.0
# A note as short as a cut is less likely to be meant for a written one, and more likely to be an added one.
FLICK = 1.8


def pitch_costs(
    asked: Sequence[Asked], heard: Sequence[Heard], rules: MarkingRules, slips: Slips | None = None
) -> Floats:
    """(n, m) what it costs that heard note j stands for asked note i, by pitch alone."""
    chances = rules.match
    away = np.abs(np.array([h.pitch for h in heard])[None, :] - np.array([a.pitch for a in asked])[:, None])
    by_distance = np.full(129, -math.log(chances.wrong) - math.log(_FAR))
    by_distance[:13] = -math.log(chances.wrong) - math.log(_OCTAVE)
    by_distance[:8] = -math.log(chances.wrong) - math.log(_FIFTH)
    by_distance[:5] = -math.log(chances.wrong) - math.log(_NEAR)
    by_distance[0] = -math.log(chances.right)
    costs: Floats = by_distance[np.minimum(away, 128)]
    if slips is not None:
        pitches = np.array([h.pitch for h in heard])
        costs[away != 0] -= math.log(1.0 - _SLIPS)
        for i, near in enumerate(slips):
            for pitch in near:
                costs[i, pitches == pitch] = -math.log(chances.wrong) - math.log(_SLIPS / len(near))
    costs += FLICK * flicks(heard, rules.ornament)[None, :]
    return costs


def flicks(heard: Sequence[Heard], rule: OrnamentRule) -> NDArray[np.bool_]:
    """(m,) which heard notes are as short as a cut or a tap."""
    longest = rule.longest_ms / 1000.0
    onsets = np.array([h.seconds for h in heard])
    # Another note comes at once: else it is a written note played short.
    follows = np.append(np.diff(onsets) <= longest, False)
    return follows & np.array([sounding(heard, j) <= longest for j in range(len(heard))], dtype=np.bool_)


def sounding(heard: Sequence[Heard], j: int) -> float:
    """How long note `j` sounds, in seconds: to its end where that came in, else to the next onset."""
    note = heard[j]
    if note.end is not None and note.end > note.seconds:
        return note.end - note.seconds
    return heard[j + 1].seconds - note.seconds if j + 1 < len(heard) else math.inf


def robust_line(x: Floats, y: Floats) -> tuple[float, float]:
    """Slope and intercept of the line through most of the points: the median of the slopes between distant ones.

    Theil and Sen's estimate, on pairs of points at least a third of the points apart. Where the player stopped and went
    on, or began a phrase again, such pairs lie on both sides of the stop, and their slope is nobody's tempo: then the
    slope between near points, which few stops come between, is taken.
    """
    n = len(x)
    gap = max(1, n // 3)
    every = _slopes(x, y, (gap, gap + max(1, n // 7), gap + max(1, n // 4)))
    slope = float(np.median(every)) if len(every) else 0.0
    near = _slopes(x, y, (_NEAR_POINTS,)) if gap > _NEAR_POINTS else every
    if len(near) >= 2 * _NEAR_POINTS:
        middle = float(np.median(near))
        # Slopes that share points are not independent: as many are as there are spans side by side.
        error = _MEDIAN_ERROR * float(np.median(np.abs(near - middle))) / math.sqrt(len(near) / _NEAR_POINTS)
        if abs(slope - middle) > _SURELY * error:
            slope = middle
    return slope, float(np.median(y - slope * x))


def _slopes(x: Floats, y: Floats, distances: tuple[int, ...]) -> Floats:
    """The slopes between all points so many points apart."""
    found = []
    for apart in sorted(set(distances)):
        run, rise = x[apart:] - x[:-apart], y[apart:] - y[:-apart]
        good = run > 1e-9
        found.append(rise[good] / run[good])
    return np.concatenate(found)


def running_median(values: Floats, window: int) -> Floats:
    """The median of `window` values (odd) round each; fewer at the ends."""
    half = min(window // 2, (len(values) - 1) // 2)
    if half <= 0:
        return np.full(len(values), np.median(values)) if len(values) else values
    padded = np.concatenate((values[:half][::-1], values, values[-half:][::-1]))
    middle: Floats = np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1), axis=1)
    return middle


def usual_step(places: Floats) -> float:
    """The usual distance from one written note to the next, in the unit of `places`."""
    steps = np.diff(places)
    steps = steps[steps > 1e-9]
    return float(np.median(steps)) if len(steps) else 0.25
