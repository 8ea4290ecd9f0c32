"""What air is worth on a note that can be had in either direction of the bellows.

Most notes of a tune have one direction only. Where those around a note pull far more than they push, a note that could
be pushed gives some air back; so pulling it as well is paid for. The price depends only on the notes that leave no
choice, so that each note's cost stands by itself and the search stays exact.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from itertools import accumulate

from companion.box.box_values import Bellows
from companion.box.hand_costs import Hand
from companion.box.times import Times


def imbalances(times: Times, ways: Sequence[Bellows | None], hand: Hand) -> list[float]:
    """For each note with two directions, the seconds by which the notes around it pull more than they push.

    Parameters
    ----------
    times : those of the tune; what is around a note reaches over the ends of the round into its neighbours.
    ways : the one direction of each note, None where there are two.
    hand : `reach_of_air` is how far "around" goes each way, in seconds; what lies within `spare_air` counts as 0.

    Returns
    -------
    Seconds beyond `spare_air`, to the half second so that the same bar is priced alike; negative: they push more; 0
    for a note with one direction.
    """
    open_notes = [index for index, way in enumerate(ways) if way is None]
    found = [0.0] * len(ways)
    if not open_notes or not hand.air:
        return found
    moved = [
        0 if way is None else length if way is Bellows.PULL else -length
        for length, way in zip(times.lengths, ways, strict=True)
    ]
    # Three rounds end to end, so that the middle one has neighbours on both sides.
    begun = [start + turn * times.lap for turn in (-1, 0, 1) for start in times.starts]
    sums = [0, *accumulate(moved * 3)]
    reach = min(int(hand.reach_of_air / times.whole * times.ticks), times.lap)
    for index in open_notes:
        start = times.starts[index]
        balance = times.seconds(sums[bisect_right(begun, start + reach)] - sums[bisect_left(begun, start - reach)])
        beyond = max(0.0, abs(balance) - hand.spare_air)
        found[index] = round(2 * beyond) / 2 * (1 if balance > 0 else -1)
    return found
