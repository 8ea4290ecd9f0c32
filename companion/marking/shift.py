"""How far a take lies above what is written: a box in another key, or a program that plays an octave lower."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from companion.marking.mark_values import Asked, Heard

FURTHEST = 24  # semitones
ENOUGH = 6  # notes of which a shift is learnt, and after which it is looked for again
_LONGEST = 24
# So much of what was played must be what was asked under a shift, and so much more than without it (ours).
_LIKE, _MORE = 0.75, 0.35


def shift_of(asked: Sequence[Asked], heard: Sequence[Heard]) -> int:
    """By how many semitones what was played lies above what was asked; 0 where that is not clear.

    The first notes are compared in order; a player may leave some out or add some, and play a short piece again.
    """
    played = [note.pitch for note in heard[:_LONGEST]]
    if not asked or len(played) < ENOUGH or len(set(played)) < 2:
        return 0
    again = itertools.cycle(note.pitch for note in asked)
    wanted = list(itertools.islice(again, len(played) + len(played) // 2))
    as_written = _in_order(wanted, played) / len(played)
    if as_written + _MORE > 1.0:
        return 0  # nothing can be so much more like it: most rounds end here, within a fraction of a millisecond
    likeness = {
        shift: _in_order(wanted, [pitch - shift for pitch in played]) / len(played)
        for shift in range(-FURTHEST, FURTHEST + 1)
    }
    best = max(likeness, key=lambda shift: (likeness[shift], -abs(shift)))
    return best if likeness[best] >= max(_LIKE, as_written + _MORE) else 0


def _in_order(wanted: Sequence[int], played: Sequence[int]) -> int:
    """How many notes of both are the same in the same order (the longest common subsequence)."""
    row = [0] * (len(wanted) + 1)
    for pitch in played:
        before = 0
        for n, other in enumerate(wanted, 1):
            before, row[n] = row[n], before + 1 if pitch == other else max(row[n], row[n - 1])
    return row[-1]
