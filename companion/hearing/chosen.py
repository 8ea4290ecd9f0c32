"""Which of the beginnings that may have been heard were played, now that it is known what was asked.

Each beginning has log odds from its sound alone. The tune adds to them: a note that was asked for here is likelier than
one that nobody asked for. The cheapest reading of all beginnings is found, in which each is the next note, a wrong note
in its place, an extra one, or no note at all, and notes may be left out. What is clear by its sound stays what it is.

Conventions: costs are negative log likelihoods (nats).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

from companion.hearing.spectra import Floats

# How likely each is, a note: common practice for a learner's round, and no more than a leaning.
RIGHT, WRONG, EXTRA, MISSED = 0.1, 5.5, 6.0, 3.2
AGAIN = 2.0  # what it costs besides that a note nobody asked for is the same one again
_MOST_ROUNDS = 12
_REJECTED, _PAIRED, _EXTRA = range(3)
UNKNOWN = 2.0  # where nothing is asked: what a beginning must have to count


@dataclass(frozen=True, slots=True)
class Begun:
    """A beginning that may be a note: its frame, its pitch, its log odds; `again`: the same pitch sounded before it."""

    frame: float
    pitch: int
    odds: float
    again: bool


@dataclass(frozen=True, slots=True)
class Chosen:
    """A beginning that counts: its number, and how likely it is in the light of what was asked."""

    number: int
    sure: float


def choose(begun: Sequence[Begun], asked: Sequence[int]) -> list[Chosen]:
    """The beginnings that count as notes, in order.

    Parameters
    ----------
    begun : in order of time.
    asked : the pitches of one round; they may come several times over, or in part. () where nothing is known.
    """
    if not asked:
        needed = [UNKNOWN + AGAIN * one.again for one in begun]
        return [Chosen(j, sure(one.odds - needed[j])) for j, one in enumerate(begun) if one.odds > needed[j]]
    chosen = []
    for number, place in read(begun, asked, _costs):
        one = begun[number]
        # What it takes to be believed: its own odds, and how much likelier the tune makes it or less.
        right = place is not None and asked[place] == one.pitch
        leaning = -EXTRA if place is None else MISSED - (RIGHT if right else WRONG)
        chosen.append(Chosen(number, sure(one.odds + leaning - AGAIN * (one.again and not right))))
    return chosen


def read(
    begun: Sequence[Begun], asked: Sequence[int], costs: Callable[[Begun, NDArray[np.int_]], Floats]
) -> list[tuple[int, int | None]]:
    """The cheapest reading: of each beginning that counts its number, and for which asked note it came (None: extra).

    `costs` : what it costs that a beginning was meant for each of some pitches.
    """
    rounds = min(_MOST_ROUNDS, 1 + len(begun) // len(asked))
    wanted = np.array(list(asked) * rounds)
    moves, skipped = _readings(begun, wanted, costs)
    found: list[tuple[int, int | None]] = []
    place = int(skipped[len(begun), len(wanted)])
    for j in range(len(begun) - 1, -1, -1):
        move = moves[j, place]
        if move == _PAIRED:
            place -= 1
            found.append((j, place % len(asked)))
        elif move == _EXTRA:
            found.append((j, None))
        place = int(skipped[j, place])
    return found[::-1]


def _costs(one: Begun, wanted: NDArray[np.int_]) -> Floats:
    return np.where(wanted == one.pitch, RIGHT, WRONG + AGAIN * one.again)


def sure(odds: float) -> float:
    """A chance from its log odds."""
    return float(1 / (1 + np.exp(-min(max(odds, -30.0), 30.0))))


def _readings(
    begun: Sequence[Begun], wanted: NDArray[np.int_], costs: Callable[[Begun, NDArray[np.int_]], Floats]
) -> tuple[NDArray[np.int8], NDArray[np.int32]]:
    """(begun, places) what each beginning was at best, and (begun + 1, places) from where places were left out."""
    count = len(wanted)
    moves = np.zeros((len(begun), count + 1), np.int8)
    skipped = np.empty((len(begun) + 1, count + 1), np.int32)
    left_out = MISSED * np.arange(count + 1)
    cost: Floats = np.zeros(count + 1)
    cost[1:] = np.inf
    cost, skipped[0] = _with_left_out(cost, left_out)
    for j, one in enumerate(begun):
        options = np.full((3, count + 1), np.inf)
        options[_REJECTED] = cost
        options[_PAIRED, 1:] = cost[:-1] + costs(one, wanted) - one.odds
        options[_EXTRA] = cost + EXTRA + AGAIN * one.again - one.odds
        moves[j] = options.argmin(0)
        cost, skipped[j + 1] = _with_left_out(options.min(0), left_out)
    # A take may end anywhere: what was not reached was not left out.
    end = int((cost - 0.98 * left_out).argmin())
    skipped[len(begun), count] = skipped[len(begun), end]
    return moves, skipped


def _with_left_out(cost: Floats, left_out: Floats) -> tuple[Floats, NDArray[np.int32]]:
    """The cost of each place when notes may be left out on the way to it, and the place from which they were."""
    bare = cost - left_out
    least = np.minimum.accumulate(bare)
    source = np.maximum.accumulate(np.where(bare <= least, np.arange(len(cost)), 0)).astype(np.int32)
    return least + left_out, source
