"""Which written note each heard note was meant for, with no clock: by order and pitch, at any tempo, with any stops."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from companion.marking.chances import (
    DEGREES,
    EXTRA_PITCH,
    FLICK,
    Floats,
    Pairs,
    Slips,
    flicks,
    pitch_costs,
    running_median,
    usual_step,
)
from companion.marking.follow import follow
from companion.marking.mark_values import Asked, Heard
from companion.marking.marking_rules import MarkingRules

# What an odd spacing of the notes can cost at most: a player may wait, most of all where a note went wrong.
_MOST_SPACING, _MOST_SPACING_WRONG = 2.5, 1.2
# Who seldom waits is held to it: up to this, by the share of the right notes that lie so far (usual steps) from where
# their neighbours put them.
_MOST_SPACING_STEADY, _ODD = 4.5, 0.25
# A note no further than this from where it should be, in usual steps, is as good as one nearer to it.
_AS_WELL = 0.1
# What it costs to go back: about as much as one note played again; twice that without a stop before it.
_BACK, _BACK_AT_ONCE = 4.5, 9.0
# A stop: a wait of so many usual steps.
_STOP = 1.6
# The pace is taken from this many notes.
_WINDOW = 9


def match_in_order(
    asked: Sequence[Asked], heard: Sequence[Heard], rules: MarkingRules, slips: Slips | None = None
) -> Pairs:
    """Match a round played at any tempo and with any stops: by order and pitch.

    The spacing of the notes decides where pitches leave it open, as where one of two repeated notes is missed. A phrase
    begun again is matched to its last attempt; the notes of the one given up are extra.
    """
    return last_attempts(visits(asked, heard, rules, slips))


def last_attempts(visited: Pairs) -> Pairs:
    """Of what was played again, the last time: going back gives up what was played from there on."""
    kept: list[tuple[int, int]] = []
    for i, j in visited:
        while kept and kept[-1][0] >= i:
            kept.pop()
        kept.append((i, j))
    return tuple(kept)


def visits(asked: Sequence[Asked], heard: Sequence[Heard], rules: MarkingRules, slips: Slips | None = None) -> Pairs:
    """The way the player took: pairs in order of hearing, an asked note as often as it was played again."""
    if not asked or not heard:
        return ()
    chances = rules.match
    short = flicks(heard, rules.ornament)
    pitch = pitch_costs(asked, heard, rules, slips)
    wrong = np.array([a.pitch for a in asked])[:, None] != np.array([h.pitch for h in heard])[None, :]
    extra = np.full(len(heard), -math.log(chances.extra_on) - math.log(EXTRA_PITCH)) - FLICK * short
    first = math.log(chances.extra_on / chances.extra)
    on = np.where(_broken(heard, short), first, 0.0)
    back = np.full(len(heard), 0.5 * (_BACK + _BACK_AT_ONCE))
    way: Pairs = ()
    away = np.zeros(pitch.shape)
    for _ in range(4):
        again = tuple(
            follow(
                pitch + _spacing_costs(away, way, wrong),
                -math.log(chances.missed),
                -math.log(chances.missed_on),
                extra,
                first,
                on,
                back,
            )
        )
        if again == way:
            break
        way = again
        away, usual = _spacing(asked, heard, way)
        if usual > 0.0:
            waits = np.diff([h.seconds for h in heard], prepend=heard[0].seconds)
            back = np.where(waits > _STOP * usual, _BACK, _BACK_AT_ONCE)
    return _first_of_one(asked, heard, way, short, away)


def _broken(heard: Sequence[Heard], short: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(m,) where an extra note and the one before it are no run, since one of them is a cut or a tap.

    An ornament says nothing of the longer note beside it, unless that is the note it divides, as in a roll.
    """
    broken = np.zeros(len(heard), dtype=np.bool_)
    for j in range(1, len(heard)):
        if short[j] != short[j - 1]:
            long, beyond, step = (j, j - 2, -1) if short[j - 1] else (j - 1, j + 1, 1)
            while 0 <= beyond < len(heard) and short[beyond]:
                beyond += step
            broken[j] = not 0 <= beyond < len(heard) or heard[beyond].pitch != heard[long].pitch
    return broken


def _spacing_costs(away: Floats, way: Pairs, wrong: NDArray[np.bool_]) -> Floats:
    """(n, m) what a note's distance from where its neighbours put it costs."""
    strayed = np.array([away[i, j] for i, j in way if not wrong[i, j]])
    spread = 1.4826 * float(np.median(strayed)) if len(strayed) else 0.1
    spread = min(max(spread, 0.04), 0.25)
    costs = (DEGREES + 1) / 2 * np.log1p((away / spread) ** 2 / DEGREES)
    odd = (np.count_nonzero(strayed > _ODD) + 1) / (len(strayed) + 2)
    most = min(max(-math.log(odd), _MOST_SPACING), _MOST_SPACING_STEADY)
    return np.minimum(costs, np.where(wrong, _MOST_SPACING_WRONG, most))


def _spacing(asked: Sequence[Asked], heard: Sequence[Heard], way: Pairs) -> tuple[Floats, float]:
    """(n, m) how far a note lies from where its neighbours put it, at whatever tempo they go, and a usual step.

    Distances count in usual steps, the step in seconds. The nearer of what the notes before and those after foretell
    counts: between the two the player may have waited, or gone back.
    """
    right = [(i, j) for i, j in way if asked[i].pitch == heard[j].pitch]
    if len(right) < 4:
        return np.zeros((len(asked), len(heard))), 0.0
    places = np.array([float(a.at) for a in asked])
    onsets = np.array([h.seconds for h in heard])
    place = places[[i for i, _ in right]]
    numbers = np.array([j for _, j in right])
    came = onsets[numbers]
    run, wait = np.diff(place), np.diff(came)
    forward = run > 1e-9
    if not forward.any():
        return np.zeros((len(asked), len(heard))), 0.0
    whole = wait[forward] / run[forward]
    pace = np.interp(came, came[1:][forward], running_median(whole, _WINDOW))
    usual = max(usual_step(places) * float(np.median(pace)), 1e-3)

    def foretold(k: NDArray[np.int_]) -> Floats:
        """(n, m) where each written note would lie, told from right note `k[j]` of the way."""
        inside = np.clip(k, 0, len(right) - 1)
        guess: Floats = came[inside][None, :] + (places[:, None] - place[inside][None, :]) * pace[inside][None, :]
        return guess

    def away(first: NDArray[np.int_], step: int) -> Floats:
        """Distance of each onset from the middle of what three neighbours on one side foretell."""
        one = foretold(first)
        there = [(first + d * step >= 0) & (first + d * step < len(right)) for d in (0, 1, 2)]
        two, three = (np.where(there[d][None, :], foretold(first + d * step), one) for d in (1, 2))
        middle = np.maximum(np.minimum(one, two), np.minimum(np.maximum(one, two), three))
        off: Floats = np.abs(onsets[None, :] - middle)
        off[:, ~there[0]] = np.inf
        return off

    at = np.searchsorted(numbers, np.arange(len(heard)))
    here = (at < len(right)) & (numbers[np.minimum(at, len(right) - 1)] == np.arange(len(heard)))
    after = at + here
    nearest = np.minimum(away(at - 1, -1), away(after, 1)) / usual
    return np.where(np.isinf(nearest), 0.0, nearest), usual


def _first_of_one(
    asked: Sequence[Asked], heard: Sequence[Heard], way: Pairs, short: NDArray[np.bool_], away: Floats
) -> Pairs:
    """Where one note came more than once, alone or with cuts between (as in a roll), pair the first that is in time."""
    moved: list[tuple[int, int]] = []
    for i, j in way:
        earliest = moved[-1][1] + 1 if moved else 0
        first = j
        for back in range(j - 1, earliest - 1, -1):
            if heard[back].pitch == asked[i].pitch == heard[j].pitch and not short[back]:
                first = back if away[i, back] <= max(away[i, j], _AS_WELL) else first
            elif heard[back].pitch != asked[i].pitch and not short[back]:
                break
        moved.append((i, first))
    return tuple(moved)
