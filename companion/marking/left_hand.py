"""Which notes of a stroke are the left hand's, where both hands come on one channel.

A bass button sounds its root, most often in two octaves; a chord button a close triad, a seventh chord, or root and
fifth alone (many players take the thirds out). What stands for a note of the tune all the same is not decided here:
such notes are in doubt, and the tune has the first claim to them.

Conventions: pitches are MIDI numbers, as written.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

# Notes that begin this near together are one stroke of the hand, in seconds (ours: a strum or chord is tighter).
TOGETHER = 0.03
# No hand has more; a flood of notes is no stroke.
MOST_AT_ONCE = 10
# Semitones below the lowest note asked from which on a note is the left hand's: with another one, or alone (ours).
_BELOW, _FAR_BELOW = 4, 12
# The highest note of a chord button: close triads are written from D3 to G4 in tutors' charts for D/G and B/C boxes.
CHORD_TOP = 67
# The semitones of what a chord button sounds over its root: triads and the seventh chord, close, in any inversion. The
# seventh chord may lack its fifth (common practice on accordions).
_ROOTED = ((0, 4, 7), (0, 3, 7), (0, 4, 7, 10), (0, 4, 10))
# ... and of those without a third: a fifth or a fourth, the lower or the upper of its notes doubled or not.
_BARE = {(7,), (5,), (7, 12), (5, 12)}


def _inversions(chord: tuple[int, ...]) -> set[tuple[int, ...]]:
    """What lies over the lowest note of a close chord, whichever of its notes that is."""
    return {tuple(sorted((tone - low) % 12 for tone in chord if tone != low)) for low in chord}


_CHORDS = set().union(*map(_inversions, _ROOTED))


@dataclass(frozen=True, slots=True)
class Shares:
    """A stroke shared out, by positions in it: what is the left hand's, and what is unless the tune asks for it now."""

    left: frozenset[int]
    doubtful: frozenset[int]


NOTHING = Shares(frozenset(), frozenset())


@lru_cache(maxsize=4096)
def shared_out(pitches: tuple[int, ...], lowest: int, shift: int = 0) -> Shares:
    """Share out the notes of one stroke.

    Parameters
    ----------
    pitches : in order of onset; of more than a hand has, nothing is taken away.
    lowest : the lowest note that the tune has.
    shift : by how many semitones the box sounds above what is written.
    """
    if len(pitches) > MOST_AT_ONCE:
        return NOTHING
    floor, top = lowest + shift, CHORD_TOP + shift
    below = floor - (_BELOW if len(pitches) > 1 else _FAR_BELOW)
    sure = {k for k, pitch in enumerate(pitches) if pitch < below}
    order = sorted(range(len(pitches)), key=lambda k: pitches[k])
    low = [k for k in order if pitches[k] <= top]
    pressed = _chord(pitches, low) or _bare(pitches, low, floor)
    if not pressed:
        # A chord that is the tune's own, in the right hand: its highest note is the melody's.
        pressed = _chord(pitches, order)[:-1]
    doubtful = frozenset(k for k in pressed if pitches[k] >= floor)
    return Shares(frozenset(sure.union(pressed) - doubtful), doubtful)


def _chord(pitches: Sequence[int], order: Sequence[int]) -> tuple[int, ...]:
    """The chords over the lowest note that has any, together; a note above them may be the tune's. () without one.

    With a note of the tune there may be two of them: E and G and B, where G and B and F are pressed.
    """
    once = [
        k for k, before in zip(order, (None, *order), strict=False) if before is None or pitches[k] != pitches[before]
    ]
    for place, bottom in enumerate(once):
        found: set[int] = set()
        for count in (2, 3):
            for some in combinations(once[place + 1 :], count):
                if tuple(pitches[k] - pitches[bottom] for k in some) in _CHORDS:
                    found.update((bottom, *some))
        if found:
            return tuple(sorted(found, key=lambda k: pitches[k]))
    return ()


def _bare(pitches: Sequence[int], order: Sequence[int], floor: int) -> tuple[int, ...]:
    """Root and fifth alone. They begin below all that the tune has, else they are two notes of the right hand; a note
    with its own octave under it is a bass."""
    for count in (3, 2):
        for some in combinations(order, count):
            bottom = pitches[some[0]]
            over = tuple(pitches[k] - bottom for k in some[1:])
            if bottom < floor and over in _BARE and bottom - 12 not in pitches:
                return some
    return ()
