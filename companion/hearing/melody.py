"""Which of the notes that came in are the melody: basses, chords and drums are kept out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from companion.hearing.model import Asked, Heard

_DRUMS = 9
# Notes that begin this near together are one stroke of the hand (ours: a strum or chord is tighter).
_TOGETHER = 0.03


def melody(heard: Sequence[Heard], asked: Sequence[Asked] = ()) -> tuple[int, ...]:
    """Positions in `heard` (in order of onset) of the melody's notes.

    Where both hands come on channels of their own, the melody is the one whose pitches are most like what was asked
    (without that: the highest with the fewest notes together). On one channel, what lies below everything asked and
    sounds together with other notes is the left hand's.
    """
    channels: dict[int, list[int]] = defaultdict(list)
    for j, note in enumerate(heard):
        channels[note.channel].append(j)
    if len(channels) > 1:
        channels.pop(_DRUMS, None)
    if not channels:
        return ()
    best = max(channels, key=lambda c: (_likeness([heard[j] for j in channels[c]], asked), -c))
    return tuple(j for j in channels[best] if not _left_hand(heard, channels[best], j, asked))


def _likeness(notes: Sequence[Heard], asked: Sequence[Asked]) -> float:
    """How much a channel is like a melody: the asked one where it is known."""
    alone = sum(
        all(
            abs(note.seconds - other.seconds) > _TOGETHER for other in notes[max(0, k - 1) : k + 2] if other is not note
        )
        for k, note in enumerate(notes)
    )
    if not asked:
        return alone * (sum(note.pitch for note in notes) / len(notes))
    # The same pitches as often as they are asked for: what the two bags of notes share.
    wanted: dict[int, int] = defaultdict(int)
    for one in asked:
        wanted[one.pitch] += 1
    shared = 0
    for note in notes:
        if wanted[note.pitch] > 0:
            wanted[note.pitch] -= 1
            shared += 1
    return 2.0 * shared / (len(notes) + len(asked)) + 0.1 * alone / len(notes)


def _left_hand(heard: Sequence[Heard], same: Sequence[int], j: int, asked: Sequence[Asked]) -> bool:
    """Whether a note is a bass or chord note on the melody's own channel."""
    if not asked:
        return False
    lowest = min(note.pitch for note in asked)
    if heard[j].pitch >= lowest - 4:
        return False
    return any(
        other != j and abs(heard[other].seconds - heard[j].seconds) <= _TOGETHER and heard[other].pitch > heard[j].pitch
        for other in same
    )
