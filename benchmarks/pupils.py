"""Pupils who learn: a plain model, of our own making, of how playing makes a move surer.

Nothing in the program knows of it.

Each move (from one note, press and finger to the next) has its own chance of going wrong, which

* is small for most moves and large for some: log-normal, times what the hand has to do (reach, turn of the bellows,
  change of row, little finger);
* grows with the tempo (exponentially), and is least with no clock;
* shrinks by the same part with every clean repetition, and hardly at all with one that went wrong;
* comes back in part with time away: a part of the repetitions is forgotten overnight.

Below all that lies a chance to slip that practice does not take away. The constants are invented; what was looked up is
only their direction (learning by repetition, forgetting by time, harder when faster).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from companion.box.box_values import Fingered

OWN_PACE = 0.4  # share of the target tempo at which notes are sought with no clock
MOST = 0.9  # no chance of going wrong is higher


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of pupil: `wrong` the median chance of going wrong at half tempo, `spread` the standard deviation of its
    logarithm, `haste` how steeply it grows with the tempo (a share of the target), `learns` the part that a clean
    repetition takes off, `slip` the least chance, `forgets` the part of the repetitions that a night takes."""

    name: str
    wrong: float
    spread: float
    haste: float
    learns: float
    slip: float
    forgets: float


KINDS = (
    Kind("beginner", 0.060, 1.0, 4.0, 0.080, 0.0008, 0.15),
    Kind("careful", 0.035, 1.0, 3.0, 0.070, 0.0004, 0.10),
    Kind("hasty", 0.040, 1.2, 5.0, 0.100, 0.0008, 0.15),
    Kind("forgetful", 0.040, 1.1, 4.0, 0.100, 0.0006, 0.25),
    Kind("able", 0.012, 1.3, 4.0, 0.150, 0.0003, 0.10),
)


class Pupil:
    """One pupil with one tune. `moves` has for each note of the round the first note with the same move."""

    def __init__(self, kind: Kind, fingered: Sequence[Fingered], moves: Sequence[int], seed: int) -> None:
        self.kind = kind
        self._moves = np.asarray(moves)
        self._rng = np.random.default_rng(seed)
        hand = np.array([_hand(fingered, index) for index in range(len(fingered))])
        self._base = kind.wrong * np.exp(self._rng.normal(0.0, kind.spread, len(moves))) * hand
        self._clean = np.zeros(len(moves))  # clean repetitions, by the first note that has the move

    def chances(self, notes: NDArray[np.intp], share: float) -> NDArray[np.float64]:
        """The chance that the move to each of some notes goes wrong at a share of the target tempo."""
        moves = self._moves[notes]
        learnt = (1 - self.kind.learns) ** self._clean[moves]
        tempo = math.exp(self.kind.haste * (share - 0.5))
        return np.minimum(MOST, self._base[moves] * tempo * learnt + self.kind.slip)

    def play(self, notes: NDArray[np.intp], share: float) -> frozenset[int]:
        """Play notes of the round once; gives those that went wrong, and learns from those that did not."""
        wrong = self._rng.random(len(notes)) < self.chances(notes, share)
        np.add.at(self._clean, self._moves[notes[~wrong]], 1)
        return frozenset(notes[wrong].tolist())

    def night(self) -> None:
        """A night passes."""
        self._clean *= 1 - self.kind.forgets


def _hand(fingered: Sequence[Fingered], index: int) -> float:
    """How much harder a move is for what the hand has to do (ours)."""
    here, before = fingered[index], fingered[index - 1]
    weight = 0.5 * min(abs(here.reach), 3)
    weight += 0.3 * (here.press.bellows is not before.press.bellows)
    weight += 0.2 * (here.press.row != before.press.row)
    weight += 0.4 * (here.finger == 4)
    return math.exp(weight)
