"""The cheapest way round a ring of choices, exactly.

A ring has a column of states for each note and a matrix of whole costs from each column to the next, the last one back
to the first: `matrices[k][j][i]` is the cost of the step from state i of column k to state j of the next column. The
cost of a way round is the sum over all its steps, one for each column.

The ring is cut open where it is narrowest. A pass forwards gives the least cost of reaching each state from anywhere at
the cut, and a pass from each state there, which soon runs alongside it, the least cost of a way that closes: the
cheapest of all. A pass backwards leaves out the states through which no way costs as little as a given limit, for
those who ask more of what is left (mostly one to three states a column).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from operator import add
from typing import TypeVar

T = TypeVar("T")
Matrix = Sequence[Sequence[int]]  # [state after][state before] -> cost
Path = list[int]  # the index of the state in each column
FORBIDDEN = 10**12


class Bounds:
    """How cheaply each state of a ring can be reached, from any state where the ring is cut open.

    Parameters
    ----------
    matrices : at least one; every column has at least one state.
    """

    def __init__(self, matrices: Sequence[Matrix]) -> None:
        self.cut = narrowest(matrices)
        self._ring = [*matrices[self.cut :], *matrices[: self.cut]]
        self._reached = layers(self._ring, [0] * len(self._ring[0][0]))

    def narrowed(self, most: int) -> tuple[list[Matrix], list[tuple[int, ...]]]:
        """The ring without the states that no way of at most that cost takes, and which states are left of each column.

        Every way round that closes and costs at most `most` is kept; `most` is no less than the cheapest one costs.
        """
        known: dict[tuple[int, tuple[int, ...], tuple[int, ...]], Matrix] = {}
        go = tuple([i for i, cost in enumerate(self._reached[-1]) if cost <= most])
        onward = [0] * len(go)  # the least cost from each state that is left to the end of the ring
        found, kept = [], []
        for step in range(len(self._ring) - 1, -1, -1):
            matrix = self._ring[step]
            rows = [matrix[j] for j in go]
            least = stepper(len(go))(onward, zip(*rows, strict=True))
            come = tuple([i for i, cost in enumerate(map(add, self._reached[step], least)) if cost <= most])
            if not step:  # the column at the cut is met twice: where the way begins, and where it ends
                come = tuple([i for i in come if self._reached[-1][i] <= most])
            onward = [least[i] for i in come]
            key = (id(matrix), come, go)
            if key not in known:
                known[key] = [[row[i] for i in come] for row in rows]
            found.append(known[key])
            kept.append(come)
            go = come
        first = set(kept[-1])
        ends = [i for i, cost in enumerate(self._reached[-1]) if cost <= most]
        found[0] = [row for i, row in zip(ends, found[0], strict=True) if i in first]
        return _turned(found[::-1], -self.cut), _turned(kept[::-1], -self.cut)

    def cheapest(self) -> tuple[int, Path]:
        """The least cost of a way round that closes, and that way."""
        ends = [(*self._closing(state), state) for state in range(len(self._ring[0][0]))]
        cost, _, state = min(ends, key=lambda end: (end[0], end[2]))
        own = next(begun for _, begun, start in ends if start == state)
        path = trace(self._ring[len(own) - 1 :], self._reached[len(own) - 1 :], state)
        begin = trace(self._ring[: len(own) - 1], own, path[0] if path else state)
        return cost, _turned(begin + path, -self.cut)

    def _closing(self, state: int) -> tuple[int, list[Sequence[int]]]:
        """The least cost of a way from a state at the cut back to it, and what was reached on the way there.

        After some steps it makes no difference any more where a way began: all costs are higher by the same amount
        than those from anywhere. From there on nothing new is worked out.
        """
        costs: Sequence[int] = [0 if i == state else FORBIDDEN for i in range(len(self._reached[0]))]
        own = [costs]
        for matrix, anywhere in zip(self._ring, self._reached[1:], strict=True):
            costs = stepper(len(costs))(costs, matrix)
            own.append(costs)
            more = costs[0] - anywhere[0]
            if all(cost - least == more for cost, least in zip(costs, anywhere, strict=True)):
                return self._reached[-1][state] + more, own
        return costs[state], own


def narrowest(matrices: Sequence[Matrix]) -> int:
    """The column with the fewest states, the first of them."""
    widths = [len(matrix[0]) for matrix in matrices]
    return widths.index(min(widths))


def _turned(ring: list[T], by: int) -> list[T]:
    """A ring that begins so many columns later."""
    by %= len(ring)
    return ring[by:] + ring[:by]


def cheapest_ring(matrices: Sequence[Matrix]) -> tuple[int, Path]:
    """The least cost of a way round, and for each column the index of its state on that way.

    Parameters
    ----------
    matrices : at least one; every column has at least one state.
    """
    return Bounds(matrices).cheapest()


def through(matrices: Sequence[Matrix]) -> Matrix:
    """The least costs from each state of the first column to each state after the last step."""
    width = len(matrices[0][0])
    rows = [layers(matrices, [0 if i == j else FORBIDDEN for i in range(width)])[-1] for j in range(width)]
    return list(zip(*rows, strict=True))


def between(matrices: Sequence[Matrix], first: int, last: int) -> Path:
    """The cheapest path from state `first` of the first column to state `last` after the last step, both included."""
    reached = layers(matrices, [0 if i == first else FORBIDDEN for i in range(len(matrices[0][0]))])
    return [*trace(matrices, reached, last), last]


def layers(matrices: Sequence[Matrix], costs: Sequence[int]) -> list[Sequence[int]]:
    """For each column, the least cost of reaching each of its states, given those of the first column."""
    reached = [costs]
    for matrix in matrices:
        costs = stepper(len(costs))(costs, matrix)
        reached.append(costs)
    return reached


@lru_cache(maxsize=64)
def stepper(width: int) -> Callable[[Sequence[int], Iterable[Sequence[int]]], list[int]]:
    """The function for one step from a column of so many states: costs there and matrix to the costs after it.

    It does what `[min(map(add, costs, into)) for into in matrix]` does, written out for the width. The search spends
    its time here: with that line instead, fingering a tune took 1.24 to 1.42 times as long (measured on three boxes).
    """
    costs, steps = ([f"{letter}{i}" for i in range(width)] for letter in "cs")
    lines = [
        "def step(costs, matrix):",
        f"    {', '.join(costs)}, = costs",
        "    after = []",
        f"    for {', '.join(steps)}, in matrix:",
        "        least = c0 + s0",
        *(f"        if (cost := c{i} + s{i}) < least: least = cost" for i in range(1, width)),
        "        after.append(least)",
        "    return after",
    ]
    made: dict[str, Callable[[Sequence[int], Iterable[Sequence[int]]], list[int]]] = {}
    exec("\n".join(lines), made)
    return made["step"]


def trace(matrices: Sequence[Matrix], reached: Sequence[Sequence[int]], end: int) -> Path:
    """The states before each step on the cheapest way that ends in `end`, read backwards from what was reached."""
    path = []
    for index in range(len(matrices) - 1, -1, -1):
        into, goal = matrices[index][end], reached[index + 1][end]
        end = next(i for i, cost in enumerate(reached[index]) if cost + into[i] == goal)
        path.append(end)
    return path[::-1]
