"""The times of a round in whole ticks and in seconds.

Fractions are exact but slow to reckon with; as multiples of one common part of a whole note they are whole numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import lcm

from companion.tune.tune_values import OnceThrough


@dataclass(frozen=True, slots=True)
class Times:
    """Where the notes of a round begin, how long they last, and how long the round is.

    All in ticks, of which a whole note has `ticks`; `whole` is the whole note in seconds.
    """

    starts: tuple[int, ...]
    lengths: tuple[int, ...]
    lap: int
    ticks: int
    whole: float

    def seconds(self, ticks: int) -> float:
        """So many ticks in seconds; the same length gives the same float, however long a tick is."""
        return ticks / self.ticks * self.whole


def times_of(round_: OnceThrough, whole: float) -> Times:
    """The times of a round; `whole` is the length of a whole note in seconds."""
    at = [note.at for note in round_.notes]
    length = [note.length for note in round_.notes]
    ticks = lcm(round_.length.denominator, *{f.denominator for f in at}, *{f.denominator for f in length})
    return Times(
        tuple([f.numerator * (ticks // f.denominator) for f in at]),
        tuple([f.numerator * (ticks // f.denominator) for f in length]),
        round_.length.numerator * (ticks // round_.length.denominator),
        ticks,
        whole,
    )
