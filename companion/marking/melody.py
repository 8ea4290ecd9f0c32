"""Which of the notes that came in are the melody: basses, chords and drums are kept out."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from companion.marking.left_hand import TOGETHER, shared_out
from companion.marking.mark_values import Asked, Heard

_DRUMS = 9
# A box sounds no further from what is written, and so many times as many notes are met where it does (ours).
_FURTHEST, _CLEARLY = 24, 1.5


@dataclass(frozen=True, slots=True)
class Hands:
    """Positions of heard notes: those of the melody, and those of chords that may stand for a note of the tune."""

    melody: tuple[int, ...]
    doubtful: tuple[int, ...] = ()


def melody(heard: Sequence[Heard], asked: Sequence[Asked] = ()) -> tuple[int, ...]:
    """Positions in `heard` of the melody's notes; see :func:`hands`."""
    return hands(heard, asked).melody


def hands(heard: Sequence[Heard], asked: Sequence[Asked] = (), lowest: int | None = None) -> Hands:
    """Which notes are the melody's.

    Where both hands come on channels of their own, the melody is the one whose pitches are most like what was asked
    (without that: the highest with the fewest notes together). On one channel, what lies below everything asked and
    sounds together with other notes is the left hand's, and so is a chord (:mod:`companion.marking.left_hand`).

    Parameters
    ----------
    heard : in order of onset.
    lowest : the lowest note of the whole tune, as the box sounds it; None to find it out from `asked` and `heard`.
    """
    channels: dict[int, list[int]] = defaultdict(list)
    for j, note in enumerate(heard):
        channels[note.channel].append(j)
    if len(channels) > 1:
        channels.pop(_DRUMS, None)
    if not channels:
        return Hands(())
    best = max(channels, key=lambda c: (_likeness([heard[j] for j in channels[c]], asked), -c))
    if not asked:
        return Hands(tuple(channels[best]))
    shift = 0
    if lowest is None:
        lowest, shift = min(note.pitch for note in asked), _sounds_higher([heard[j] for j in channels[best]], asked)
    left: set[int] = set()
    doubtful: set[int] = set()
    for stroke in _strokes(heard, channels[best]):
        shares = shared_out(tuple(heard[j].pitch for j in stroke), lowest, shift)
        left |= {stroke[k] for k in shares.left}
        doubtful |= {stroke[k] for k in shares.doubtful}
    mine = (j for j in channels[best] if j not in left and j not in doubtful)
    return Hands(tuple(mine), tuple(sorted(doubtful)))


def _likeness(notes: Sequence[Heard], asked: Sequence[Asked]) -> float:
    """How much a channel is like a melody: the asked one where it is known."""
    alone = sum(
        all(abs(note.seconds - other.seconds) > TOGETHER for other in notes[max(0, k - 1) : k + 2] if other is not note)
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


def _strokes(heard: Sequence[Heard], same: Sequence[int]) -> Iterator[Sequence[int]]:
    """Notes that begin together, the first of them no longer before the last than a stroke takes."""
    begin = 0
    for end in range(1, len(same) + 1):
        if end == len(same) or heard[same[end]].seconds - heard[same[begin]].seconds > TOGETHER:
            yield same[begin:end]
            begin = end
