"""The cheapest way round a ring of choices, exactly.

A ring has a column of states for each note and a matrix of whole costs from each column to the next, the last one back
to the first: `matrices[k][j][i]` is the cost of the step from state i of column k to state j of the next column. The
cost of a way round is the sum over all its steps, one for each column. The ring is cut open at the column with the
fewest states and searched from each of its states by the ordinary search for the cheapest path, so the result is the
cheapest of all the ways that close.
"""

from __future__ import annotations

from collections.abc import Sequence
from operator import add

Matrix = Sequence[Sequence[int]]  # [state after][state before] -> cost
Path = list[int]  # the index of the state in each column
FORBIDDEN = 10**12


def cheapest_ring(matrices: Sequence[Matrix]) -> tuple[int, Path]:
    """The least cost of a way round, and that way.

    Parameters
    ----------
    matrices : at least one; every column has at least one state.

    Returns
    -------
    The cost, and for each column the index of its state. Among equals, the lowest state at the cut (the first of the
    narrowest columns), then the lowest states from the end of the ring backwards.
    """
    count = len(matrices)
    widths = [len(matrix[0]) for matrix in matrices]
    cut = widths.index(min(widths))
    ring = [*matrices[cut:], *matrices[:cut]]
    width = widths[cut]
    # Started from anywhere, an end can only be reached more cheaply: a bound that spares most of the searches.
    bounds = _layers(ring, [0] * width)[-1]
    best, start, layers = FORBIDDEN * count, 0, None
    for bound, state in sorted(zip(bounds, range(width), strict=True)):
        if layers is not None and bound > best:
            break
        found = _layers(ring, [0 if i == state else FORBIDDEN for i in range(width)])
        cost = found[-1][state]
        if layers is None or (cost, state) < (best, start):
            best, start, layers = cost, state, found
    assert layers is not None
    path = trace(ring, layers, start)
    return best, path[count - cut :] + path[: count - cut]


def through(matrices: Sequence[Matrix]) -> Matrix:
    """The least costs from each state of the first column to each state after the last step."""
    width = len(matrices[0][0])
    rows = [_layers(matrices, [0 if i == j else FORBIDDEN for i in range(width)])[-1] for j in range(width)]
    return list(zip(*rows, strict=True))


def between(matrices: Sequence[Matrix], first: int, last: int) -> Path:
    """The cheapest path from state `first` of the first column to state `last` after the last step, both included."""
    layers = _layers(matrices, [0 if i == first else FORBIDDEN for i in range(len(matrices[0][0]))])
    return [*trace(matrices, layers, last), last]


def _layers(matrices: Sequence[Matrix], costs: Sequence[int]) -> list[Sequence[int]]:
    """For each column, the least cost of reaching each of its states, given those of the first column."""
    layers = [costs]
    for matrix in matrices:
        costs = _from_four(costs, matrix) if len(costs) == 4 else [min(map(add, costs, into)) for into in matrix]
        layers.append(costs)
    return layers


def _from_four(costs: Sequence[int], matrix: Matrix) -> list[int]:
    """One step from a column of four states: most notes have one button and four fingers.

    Written out because the search spends its time here: four times as fast as the general line above.
    """
    a, b, c, d = costs
    after = []
    for to_a, to_b, to_c, to_d in matrix:
        least = a + to_a
        if (cost := b + to_b) < least:
            least = cost
        if (cost := c + to_c) < least:
            least = cost
        if (cost := d + to_d) < least:
            least = cost
        after.append(least)
    return after


def trace(matrices: Sequence[Matrix], layers: Sequence[Sequence[int]], end: int) -> Path:
    """The states before each step on the cheapest way that ends in `end`, read backwards from the layers."""
    path = []
    for index in range(len(matrices) - 1, -1, -1):
        into, goal = matrices[index][end], layers[index + 1][end]
        end = next(i for i, cost in enumerate(layers[index]) if cost + into[i] == goal)
        path.append(end)
    return path[::-1]


def least_through(matrices: Sequence[Matrix]) -> list[list[list[int]]]:
    """For each step and each pair of states around it, the least cost of a way round that takes it.

    Returns
    -------
    `least[k][j][i]`: the cost of the cheapest closed way that goes from state i of column k to state j of the next.
    """
    count = len(matrices)
    widths = [len(matrix[0]) for matrix in matrices]
    cut = widths.index(min(widths))
    ring = [*matrices[cut:], *matrices[:cut]]
    back = [[list(column) for column in zip(*matrix, strict=True)] for matrix in reversed(ring)]
    least = [[[FORBIDDEN * 2] * len(into) for into in matrix] for matrix in ring]
    for state in range(widths[cut]):
        start = [0 if i == state else FORBIDDEN for i in range(widths[cut])]
        forward, backward = _layers(ring, start), _layers(back, start)[::-1]
        for step, matrix in enumerate(ring):
            before, after = forward[step], backward[step + 1]
            for j, into in enumerate(matrix):
                row = least[step][j]
                for i, cost in enumerate(into):
                    row[i] = min(row[i], before[i] + cost + after[j])
    return least[count - cut :] + least[: count - cut]
