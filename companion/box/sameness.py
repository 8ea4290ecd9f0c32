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
from companion.box.search import FORBIDDEN, Matrix, Path, between, cheapest_ring, through
from companion.tune.model import Played

Ends = tuple[int, int]  # a bar's first and last state
_MOST_TURNS = 4  # in practice two are enough


class _Bar(NamedTuple):
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
    search = _BarSearch(ring, bars)
    cost, ends = search.solve({}, 0)
    usual, odd = _usual(bars, ends)
    best, best_ends = cost + same * odd, ends
    for _ in range(_MOST_TURNS if odd and same else 0):
        total, ends = search.solve(usual, same)
        if total >= best:
            break
        usual, odd = _usual(bars, ends)
        best, best_ends = total, ends
    path = search.path(best_ends)
    return way_cost(ring.matrices, path), path


def way_cost(matrices: Sequence[Matrix], path: Path) -> int:
    """The cost of a given way round."""
    return sum(matrix[path[(k + 1) % len(path)]][path[k]] for k, matrix in enumerate(matrices))


def _bars(notes: Sequence[Played], ring: Choices) -> list[_Bar]:
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
        bars.append(_Bar(first, after - 1, groups.setdefault(key, len(groups))))
    return bars


def _usual(bars: Sequence[_Bar], ends: Sequence[Ends]) -> tuple[dict[int, Ends], int]:
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
    """The search over whole bars: what a bar costs inside is worked out once for each of its pairs of ends."""

    def __init__(self, ring: Choices, bars: Sequence[_Bar]) -> None:
        self.bars = bars
        self.inner = [ring.matrices[bar.first : bar.last] for bar in bars]
        self.joins = [ring.matrices[bar.last] for bar in bars]
        self.keys = [tuple(map(id, inner)) for inner in self.inner]
        self.throughs: dict[tuple[int, ...], Matrix] = {}
        for key, inner in zip(self.keys, self.inner, strict=True):
            if inner and key not in self.throughs:
                self.throughs[key] = through(inner)

    def solve(self, usual: dict[int, Ends], same: int) -> tuple[int, list[Ends]]:
        """The least cost, each bar that is not as its group's usual one charged `same`; and the ends of each bar."""
        steps: list[Matrix] = []
        charged: dict[tuple[int, ...], Matrix] = {}
        for bar, inner, key, join in zip(self.bars, self.inner, self.keys, self.joins, strict=True):
            pair = usual.get(bar.group)
            matrix = self.throughs[key] if inner else _stand(len(join[0]))
            if pair is not None:
                charged_key = (bar.group, *key)
                if charged_key not in charged:
                    charged[charged_key] = _charge(matrix, pair, same)
                matrix = charged[charged_key]
            steps += [matrix, join]
        cost, path = cheapest_ring(steps)
        return cost, list(zip(path[::2], path[1::2], strict=True))

    def path(self, ends: Sequence[Ends]) -> Path:
        """The state of each note, given each bar's ends."""
        known: dict[tuple[tuple[int, ...], Ends], Path] = {}
        path: Path = []
        for inner, key, pair in zip(self.inner, self.keys, ends, strict=True):
            if not inner:
                path.append(pair[0])
                continue
            if (key, pair) not in known:
                known[key, pair] = between(inner, *pair)
            path += known[key, pair]
        return path


def _stand(width: int) -> Matrix:
    """The matrix of a bar of one note: its first state is its last."""
    return [[0 if i == j else FORBIDDEN for i in range(width)] for j in range(width)]


def _charge(matrix: Matrix, pair: Ends, same: int) -> Matrix:
    """The matrix with `same` on every pair of ends but one."""
    return [[cost + (0 if (i, j) == pair else same) for i, cost in enumerate(into)] for j, into in enumerate(matrix)]
