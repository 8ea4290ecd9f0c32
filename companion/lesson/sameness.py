"""What in a tune is the same as something before it, or the same but for one note."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from companion.tune.tune_values import OnceThrough, Played

# Fewer notes than these are not "the same but for one": half of so short a bar would be another.
FEWEST = 3


def run_of(round_: OnceThrough, first: int, last: int) -> tuple[Played, ...]:
    """The notes of a piece; one whose `first` is greater than its `last` goes round."""
    notes = round_.notes
    return notes[first : last + 1] if first <= last else notes[first:] + notes[: last + 1]


def shape(round_: OnceThrough, first: int, last: int) -> tuple[tuple[int, Fraction, Fraction], ...]:
    """What makes two pieces the same: pitches, lengths and places, counted from the first note."""
    run = run_of(round_, first, last)
    start = run[0].at
    return tuple((note.pitch, note.length, (note.at - start) % round_.length) for note in run)


def but_for_one(
    one: Sequence[tuple[int, Fraction, Fraction]], other: Sequence[tuple[int, Fraction, Fraction]]
) -> int | None:
    """At which note, counted from 0, two shapes of the same rhythm differ, where that is a single one; else None."""
    if len(one) != len(other) or len(one) < FEWEST:
        return None
    found = None
    for index, (here, there) in enumerate(zip(one, other, strict=True)):
        if here[1:] != there[1:]:
            return None
        if here[0] != there[0]:
            if found is not None:
                return None
            found = index
    return found
