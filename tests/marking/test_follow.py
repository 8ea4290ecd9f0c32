"""The way of a player who may go back, against every way there is through a few notes."""

from __future__ import annotations

import random
from functools import cache

import numpy as np
import pytest

from companion.marking.follow import follow

Way = list[tuple[int, int]]


class Costs:
    """The costs of one case, and the least that a way costs under them, by trying every step at every place."""

    def __init__(self, rng: random.Random, n: int, m: int, back: float | None = None) -> None:
        self.n, self.m = n, m
        self.pair = np.array([[rng.uniform(0, 5) for _ in range(m)] for _ in range(n)]).reshape(n, m)
        self.missed_next = rng.uniform(0.5, 2)
        self.missed_first = self.missed_next + rng.uniform(0, 2)
        self.extra = np.array([rng.uniform(0.5, 2) for _ in range(m)])
        self.extra_first = rng.uniform(0, 2)
        self.extra_on = np.array([rng.choice([0.0, self.extra_first]) for _ in range(m)])
        self.back = np.array([rng.uniform(0.5, 4) if back is None else back for _ in range(m)])

    def way(self) -> Way:
        return follow(
            self.pair, self.missed_first, self.missed_next, self.extra, self.extra_first, self.extra_on, self.back
        )

    def least(self, way: Way | None = None) -> float:
        """The least cost of all ways; of those alone that pair the same notes, where a way is given."""
        asked = None if way is None else {j: i for i, j in way}

        def skipped(count: int) -> float:
            return self.missed_first + (count - 1) * self.missed_next if count else 0.0

        @cache
        def onward(j: int, place: int, in_extras: bool) -> float:
            """From `place`, with `j` notes heard and any going back done with."""
            if j == self.m:
                return skipped(self.n - place)
            found = [np.inf]
            for at in range(place, self.n + 1):
                if at < self.n and (asked is None or asked.get(j) == at):
                    found.append(skipped(at - place) + float(self.pair[at, j]) + heard(j + 1, at + 1, False))
                if asked is None or j not in asked:
                    first = self.extra_first + float(self.extra[j])
                    found.append(skipped(at - place) + first + heard(j + 1, at, True))
            if in_extras and (asked is None or j not in asked):
                found.append(float(self.extra_on[j] + self.extra[j]) + heard(j + 1, place, True))
            return min(found)

        def heard(j: int, place: int, in_extras: bool) -> float:
            """The same, but the player may still go back; not from the end, where the round is over."""
            on = onward(j, place, in_extras)
            if j == self.m or place == self.n:
                return on
            return min([on, *(float(self.back[j]) + onward(j, to, False) for to in range(place))])

        return onward(0, 0, False)


def test_no_way_is_cheaper() -> None:
    rng = random.Random(21)
    for _ in range(150):
        case = Costs(rng, rng.randint(1, 4), rng.randint(0, 5))
        assert case.least(case.way()) == pytest.approx(case.least())


def test_where_going_back_is_too_dear_nobody_goes_back() -> None:
    rng = random.Random(22)
    for _ in range(50):
        case = Costs(rng, rng.randint(1, 4), rng.randint(0, 5), back=1e6)
        way = case.way()
        assert [i for i, _ in way] == sorted({i for i, _ in way})
        assert case.least(way) == pytest.approx(case.least())


def test_notes_come_in_the_order_in_which_they_were_heard_and_each_once() -> None:
    rng = random.Random(23)
    for _ in range(50):
        way = Costs(rng, 4, 6, back=0.1).way()
        assert [j for _, j in way] == sorted({j for _, j in way})


def test_whoever_begins_again_at_a_note_is_followed_there() -> None:
    """Four notes, then the last three again."""
    asked, heard = "abcd", "abcbcd"
    pair = np.array([[0.0 if a == h else 6.0 for h in heard] for a in asked])
    way = follow(pair, 4.0, 1.0, np.full(6, 3.0), 2.0, np.zeros(6), np.full(6, 1.5))
    assert way == [(0, 0), (1, 1), (2, 2), (1, 3), (2, 4), (3, 5)]
    never = follow(pair, 4.0, 1.0, np.full(6, 3.0), 2.0, np.zeros(6), np.full(6, 99.0))
    assert never == [(0, 0), (1, 3), (2, 4), (3, 5)]
