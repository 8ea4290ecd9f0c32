"""A piece of a tune as a tune of its own, as it stands on a staff: its bars, its notes, and nothing else.

Places and lengths are exact fractions of a whole note, counted from the beginning of the piece.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from companion.lesson.stretch import Stretch
from companion.tune.ticks import ticks
from companion.tune.tune import Atom, Span, Tune, WayThrough
from companion.tune.tune_values import Key, Meter, Note

# What one note head and its dots can say, the longest first, in whole notes; what is longer or uneven is tied together.
_SHORTEST = Fraction(1, 64)
_HEADS = (*(Fraction(top, below) for below in (2, 4, 8, 16, 32, 64) for top in (3, 2)), _SHORTEST)


@dataclass(frozen=True, slots=True)
class StaffPiece:
    """What is to stand on a staff.

    Parameters
    ----------
    laid : the piece, laid out in time.
    meter : its meter.
    keys : the keys of the tune, each with the index of its first note in the tune.
    """

    laid: Stretch
    meter: Meter
    keys: tuple[tuple[int, Key], ...]


def bars_of_piece(piece: StaffPiece) -> tuple[Fraction, ...]:
    """Where the bars of a piece begin, and where it ends."""
    laid = piece.laid
    return tuple(sorted({Fraction(0), *(bar for bar in laid.bars if 0 < bar < laid.length), laid.length}))


def notes_within(piece: StaffPiece, start: Fraction, end: Fraction) -> tuple[int, ...]:
    """The notes of a piece (by their order in it) that sound between two places."""
    return tuple(
        n for n, one in enumerate(piece.laid.notes) if one.at < end and one.at + one.note.length > start
    )  # fmt: skip


def staff_tune(piece: StaffPiece, start: Fraction, end: Fraction) -> Tune:
    """The bars of a piece from `start` to `end` (two of its bar lines) as a tune to be written.

    A note that sounds across a bar line, or whose length has no note head, is written as several that are tied.
    Repeats, chords, ornaments and words are left out. The key is that of the first note.

    Examples
    --------
    >>> tune = staff_tune(piece, Fraction(0), piece.laid.length)  # doctest: +SKIP
    >>> write_musicxml(tune)  # doctest: +SKIP
    """
    seen = notes_within(piece, start, end)
    edges = [edge for edge in bars_of_piece(piece) if start <= edge <= end]
    atoms: list[Atom] = []
    spans: list[Span] = []
    usual = piece.laid.bar
    for number, (first, last) in enumerate(pairwise(edges), 1):
        count = len(atoms)
        atoms += _atoms(piece, seen, first, last, start)
        whole = last - first >= usual
        spans.append(Span(count, len(atoms), ticks(first - start), ticks(last - first), number if whole else 0,
                          meter=piece.meter.text))  # fmt: skip
    notes = tuple(_plain(piece, n, start) for n in seen)
    way = WayThrough(tuple(atoms), tuple(spans), items=tuple(range(len(spans))))
    key = _key(piece, seen)
    return Tune(1, "", (), "", piece.meter, key, None, Fraction(1, 8), notes, len(spans), "A", course=way)


def _key(piece: StaffPiece, seen: tuple[int, ...]) -> Key:
    index = piece.laid.notes[seen[0]].index if seen else 0
    return next((key for first, key in reversed(piece.keys) if first <= index), piece.keys[0][1])


def _plain(piece: StaffPiece, n: int, start: Fraction) -> Note:
    one = piece.laid.notes[n]
    return Note(one.at - start, one.note.length, one.note.pitch, one.note.bar)


def _atoms(
    piece: StaffPiece, seen: tuple[int, ...], first: Fraction, last: Fraction, start: Fraction
) -> Iterator[Atom]:
    """What is written in one bar: each note, or as much of it as lies in the bar, in heads that can be written."""
    for order, n in enumerate(seen):
        one = piece.laid.notes[n]
        ends = one.at + one.note.length
        at, stop = max(one.at, first), min(ends, last)
        for length in _heads(stop - at) if at < stop else ():
            on = at + length < ends
            yield order, ticks(at - start), ticks(length), one.note.pitch, on
            at += length


def _heads(length: Fraction) -> Iterator[Fraction]:
    """A length as lengths that a note head has; one of a triplet, or too short for a head, is left as it is."""
    while length >= _SHORTEST and length not in _HEADS and (length / _SHORTEST).denominator == 1:
        head = next(head for head in _HEADS if head < length)
        yield head
        length -= head
    yield length
