"""A piece laid out in time: where each of its notes falls when the piece is played on its own, and how it loops."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from companion.lesson.model import Piece
from companion.lesson.pieces import indices
from companion.tune.model import BarSpan, Played, Round


@dataclass(frozen=True, slots=True)
class Placed:
    """One note of a piece: its index in the round, the note, and its place from the beginning of the piece."""

    index: int
    note: Played
    at: Fraction


@dataclass(frozen=True, slots=True)
class Stretch:
    """A piece in time (whole notes, from its beginning).

    `length` is the music's own; `loop` the distance from one beginning to the next when it is repeated: whole bars, so
    that the pulse goes on; `pickup` what comes before its first full bar; `bars` where its bar lines are.
    """

    notes: tuple[Placed, ...]
    length: Fraction
    loop: Fraction
    pickup: Fraction
    bars: tuple[Fraction, ...]


def stretch(piece: Piece, round_: Round, bar: Fraction | None) -> Stretch:
    """Lay a piece out. `bar` is the length of a full bar, None in a free meter."""
    spans = round_.bars
    opening = _span_of(round_, round_.notes[piece.first].at)
    closing = _span_of(round_, round_.notes[piece.last].at)
    start = spans[opening].at
    end = spans[closing].at + spans[closing].length
    wraps = piece.first > piece.last
    length = end - start + (round_.length if wraps else Fraction(0))
    notes = tuple(
        Placed(index, round_.notes[index], (round_.notes[index].at - start) % round_.length)
        for index in indices(piece, len(round_.notes))
    )
    run = list(spans[opening:]) + list(spans[: closing + 1]) if wraps else list(spans[opening : closing + 1])
    pickup = _pickup(run, bar)
    return Stretch(notes, length, _whole_bars(length, bar), pickup, _bar_lines(run, pickup))


def _span_of(round_: Round, at: Fraction) -> int:
    """The bar of the round in which a place lies."""
    low, high = 0, len(round_.bars) - 1
    while low < high:
        middle = (low + high + 1) // 2
        if round_.bars[middle].at <= at:
            low = middle
        else:
            high = middle - 1
    return low


def _pickup(run: list[BarSpan], bar: Fraction | None) -> Fraction:
    if bar is None or len(run) < 2 or run[0].length >= bar:
        return Fraction(0)
    before, after = run[0], run[1]
    return before.length if (before.part, before.turn) == (after.part, after.turn) else Fraction(0)


def _whole_bars(length: Fraction, bar: Fraction | None) -> Fraction:
    if bar is None:
        return length
    return -(-length // bar) * bar


def _bar_lines(run: list[BarSpan], pickup: Fraction) -> tuple[Fraction, ...]:
    lines = [] if pickup else [Fraction(0)]
    at = Fraction(0)
    for before, after in zip(run, run[1:], strict=False):
        at += before.length
        if (before.part, before.turn, before.bar) != (after.part, after.turn, after.bar):
            lines.append(at)
    return tuple(lines)
