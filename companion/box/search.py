"""The cheapest way round a ring of choices, exactly.

A ring has a column of states for each note and a matrix of whole costs from each column to the next, the last one back
to the first. The cost of a way round is the sum over all its steps. Once round is cut open at the column with the
fewest states, and searched from each of its states: the ordinary search for the cheapest path, so the result is the
cheapest of all ways that close.
"""

from __future__ import annotations

from collections.abc import Sequence

Matrix = Sequence[Sequence[int]]  # [state after][state before] -> cost
FORBIDDEN = 10**12


def cheapest_ring(matrices: Sequence[Matrix]) -> tuple[int, list[int]]:
    """The least cost of a way round, and its state in each column.

    Parameters
    ----------
    matrices : one for each column k, `matrices[k][j][i]` the cost of the step from state i of column k to state j of
        the next column (of column 0 for the last). At least one; every column has at least one state.

    Returns
    -------
    The cost, and for each column the index of its state. Among equals the one with the lowest state indices from the
    cut on, the cut being the first column with the fewest states.
    """
    count = len(matrices)
    widths = [len(matrix[0]) for matrix in matrices]
    cut = widths.index(min(widths))
    ring = [matrices[(cut + k) % count] for k in range(count)]
    best, start = min((_once_round(ring, state)[-1][state], state) for state in range(widths[cut]))
    path = _trace(ring, _once_round(ring, start), start)
    return best, path[count - cut :] + path[: count - cut]


def _once_round(ring: Sequence[Matrix], start: int) -> list[list[int]]:
    """For each step, the least cost of reaching each state from `start`."""
    costs = [FORBIDDEN] * len(ring[0][0])
    costs[start] = 0
    layers = [costs]
    for matrix in ring:
        costs = [min([a + b for a, b in zip(costs, into, strict=True)]) for into in matrix]
        layers.append(costs)
    return layers


def _trace(ring: Sequence[Matrix], layers: Sequence[Sequence[int]], end: int) -> list[int]:
    """The states of the cheapest way that ends in `end`, read backwards from the costs."""
    path = []
    for matrix, before, after in zip(reversed(ring), reversed(layers[:-1]), reversed(layers[1:]), strict=True):
        into = matrix[end]
        end = next(i for i, cost in enumerate(before) if cost + into[i] == after[end])
        path.append(end)
    return path[::-1]
