"""Pieces to engrave: the demo tunes once through, and pieces made by hand."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from companion.engraving.staff_tune import StaffPiece
from companion.lesson.stretch import Stretch, StretchNote, stretch_of
from companion.notation import read_book
from companion.places import shipped
from companion.tune.tune_values import Key, Meter, Played
from companion.tune.unfold import unfold

DEMO = read_book(shipped("demo_tunes", "tanners_quay.abc")).tunes
D_MAJOR = Key("D", "D", "major", (("F", 1), ("C", 1)))
COMMON = Meter("4/4", Fraction(1), (Fraction(1, 4),) * 4)


def demo_piece(number: int) -> StaffPiece:
    """A demo tune once through."""
    tune = DEMO[number]
    round_ = unfold(tune)
    laid = stretch_of(round_, 0, len(round_.notes) - 1, tune.meter, tune.meter.beats[0])
    return StaffPiece(laid, tune.meter, ((0, tune.key),))


def made_piece(lengths: Sequence[Fraction], pitches: Sequence[int] = (69, 71, 73, 74)) -> StaffPiece:
    """Notes one after the other in common time, in D."""
    notes, at = [], Fraction(0)
    for n, length in enumerate(lengths):
        played = Played(n, "A", 1, 1, at, length, pitches[n % len(pitches)])
        notes.append(StretchNote(n, at, played))
        at += length
    bars = tuple(Fraction(bar) for bar in range(int(at) + 1) if bar < at)
    laid = Stretch(tuple(notes), (), bars, at, Fraction(0), Fraction(1), Fraction(1, 4))
    return StaffPiece(laid, COMMON, ((0, D_MAJOR),))
