"""A take heard again: where in the tune each of its notes lies, to sound beside the tune at any tempo. Pure.

A note is tied to the written note that it was meant for, or lies nearest to, and knows how far from that note's place
it began. So a piece cut out of the tune takes its notes along, and being late stays the same share of a beat.

Conventions: seconds on the take's clock; places and lengths in whole notes.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from companion.lesson.stretch import Stretch
from companion.marking.mark_values import Asked, Heard, Marks, Verdict
from companion.marking.take_marks import TakeMarks
from companion.timeline import Timeline

# So great a share of a round must be right, and so many notes: less is another tune. (Ours: marked in order, simulated
# takes of other demo tunes come to 0.49 at most, and those of a poor learner of the tune itself to 0.56 at least.)
_ENOUGH, _FEWEST = 0.5, 3
# Where the beat finds fewer than this share of the right notes that their order finds, the take has no beat to go by.
_IN_TIME = 0.93
# So far beyond a piece (whole notes) what was played belongs to it still: a cut before its first note, a late last one.
_BEYOND = 0.25


@dataclass(frozen=True, slots=True)
class TakeNote:
    """A heard note as it lies in the tune.

    `near` is the index of the written note that it was meant for, or that an extra note or an ornament lies nearest
    to; `off` how far after that note's place it began (negative: before).
    """

    near: int
    off: float
    length: float
    pitch: int
    velocity: int


@dataclass(frozen=True, slots=True)
class PlacedNote:
    """A note of a take in a piece: its place from the beginning of the piece, and its length."""

    at: float
    length: float
    pitch: int
    velocity: int


def again(
    asked: Sequence[Asked], heard: Sequence[Heard], marks: Marks, timeline: Timeline | None, *, shift: int = 0
) -> tuple[TakeNote, ...]:
    """Every note of one round of a take, as it lies in the tune.

    Parameters
    ----------
    asked, heard, marks : as they went into :func:`companion.marking.marks.mark` (`heard` in the order in which the
        marks count) and came out of it. A heard note without a mark is left out.
    timeline : the take's beat: what was late stays late, by the same share of a beat. None for a take with no clock:
        what was meant for a written note lies where that is written, and what was played between two of them between
        them.
    shift : by how many semitones the take sounds above what is written, which is taken off.

    Returns
    -------
    tuple of Kept
        In order of onset, and never out of it: of two notes the one heard first lies no later. Empty where nothing of
        the tune is in the take.
    """
    order = {note.index: k for k, note in enumerate(asked)}
    written = {m.heard: m.written for m in marks.notes if m.heard is not None}
    written |= {j: None for m in marks.notes for j in m.tries}  # what came before the right note lies before it
    came = sorted(written)
    meant = [(order[index], j) for j in came if (index := written[j]) is not None and index in order]
    if not meant:
        return ()
    notes = [heard[j] for j in came]
    onsets = [note.seconds for note in notes]
    place = timeline.at if timeline is not None else _by_order(asked, heard, meant, notes)
    numbers = [j for _, j in meant]
    kept = []
    for k, (j, note) in enumerate(zip(came, notes, strict=True)):
        at = place(note.seconds)
        index = written[j]
        near = order.get(index) if index is not None else None
        if near is None:
            near = _nearest(at, asked, meant, bisect_left(numbers, j))
        end = note.end if note.end is not None else next((t for t in onsets[k + 1 :] if t > note.seconds), None)
        length = place(end) - at if end is not None else float(asked[near].length)
        kept.append(
            TakeNote(asked[near].index, at - float(asked[near].at), max(0.0, length), note.pitch - shift, note.velocity)
        )
    return tuple(kept)


def in_piece(rounds: Sequence[Sequence[TakeNote]], number: int, stretch: Stretch) -> tuple[PlacedNote, ...]:
    """The notes of one round of a take that belong to a piece, in order of place.

    Only rounds that hold the piece, or more than half of what any of them holds of it, count; after the last comes the
    first again. What was played well before the piece or after it is left out. A piece that goes round the end has its
    beginning from the round after.
    """
    places = {one.index: one.at for one in stretch.notes}
    holds = [len({note.near for note in one} & places.keys()) for one in rounds]
    # A session's take has rounds of other pieces, and of parts of this one.
    rounds = [one for one, count in zip(rounds, holds, strict=True) if 2 * count > max(holds)]
    if not rounds:
        return ()
    turned = stretch.notes[0].index if stretch.notes else 0
    placed = []
    for into in (0, 1):
        for note in rounds[(number + into) % len(rounds)]:
            # What the piece has before its own first note of the round is the next round's.
            if note.near in places and (note.near < turned) == bool(into):
                placed.append(PlacedNote(float(places[note.near]) + note.off, note.length, note.pitch, note.velocity))
    inside = (one for one in placed if -_BEYOND <= one.at <= float(stretch.length) + _BEYOND)
    return tuple(sorted(inside, key=lambda one: one.at))


def share_right(rounds: Sequence[TakeMarks]) -> float:
    """Which share of a marked take is right: of what was played, and of what lies between a round's right notes.

    The latter, since the notes of any tune are found here and there in a long one. 0 where next to nothing is right.
    """
    right = of = 0
    for found in rounds:
        notes = [note for note in found.marks.notes if note.verdict is not Verdict.UNSURE]
        good = [k for k, note in enumerate(notes) if note.verdict is Verdict.RIGHT]
        between = sum(note.written is not None for note in notes[good[0] : good[-1] + 1]) if good else 0
        right += len(good)
        of += max(between, sum(note.heard is not None for note in notes))
    return right / of if right >= _FEWEST else 0.0


def is_of_the_tune(ordered: Sequence[TakeMarks]) -> bool:
    """Whether a take, marked in order, is one of this tune at all."""
    return share_right(ordered) >= _ENOUGH


def keeps_time(timed: TakeMarks, ordered: TakeMarks) -> bool:
    """Whether a round that was marked both ways has a beat to go by."""
    return timed.timeline is not None and share_right([timed]) >= _IN_TIME * share_right([ordered])


def _nearest(at: float, asked: Sequence[Asked], meant: Sequence[tuple[int, int]], after: int) -> int:
    """The one of its two neighbours, as positions in `asked`, that a note between them lies nearer to."""
    around = [meant[n][0] for n in (after - 1, after) if 0 <= n < len(meant)]
    return min(around, key=lambda i: abs(at - float(asked[i].at)))


def _by_order(
    asked: Sequence[Asked], heard: Sequence[Heard], meant: Sequence[tuple[int, int]], notes: Sequence[Heard]
) -> Callable[[float], float]:
    """From seconds to places, through the notes that were meant for written ones; between them, evenly.

    Where the player let go and waited before the next of them, the note keeps its length at the usual pace, and the
    wait is what is stretched or shortened. Before the first and after the last, time goes at the usual pace.
    """
    import numpy as np

    through: list[tuple[float, float]] = []
    for i, j in meant:
        point = (heard[j].seconds, float(asked[i].at))
        if not through or (point[0] > through[-1][0] and point[1] > through[-1][1]):
            through.append(point)
    steps = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(through)]
    # Whole notes a second; alone, a note says nothing of the pace.
    pace = median(run / wait for wait, run in steps) if steps else 0.25
    onsets = [note.seconds for note in notes]
    ends = {note.seconds: note.end for note in notes}
    knots: list[tuple[float, float]] = []
    for (seconds, at), (following, next_at) in pairwise(through):
        knots.append((seconds, at))
        end = ends.get(seconds)
        alone = bisect_left(onsets, following) - bisect_left(onsets, seconds) == 1
        if alone and end is not None and seconds < end < following:
            knots.append((end, min(at + (end - seconds) * pace, next_at)))
    knots.append(through[-1])
    times, places = np.array(knots).T

    def place(seconds: float) -> float:
        early, late = min(0.0, seconds - times[0]), max(0.0, seconds - times[-1])
        return float(np.interp(seconds, times, places)) + float(early + late) * pace

    return place
