"""Which written note each heard note was meant for, decided over a whole round.

Both ways of matching weigh readings of the take by their chances: a written note is played right, played with another
pitch or left out; a heard note that stands for no written one is extra. With a beat, how far an onset lies from where
the player's own time puts the note counts as well. That time (a constant lead or lag, another tempo, a drift, a
hesitation) and the spread round it are estimated from the take itself, in alternation with the alignment.

Conventions: `asked` in order of place, `heard` in order of onset; pairs are (position in asked, position in heard).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from companion.hearing.align import align
from companion.hearing.model import Asked, Heard
from companion.hearing.rules import Chances, OrnamentRule, Rules, default_rules
from companion.timeline import Timeline

Floats = NDArray[np.float64]
Pairs = tuple[tuple[int, int], ...]

# Student's t with four degrees of freedom: bell-shaped near the beat, with room for the odd hesitation.
_DEGREES = 4.0
_PEAK = 0.375
# Chance of each pitch, by its distance in semitones from the one that was asked or that is near.
_NEAR, _FIFTH, _OCTAVE, _FAR = 1 / 12, 1 / 24, 1 / 48, 1 / 120
_EXTRA_PITCH = 1 / 16
# A note as short as a cut is less likely to be meant for a written one, and more likely to be an added one.
_FLICK = 1.5
# A reading in time is sure when this share of the written notes came with their pitch, this near (s) to the beat.
_SURE, _SURE_NEAR = 0.85, 0.15
# The player's time is followed over this many notes: about two bars of quavers.
_WINDOW = 9


def match_in_time(
    asked: Sequence[Asked], heard: Sequence[Heard], timeline: Timeline, rules: Rules | None = None
) -> Pairs:
    """Match a round played to a beat.

    The timeline says where the beat lies. A player who is off it by a constant, drifts, or comes in late is followed;
    where hardly a note lies near its place, the order of the pitches says first how far the player is off.
    """
    rules = rules or default_rules()
    if not asked or not heard:
        return ()
    written = np.array([timeline.seconds(a.at) for a in asked])
    steady, cost = _in_time(asked, heard, written, np.zeros(len(asked)), rules)
    near = sum(asked[i].pitch == heard[j].pitch and abs(heard[j].seconds - written[i]) < _SURE_NEAR for i, j in steady)
    if near >= _SURE * len(asked):
        return steady
    ordered = match_in_order(asked, heard, rules)
    moved, moved_cost = _in_time(asked, heard, written, _own_time(asked, heard, ordered, written), rules)
    # To be far off the beat takes a clear case: as much as two written notes that came after all.
    return moved if moved_cost < cost + 2.0 * math.log(rules.match.missed) else steady


def match_in_order(asked: Sequence[Asked], heard: Sequence[Heard], rules: Rules | None = None) -> Pairs:
    """Match a round played at any tempo and with any stops: by order and pitch.

    The spacing of the notes breaks ties only, as where one of two repeated notes is missed. A phrase begun again is
    matched to its last attempt; the notes of the one given up are extra.
    """
    rules = rules or default_rules()
    if not asked or not heard:
        return ()
    pitch = _pitch_costs(asked, heard, rules)
    pairs: Pairs = ()
    for _ in range(3):
        timing = _spacing_costs(asked, heard, pairs)
        again, _ = _aligned(pitch + timing, heard, rules.match, _flicks(heard, rules.ornament), 1.0)
        if again == pairs:
            break
        pairs = again
    return pairs


def _in_time(
    asked: Sequence[Asked], heard: Sequence[Heard], written: Floats, off: Floats, rules: Rules
) -> tuple[Pairs, float]:
    """Alternate between aligning, and estimating the player's own time and spread."""
    chances = rules.match
    onsets = np.array([h.seconds for h in heard])
    pitch = _pitch_costs(asked, heard, rules)
    flicks = _flicks(heard, rules.ornament)
    step = _usual_step(written)
    spread = chances.first_spread_ms / 1000.0
    pairs: Pairs = ()
    cost = math.inf
    for _ in range(4):
        late = onsets[None, :] - (written + off)[:, None]
        tail = (_DEGREES + 1) / 2 * np.log1p((late / spread) ** 2 / _DEGREES)
        again, cost = _aligned(pitch + tail + math.log(spread / _PEAK), heard, chances, flicks, step)
        if again == pairs:
            break
        pairs = again
        off = _own_time(asked, heard, pairs, written)
        spread = _spread(asked, heard, pairs, written + off, chances)
    return pairs, cost


def _aligned(
    costs: Floats, heard: Sequence[Heard], chances: Chances, flicks: NDArray[np.bool_], step: float
) -> tuple[Pairs, float]:
    """Align by cost; `step` is the usual time between two written notes (the rate at which extra notes come)."""
    extra = np.full(len(heard), -math.log(chances.extra_on) - math.log(_EXTRA_PITCH) + math.log(step))
    extra -= _FLICK * flicks
    first_extra = math.log(chances.extra_on / chances.extra)
    pairs, cost = align(costs, -math.log(chances.missed), -math.log(chances.missed_on), extra, first_extra)
    return tuple(pairs), cost


def _pitch_costs(asked: Sequence[Asked], heard: Sequence[Heard], rules: Rules) -> Floats:
    """(n, m) what it costs that heard note j stands for asked note i, by pitch alone."""
    chances = rules.match
    away = np.abs(np.array([h.pitch for h in heard])[None, :] - np.array([a.pitch for a in asked])[:, None])
    by_distance = np.full(129, -math.log(chances.wrong) - math.log(_FAR))
    by_distance[:13] = -math.log(chances.wrong) - math.log(_OCTAVE)
    by_distance[:8] = -math.log(chances.wrong) - math.log(_FIFTH)
    by_distance[:5] = -math.log(chances.wrong) - math.log(_NEAR)
    by_distance[0] = -math.log(chances.right)
    costs: Floats = by_distance[np.minimum(away, 128)]
    costs += _FLICK * ((away > 0) & _flicks(heard, rules.ornament)[None, :])
    return costs


def _flicks(heard: Sequence[Heard], rule: OrnamentRule) -> NDArray[np.bool_]:
    """(m,) which heard notes are as short as a cut or a tap."""
    return np.array([sounding(heard, j) * 1000.0 <= rule.longest_ms for j in range(len(heard))], dtype=np.bool_)


def sounding(heard: Sequence[Heard], j: int) -> float:
    """How long note `j` sounds, in seconds: to its end where that came in, else to the next onset."""
    note = heard[j]
    if note.end is not None and note.end > note.seconds:
        return note.end - note.seconds
    return heard[j + 1].seconds - note.seconds if j + 1 < len(heard) else math.inf


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


def _spacing_costs(asked: Sequence[Asked], heard: Sequence[Heard], pairs: Pairs) -> Floats:
    """(n, m) what a note's distance from its matched neighbours says, at whatever tempo they go.

    Flat within a quarter of a usual step, so that readings that differ by nothing but small unevenness stay equal; and
    never much, since without a clock a player may wait.
    """
    none = np.zeros((len(asked), len(heard)))
    right = [(i, j) for i, j in pairs if asked[i].pitch == heard[j].pitch]
    if len(right) < 4:
        return none
    places = np.array([float(a.at) for a in asked])
    onsets = np.array([h.seconds for h in heard])
    rows = np.array([i for i, _ in right])
    came = onsets[[j for _, j in right]]
    steps = np.diff(places[rows])
    pace = running_median(np.diff(came) / np.maximum(steps, 1e-9), _WINDOW)
    pace = np.maximum(np.append(pace, pace[-1]), 1e-3)
    at_row = np.searchsorted(rows, np.arange(len(asked)))
    usual = _usual_step(places) * float(np.median(pace))

    def away(neighbours: list[NDArray[np.int_]]) -> Floats:
        """Distance of each onset from the middle of what three neighbours on one side foretell."""
        guesses = []
        for k in neighbours:
            inside = np.clip(k, 0, len(rows) - 1)
            guess = came[inside] + (places - places[rows[inside]]) * pace[inside]
            guesses.append(np.where((k < 0) | (k >= len(rows)), np.nan, guess))
        with np.errstate(all="ignore"):
            middle = _nan_median(np.array(guesses))
        return np.abs(onsets[None, :] - middle[:, None])

    here = (at_row < len(rows)) & (rows[np.minimum(at_row, len(rows) - 1)] == np.arange(len(asked)))
    before = away([at_row - 1, at_row - 2, at_row - 3])
    after = away([at_row + here, at_row + here + 1, at_row + here + 2])
    nearest = np.fmin(before, after) / max(usual, 1e-6)
    costs = np.select([nearest < 0.25, nearest < 0.5, nearest < 1.0], [0.0, 0.5, 1.0], 1.5)
    return np.where(np.isnan(nearest), 0.0, costs)


def _nan_median(values: Floats) -> Floats:
    """The median down the first axis, of what is there (NaN where nothing is)."""
    ordered = np.sort(values, axis=0)
    there = np.sum(~np.isnan(values), axis=0)
    low = np.maximum((there - 1) // 2, 0)
    high = np.maximum(there // 2, 0)
    columns = np.arange(values.shape[1])
    middle: Floats = (ordered[low, columns] + ordered[high, columns]) / 2
    return middle


def robust_line(x: Floats, y: Floats) -> tuple[float, float]:
    """Slope and intercept of the line through most of the points: the median of the slopes between distant ones.

    Theil and Sen's estimate, on pairs of points at least a third of the points apart.
    """
    n = len(x)
    gap = max(1, n // 3)
    first = np.arange(n - gap)
    slopes = []
    for apart in {gap, gap + max(1, n // 7), gap + max(1, n // 4)}:
        a = first[first + apart < n]
        run = x[a + apart] - x[a]
        good = run > 1e-9
        slopes.append((y[a + apart] - y[a])[good] / run[good])
    every = np.concatenate(slopes)
    slope = float(np.median(every)) if len(every) else 0.0
    return slope, float(np.median(y - slope * x))


def running_median(values: Floats, window: int) -> Floats:
    """The median of `window` values (odd) round each; fewer at the ends."""
    half = min(window // 2, (len(values) - 1) // 2)
    if half <= 0:
        return np.full(len(values), np.median(values)) if len(values) else values
    padded = np.concatenate((values[:half][::-1], values, values[-half:][::-1]))
    middle: Floats = np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1), axis=1)
    return middle


def _usual_step(places: Floats) -> float:
    """The usual distance from one written note to the next, in the unit of `places`."""
    steps = np.diff(places)
    steps = steps[steps > 1e-9]
    return float(np.median(steps)) if len(steps) else 0.25
