"""Melodies made for the tests: a walk through the scale of D with the shape of a tune (AABB, bars, repeated notes)."""

from __future__ import annotations

import random
from fractions import Fraction

from companion.marking.mark_values import Asked

# Two octaves and a bit of D major, the box's usual compass.
SCALE = (62, 64, 66, 67, 69, 71, 73, 74, 76, 78, 79, 81, 83)
QUAVER = Fraction(1, 8)


def made_tune(seed: int, bars: int = 8) -> tuple[Asked, ...]:
    """A tune in 6/8 of two parts of `bars`, each twice, mostly quavers."""
    rng = random.Random(seed)
    parts = [_part(rng, bars) for _ in range(2)]
    asked: list[Asked] = []
    at = Fraction(0)
    for part in (parts[0], parts[0], parts[1], parts[1]):
        for length, pitch in part:
            asked.append(Asked(len(asked), at, length, pitch))
            at += length
    return tuple(asked)


def _part(rng: random.Random, bars: int) -> list[tuple[Fraction, int]]:
    part = []
    place = rng.randrange(3, 9)
    for _ in range(2 * bars):
        rhythm = rng.choice(((1, 1, 1), (1, 1, 1), (1, 1, 1), (2, 1), (3,)))
        for quavers in rhythm:
            place = min(max(place + rng.choice((-2, -1, -1, 0, 1, 1, 2, 3, -3)), 0), len(SCALE) - 1)
            part.append((quavers * QUAVER, SCALE[place]))
    return part
