"""Where in its bar a note begins, counted in beats as a player counts them: "1", "1⅓", "2½"."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from companion.tune.model import Round
from companion.tune.part_bars import pickups

_PARTS = {
    Fraction(1, 2): "½", Fraction(1, 3): "⅓", Fraction(2, 3): "⅔", Fraction(1, 4): "¼", Fraction(3, 4): "¾",
    Fraction(1, 6): "⅙", Fraction(5, 6): "⅚", Fraction(1, 8): "⅛", Fraction(3, 8): "⅜", Fraction(5, 8): "⅝",
    Fraction(7, 8): "⅞",
}  # fmt: skip


def beats_of(round_: Round, beat: Fraction) -> tuple[str, ...]:
    """The beat on which each note of a round begins, from 1 in its bar; a pick-up is the end of a bar.

    Parameters
    ----------
    beat : the length of a beat in whole notes.
    """
    starts = list(_starts(round_))
    found = []
    at = 0
    for note in round_.notes:
        while at + 1 < len(starts) and starts[at + 1][0] <= note.at:
            at += 1
        line, counted = starts[at] if starts else (note.at, Fraction(0))
        found.append(_counted((note.at - line + counted) / beat + 1))
    return tuple(found)


def _starts(round_: Round) -> Iterator[tuple[Fraction, Fraction]]:
    """Where each bar begins, and how much of it has gone by there: nothing, but in a pick-up."""
    bars = round_.bars
    for place, (span, short) in enumerate(zip(bars, pickups(round_), strict=True)):
        yield span.at, bars[place + 1].length - span.length if short else Fraction(0)


def _counted(place: Fraction) -> str:
    """A place in beats, its fraction as one sign where there is one."""
    whole = place.numerator // place.denominator
    rest = place - whole
    return str(whole) if not rest else f"{whole}{_PARTS.get(rest, f' {rest}')}"
