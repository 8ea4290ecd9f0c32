"""Tunes in a set: several rounds one after the other, as one.

Conventions: the parts of the second tune are called 2A, 2B, …; its notes as written are counted on from those of the
tunes before it. A tune comes in on its own pick-up, before the bar line on which the one before it would begin again;
what that one would still be holding then is cut short.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from companion.tune.tune_values import BarSpan, OnceThrough, Played


def in_a_set(rounds: Sequence[OnceThrough]) -> OnceThrough:
    """One round of a set.

    Parameters
    ----------
    rounds : a round of each tune, in order, all in one metre; a tune that is played several times in the set comes
        several times here.

    Raises
    ------
    ValueError : there are none.
    """
    if not rounds:
        raise ValueError("a set has at least one tune")
    notes: list[Played] = []
    bars: list[BarSpan] = []
    first, start, written = rounds[0], Fraction(0), 0
    for number, round_ in enumerate(rounds, 1):
        if number > 1:
            start += rounds[number - 2].pickup - round_.pickup
        _cut_short(notes, bars, start)
        notes += [
            replace(note, at=note.at + start, part=f"{number}{note.part}", written=note.written + written)
            for note in round_.notes
        ]
        bars += [replace(span, at=span.at + start, part=f"{number}{span.part}") for span in round_.bars]
        written += 1 + max((note.written for note in round_.notes), default=-1)
        start += round_.length
    length = start + rounds[-1].pickup - first.pickup
    _cut_short(notes, bars, length)
    form = "".join(round_.form for round_ in rounds)
    return OnceThrough(tuple(notes), tuple(bars), length, first.pickup, form, first.signature)


def number_in_set(note: Played) -> int:
    """Which tune of its set a note belongs to, from 1 on; 0 where it is of no set."""
    digits = re.match(r"\d*", note.part)
    return int(digits[0]) if digits and digits[0] else 0


def _cut_short(notes: list[Played], bars: list[BarSpan], end: Fraction) -> None:
    """End what sounds, and the bars, where the next tune comes in."""
    while notes and notes[-1].at >= end:
        notes.pop()
    if notes and notes[-1].at + notes[-1].length > end:
        notes[-1] = replace(notes[-1], length=end - notes[-1].at)
    while bars and bars[-1].at >= end:
        bars.pop()
    if bars:
        bars[-1] = replace(bars[-1], length=end - bars[-1].at)
