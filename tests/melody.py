"""Short rounds made by hand, for the tests of rooms that know nothing of notation."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from companion.tune.tune_values import BarSpan, OnceThrough, Played


def make_round(parts: Sequence[tuple[str, int, Sequence[Sequence[tuple[int, str]]]]], pickup: str = "0") -> OnceThrough:
    """A round from (part, turn, bars), each bar a list of (pitch, length).

    `pickup` is the length of the first bar of each time through a part where that is short of a full bar.
    """
    notes: list[Played] = []
    spans: list[BarSpan] = []
    at = Fraction(0)
    form = "".join(part for part, _, _ in parts)
    for part, turn, bars in parts:
        for number, bar in enumerate(bars, 0 if Fraction(pickup) else 1):
            began = at
            for pitch, length in bar:
                notes.append(Played(len(notes), part, turn, number, at, Fraction(length), pitch))
                at += Fraction(length)
            spans.append(BarSpan(number, part, turn, began, at - began))
    return OnceThrough(tuple(notes), tuple(spans), at, Fraction(pickup), form)
