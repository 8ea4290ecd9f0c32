"""Which written note each heard note was meant for, decided over a whole round that was played to a beat.

Readings of the take are weighed by their chances (`companion.marking.chances`), and by how far each onset lies from
where the player's own time puts the note. That time (a constant lead or lag, another tempo, a drift, a hesitation) and
the spread round it are estimated from the take itself, in alternation with the alignment.

Conventions: `asked` in order of place, `heard` in order of onset; pairs are (position in asked, position in heard).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from companion.marking.align import align
from companion.marking.chances import (
    DEGREES,
    EXTRA_PITCH,
    FLICK,
    Floats,
    Pairs,
    Slips,
    flicks,
    pitch_costs,
    robust_line,
    running_median,
    usual_step,
)
from companion.marking.in_order import match_in_order
from companion.marking.mark_values import Asked, Heard
from companion.marking.marking_rules import Chances, MarkingRules
from companion.timeline import Timeline

# The height of Student's t at its middle, for four degrees of freedom and a spread of 1.
_PEAK = 0.375
# A reading in time is sure when this share of the written notes came with their pitch, this near (s) to the beat, and
# never so many in a row did not: whoever stops near the end and begins again is off the beat from there on.
_SURE, _SURE_NEAR, _SURE_RUN = 0.85, 0.15, 5
# Bars that run away or drag: such a share of the notes strays from the player's own time by so much (s).
_STRAYS, _STRAYS_SPREAD = 0.04, 0.12
# The player's time is followed over this many notes: about two bars of quavers.
_WINDOW = 9


def match_in_time(
    asked: Sequence[Asked],
    heard: Sequence[Heard],
    timeline: Timeline,
    rules: MarkingRules,
    slips: Slips | None = None,
) -> Pairs:
    """Match a round played to a beat.

    The timeline says where the beat lies. A player who is off it by a constant, drifts, or comes in late is followed;
    where hardly a note lies near its place, the order of the pitches says first how far the player is off.
    """
    if not asked or not heard:
        return ()
    written = np.array([timeline.seconds(a.at) for a in asked])
    steady, cost = _in_time(asked, heard, written, np.zeros(len(asked)), rules, slips)
    near = [
        i for i, j in steady if asked[i].pitch == heard[j].pitch and abs(heard[j].seconds - written[i]) < _SURE_NEAR
    ]
    furthest = max((after - before for before, after in pairwise([-1, *near, len(asked)])), default=0)
    if len(near) >= _SURE * len(asked) and furthest <= _SURE_RUN:
        return steady
    ordered = match_in_order(asked, heard, rules, slips)
    moved, moved_cost = _in_time(asked, heard, written, _own_time(asked, heard, ordered, written), rules, slips)
    # To be far off the beat takes a clear case: as much as two written notes that came after all.
    return moved if moved_cost < cost + 2.0 * math.log(rules.match.missed) else steady


def _in_time(
    asked: Sequence[Asked],
    heard: Sequence[Heard],
    written: Floats,
    off: Floats,
    rules: MarkingRules,
    slips: Slips | None,
) -> tuple[Pairs, float]:
    """Alternate between aligning, and estimating the player's own time and spread."""
    chances = rules.match
    onsets = np.array([h.seconds for h in heard])
    pitch = pitch_costs(asked, heard, rules, slips)
    short = flicks(heard, rules.ornament)
    step = usual_step(written)
    spread = chances.first_spread_ms / 1000.0
    pairs: Pairs = ()
    cost = math.inf
    for _ in range(4):
        late = onsets[None, :] - (written + off)[:, None]
        again, cost = _aligned(pitch + _strayed(late, spread), heard, chances, short, step)
        if again == pairs:
            break
        pairs = again
        off = _own_time(asked, heard, pairs, written)
        spread = _spread(asked, heard, pairs, written + off, chances)
    return pairs, cost


def _strayed(late: Floats, spread: float) -> Floats:
    """What it costs to lie so far (s) from the player's own time: most notes near to it, a few strays far from it."""
    near, far = (
        share * _PEAK / width * (1.0 + (late / width) ** 2 / DEGREES) ** (-(DEGREES + 1) / 2)
        for share, width in ((1.0 - _STRAYS, spread), (_STRAYS, _STRAYS_SPREAD))
    )
    costs: Floats = -np.log(near + far)
    return costs


def _aligned(
    costs: Floats, heard: Sequence[Heard], chances: Chances, short: NDArray[np.bool_], step: float
) -> tuple[Pairs, float]:
    """Align by cost; `step` is the usual time between two written notes (the rate at which extra notes come)."""
    extra = np.full(len(heard), -math.log(chances.extra_on) - math.log(EXTRA_PITCH) + math.log(step))
    extra -= FLICK * short
    first_extra = math.log(chances.extra_on / chances.extra)
    pairs, cost = align(costs, -math.log(chances.missed), -math.log(chances.missed_on), extra, first_extra)
    return tuple(pairs), cost


def _own_time(asked: Sequence[Asked], heard: Sequence[Heard], pairs: Pairs, written: Floats) -> Floats:
    """(n,) how late the player's own time runs at each asked note, in seconds: a line, and what strays from it."""
    right = [(i, j) for i, j in pairs if asked[i].pitch == heard[j].pitch]
    if not right:
        return np.zeros(len(asked))
    rows = np.array([i for i, _ in right])
    late = np.array([heard[j].seconds for _, j in right]) - written[rows]
    if len(right) < 5:
        return np.full(len(asked), np.median(late))
    slope, start = robust_line(written[rows], late)
    strayed = running_median(late - (start + slope * written[rows]), _WINDOW)
    line: Floats = start + slope * written
    return line + np.interp(np.arange(len(asked)), rows, strayed)


def _spread(asked: Sequence[Asked], heard: Sequence[Heard], pairs: Pairs, expected: Floats, chances: Chances) -> float:
    """The spread (standard deviation, seconds) of right notes round the player's own time, within sane bounds."""
    late = [heard[j].seconds - expected[i] for i, j in pairs if asked[i].pitch == heard[j].pitch]
    # A few notes say little: the first guess of 30 ms counts as much as eight of them.
    measured = 1.4826 * float(np.median(np.abs(late))) if late else 0.03
    spread = (len(late) * measured + 8 * 0.03) / (len(late) + 8)
    return min(max(spread, chances.least_spread_ms / 1000.0), chances.most_spread_ms / 1000.0)
