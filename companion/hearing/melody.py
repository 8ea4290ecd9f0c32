"""Which of the notes that came in are the melody: basses, chords and drums are kept out."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from itertools import combinations

from companion.hearing.model import Asked, Heard

_DRUMS = 9
# Notes that begin this near together are one stroke of the hand (ours: a strum or chord is tighter).
_TOGETHER = 0.03
# Semitones below the lowest note asked from which on a note is the left hand's: with a higher one, or alone (ours).
_BELOW, _FAR_BELOW = 4, 12
# The semitones between the notes of close major and minor triads, in all inversions: what a chord button sounds.
_TRIADS = {(4, 3), (3, 5), (5, 4), (3, 4), (4, 5), (5, 3)}
_MOST_AT_ONCE = 10
# A box sounds no further from what is written, and so many times as many notes are met where it does (ours).
_FURTHEST, _CLEARLY = 24, 1.5


def melody(heard: Sequence[Heard], asked: Sequence[Asked] = ()) -> tuple[int, ...]:
    """Positions in `heard` (in order of onset) of the melody's notes.

    Where both hands come on channels of their own, the melody is the one whose pitches are most like what was asked
    (without that: the highest with the fewest notes together). On one channel, what lies below everything asked and
    sounds together with other notes is the left hand's, and so is a chord.
    """
    channels: dict[int, list[int]] = defaultdict(list)
    for j, note in enumerate(heard):
        channels[note.channel].append(j)
    if len(channels) > 1:
        channels.pop(_DRUMS, None)
    if not channels:
        return ()
    best = max(channels, key=lambda c: (_likeness([heard[j] for j in channels[c]], asked), -c))
    left = _left_hands(heard, channels[best], asked)
    return tuple(j for j in channels[best] if j not in left)


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


def _left_hands(heard: Sequence[Heard], same: Sequence[int], asked: Sequence[Asked]) -> set[int]:
    """The bass and chord notes on the melody's own channel.

    Below all that is asked, and begun together with a higher note; far below it; or one of three that make a close
    triad at one stroke.
    """
    if not asked:
        return set()
    lowest = min(note.pitch for note in asked) + _sounds_higher([heard[j] for j in same], asked)
    found = {j for j in same if heard[j].pitch < lowest - _FAR_BELOW}
    for stroke in _strokes(heard, same):
        highest = max(heard[j].pitch for j in stroke)
        found |= {j for j in stroke if heard[j].pitch < lowest - _BELOW and heard[j].pitch < highest}
        found |= _chord(heard, stroke)
    return found


def _sounds_higher(notes: Sequence[Heard], asked: Sequence[Asked]) -> int:
    """By how many semitones the box sounds above what is written, as its pitches say; 0 where that is not clear."""
    wanted = Counter(note.pitch for note in asked)
    came = Counter(note.pitch for note in notes)
    shared = {
        shift: sum(min(count, came[pitch + shift]) for pitch, count in wanted.items())
        for shift in range(-_FURTHEST, _FURTHEST + 1)
    }
    best = max(shared, key=lambda shift: (shared[shift], -abs(shift)))
    return best if shared[best] > _CLEARLY * shared[0] else 0


def _chord(heard: Sequence[Heard], stroke: Sequence[int]) -> set[int]:
    """The lowest close triad of a stroke: one hand presses one chord button; a note above it may be the tune's."""
    for three in combinations(sorted(stroke, key=lambda j: heard[j].pitch), 3):
        bottom, middle, top = (heard[j].pitch for j in three)
        if (middle - bottom, top - middle) in _TRIADS:
            return set(three)
    return set()


def _strokes(heard: Sequence[Heard], same: Sequence[int]) -> Iterator[Sequence[int]]:
    """Notes that begin together, two or more, the first of them no longer before the last than a stroke takes."""
    begin = 0
    for end in range(1, len(same) + 1):
        if end == len(same) or heard[same[end]].seconds - heard[same[begin]].seconds > _TOGETHER:
            if end - begin > 1:
                # No hand has more; a flood of notes is no stroke.
                yield same[begin : min(end, begin + _MOST_AT_ONCE)]
            begin = end
