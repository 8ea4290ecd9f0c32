"""The same bar fingered the same way each time, wherever that costs next to nothing.

Bars of the same notes are one group. The fingering that most of a group's bars have is its usual one, and every bar
fingered otherwise is charged `Hand.same`. With the usual fingerings held, the search is exact; they are then chosen
anew from what was found, and so on as long as the whole gets better. So the result is never dearer than the cheapest
fingering by more than `Hand.same` for each bar that it made alike.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from companion.box.choices import Choices
from companion.box.search import FORBIDDEN, Bounds, Matrix, Path, between, cheapest_ring, through
from companion.tune.tune_values import Played

Ends = tuple[int, int]  # a bar's first and last state
_MOST_TURNS = 4  # in practice two are enough


class _RoundBar(NamedTuple):
    """A bar of the round: notes `first` to `last`, and the number of its group (bars of the same notes)."""

    first: int
    last: int
    group: int


def cheapest_alike(notes: Sequence[Played], ring: Choices, same: int) -> tuple[int, Path]:
    """A cheapest way round, with bars made alike where that costs no more than `same` thousandths each.

    Returns
    -------
    The cost without what `same` adds, and the state of each note.
    """
    bars = _bars(notes, ring)
    bounds = Bounds(ring.matrices)
    cost, way = bounds.cheapest()
    ends = [(way[bar.first], way[bar.last]) for bar in bars]
    usual, odd = _usual(bars, ends)
    if odd and same:
        best = cost + same * odd
        search = _BarSearch(*bounds.narrowed(best), bars)
        for _ in range(_MOST_TURNS):
            total, found = search.solve(usual, same)
            if total >= best:
                break
            best, ends = total, found
            way = search.way(ends)
            usual, _ = _usual(bars, ends)
    path = _alike_inside(bars, ring.matrices, way)
    return way_cost(ring.matrices, path), path


def way_cost(matrices: Sequence[Matrix], path: Path) -> int:
    """The cost of a given way round."""
    return sum(matrix[path[(k + 1) % len(path)]][path[k]] for k, matrix in enumerate(matrices))


def _bars(notes: Sequence[Played], ring: Choices) -> list[_RoundBar]:
    """The bars, each with its group: the same pitches, spaces between them, last length and open states."""
    edges = [0]
    for index in range(1, len(notes)):
        a, b = notes[index - 1], notes[index]
        if a.bar != b.bar or a.turn != b.turn or a.part != b.part:
            edges.append(index)
    edges.append(len(notes))
    groups: dict[tuple[object, ...], int] = {}
    bars = []
    for first, after in pairwise(edges):
        key = (
            tuple([id(column) for column in ring.columns[first:after]]),
            tuple([gap.seconds for gap in ring.gaps[first + 1 : after]]),
            ring.times.seconds(ring.times.lengths[after - 1]),
        )
        bars.append(_RoundBar(first, after - 1, groups.setdefault(key, len(groups))))
    return bars


def _usual(bars: Sequence[_RoundBar], ends: Sequence[Ends]) -> tuple[dict[int, Ends], int]:
    """The fingering that most bars of each group have (known by its ends), and how many bars have another one."""
    counts: dict[int, Counter[Ends]] = {}
    for bar, pair in zip(bars, ends, strict=True):
        counts.setdefault(bar.group, Counter())[pair] += 1
    usual, odd = {}, 0
    for group, counter in counts.items():
        pair, most = counter.most_common(1)[0]
        usual[group] = pair
        odd += counter.total() - most
    return usual, odd


class _BarSearch:
    """The search over whole bars: what a bar costs inside is worked out once for each of its pairs of ends.

    `matrices` is the ring with only the states that are worth a try, `kept` says which of all states those are.
    """

    def __init__(self, matrices: Sequence[Matrix], kept: Sequence[Sequence[int]], bars: Sequence[_RoundBar]) -> None:
        self.matrices, self.kept, self.bars = matrices, kept, bars
        self.joins = [matrices[bar.last] for bar in bars]
        self.keys: list[tuple[int, ...]] = []
        self.throughs: dict[tuple[int, ...], Matrix] = {}
        for bar in bars:
            inner = matrices[bar.first : bar.last]
            key = tuple(map(id, inner)) or (-len(kept[bar.first]),)
            self.keys.append(key)
            if key not in self.throughs:
                self.throughs[key] = through(inner) if inner else _stand(len(kept[bar.first]))

    def solve(self, usual: dict[int, Ends], same: int) -> tuple[int, list[Ends]]:
        """The least cost, each bar that is not as its group's usual one charged `same`; and the ends of each bar."""
        steps: list[Matrix] = []
        charged: dict[tuple[Ends | None, tuple[int, ...]], Matrix] = {}
        for bar, key, join in zip(self.bars, self.keys, self.joins, strict=True):
            pair = self._left(bar, usual[bar.group])
            if (pair, key) not in charged:
                charged[pair, key] = _charge(self.throughs[key], pair, same)
            steps += [charged[pair, key], join]
        cost, path = cheapest_ring(steps)
        firsts, lasts = path[::2], path[1::2]
        return cost, [
            (self.kept[bar.first][first], self.kept[bar.last][last])
            for bar, first, last in zip(self.bars, firsts, lasts, strict=True)
        ]

    def way(self, ends: Sequence[Ends]) -> Path:
        """The state of each note, given each bar's ends."""
        path: Path = []
        for bar, pair in zip(self.bars, ends, strict=True):
            local = self._left(bar, pair)
            assert local is not None
            inner = between(self.matrices[bar.first : bar.last], *local) if bar.last > bar.first else local[:1]
            path += [kept[i] for kept, i in zip(self.kept[bar.first : bar.last + 1], inner, strict=True)]
        return path

    def _left(self, bar: _RoundBar, pair: Ends) -> Ends | None:
        """A pair of ends among the states that are left at a bar; None where one of them is not."""
        first, last = self.kept[bar.first], self.kept[bar.last]
        return (first.index(pair[0]), last.index(pair[1])) if pair[0] in first and pair[1] in last else None


def _alike_inside(bars: Sequence[_RoundBar], matrices: Sequence[Matrix], way: Path) -> Path:
    """The way with bars of the same notes and ends made the same inside too, where that costs nothing."""
    known: dict[tuple[tuple[int, ...], int, int], Path] = {}
    path: Path = []
    for bar in bars:
        inside = way[bar.first : bar.last + 1]
        key = (tuple(map(id, matrices[bar.first : bar.last])), inside[0], inside[-1])
        path += known.setdefault(key, inside)
    return path


def _stand(width: int) -> Matrix:
    """The matrix of a bar of one note: its first state is its last."""
    return [[0 if i == j else FORBIDDEN for i in range(width)] for j in range(width)]


def _charge(matrix: Matrix, pair: Ends | None, same: int) -> Matrix:
    """The matrix with `same` on every pair of ends but one."""
    return [[cost + (0 if (i, j) == pair else same) for i, cost in enumerate(into)] for j, into in enumerate(matrix)]
