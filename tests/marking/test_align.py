"""The alignment against every way there is to pair two short sequences."""

from __future__ import annotations

import random
from itertools import combinations, pairwise

import numpy as np
import pytest

from companion.marking.align import align

Reading = list[tuple[int, int]]


def readings(n: int, m: int) -> list[Reading]:
    """Every way to pair some of `n` notes with some of `m`, in order."""
    return [
        list(zip(rows, columns, strict=True))
        for k in range(min(n, m) + 1)
        for rows in combinations(range(n), k)
        for columns in combinations(range(m), k)
    ]


def price(
    reading: Reading, pair: np.ndarray, missed_first: float, missed_next: float, extra: np.ndarray, extra_first: float
) -> float:
    """What a reading costs: its pairs, and in each gap one run of what is missed and one of extra notes."""
    n, m = pair.shape
    cost = sum(float(pair[i, j]) for i, j in reading)
    for (i, j), (after_i, after_j) in pairwise([(-1, -1), *reading, (n, m)]):
        missed, put_in = after_i - i - 1, extra[j + 1 : after_j]
        cost += missed_first + (missed - 1) * missed_next if missed else 0.0
        cost += extra_first + float(put_in.sum()) if len(put_in) else 0.0
    return cost


def test_no_reading_is_cheaper() -> None:
    rng = random.Random(7)
    for _ in range(250):
        n, m = rng.randint(0, 4), rng.randint(0, 5)
        pair = np.array([[rng.uniform(0, 6) for _ in range(m)] for _ in range(n)]).reshape(n, m)
        extra = np.array([rng.uniform(0.5, 3) for _ in range(m)])
        missed_next = rng.uniform(0.5, 2)
        costs = (missed_next + rng.uniform(0, 3), missed_next, extra, rng.uniform(0, 3))
        pairs, cost = align(pair, *costs)
        least = min(price(reading, pair, *costs) for reading in readings(n, m))
        assert cost == pytest.approx(least)
        assert price(pairs, pair, *costs) == pytest.approx(least)


def test_of_a_phrase_begun_twice_the_last_attempt_is_paired() -> None:
    pair = np.array([[0.0, 9.0, 0.0, 9.0], [9.0, 0.0, 9.0, 0.0]])
    assert align(pair, 3.0, 1.0, np.full(4, 1.0), 2.0) == ([(0, 2), (1, 3)], 4.0)


def test_of_equal_notes_the_latest_is_paired() -> None:
    assert align(np.zeros((1, 3)), 3.0, 1.0, np.full(3, 1.0), 0.0)[0] == [(0, 2)]
    assert align(np.zeros((3, 1)), 3.0, 1.0, np.full(1, 1.0), 0.0)[0] == [(2, 0)]


def test_readings_that_differ_by_rounding_are_equal() -> None:
    """The second attempt is dearer by less than rounding can make: it is paired all the same."""
    for more, first in ((1e-8, 1), (1e-3, 0)):
        assert align(np.array([[0.0, more]]), 3.0, 1.0, np.full(2, 1.0), 0.0)[0] == [(0, first)]


def test_one_long_gap_is_cheaper_than_two_short_ones() -> None:
    """Two notes missed: where the pitches leave it open, they are taken to be missed in a row."""
    pair = np.array([[0.0, 9.0], [9.0, 9.0], [9.0, 0.0], [9.0, 0.0]])
    pairs, cost = align(pair, 3.0, 1.0, np.full(2, 5.0), 2.0)
    assert (pairs, cost) == ([(0, 0), (3, 1)], 4.0)
