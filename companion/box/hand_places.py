"""Where the hand lies while a fingering is played: it gives by half a button for the other row before it moves.

The rows lie half a button apart, so a finger that rests over a button of one row reaches two of the other without the
hand's moving. Of the places that a note allows, the hand takes those that make it move least, all the way round.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor

from companion.box.costs import State

LEAN = 0.5  # buttons by which a finger may lie beside the middle of its place


def hand_places(states: Sequence[State], grid: float) -> tuple[int, ...]:
    """The place of the hand at every note of a round that goes on into the next.

    Parameters
    ----------
    states : how each note is played.
    grid : where the columns lie, in buttons: the offset of the innermost row.
    """
    if not states:
        return ()
    allowed = [_allowed(state, grid) for state in states]
    ways = (_least(allowed, states, first) for first in allowed[0])
    return min(ways, key=lambda way: way[0])[1]


def _allowed(state: State, grid: float) -> tuple[int, ...]:
    """The places from which a note can be reached."""
    index = state.x - (state.finger - 1) - grid
    return tuple(range(ceil(index - LEAN), floor(index + LEAN) + 1))


def _least(
    allowed: Sequence[Sequence[int]], states: Sequence[State], first: int
) -> tuple[tuple[int, int], tuple[int, ...]]:
    """The least moving from a first place and back to it: (moves and notes away from their own column), places."""
    trail: list[dict[int, int]] = []
    costs = {first: (0, int(first != states[0].place))}
    for index in range(1, len(allowed)):
        reached: dict[int, tuple[int, int]] = {}
        came: dict[int, int] = {}
        for place in allowed[index]:
            own = int(place != states[index].place)
            cost, before = min(
                ((moves + abs(place - before), away + own), before) for before, (moves, away) in costs.items()
            )
            reached[place], came[place] = cost, before
        costs = reached
        trail.append(came)
    (moves, away), last = min(((moves + abs(first - place), away), place) for place, (moves, away) in costs.items())
    places = [last]
    for came in reversed(trail):
        places.append(came[places[-1]])
    return (moves, away), tuple(reversed(places))
