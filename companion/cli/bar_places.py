"""Places in a tune as a player counts them: part, bar, beat ("1", "1⅓", "2½"), and the bars that go as before."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction

from companion.tune.part_bars import pickups
from companion.tune.tune_values import OnceThrough

_PARTS = {
    Fraction(1, 2): "½", Fraction(1, 3): "⅓", Fraction(2, 3): "⅔", Fraction(1, 4): "¼", Fraction(3, 4): "¾",
    Fraction(1, 6): "⅙", Fraction(5, 6): "⅚", Fraction(1, 8): "⅛", Fraction(3, 8): "⅜", Fraction(5, 8): "⅝",
    Fraction(7, 8): "⅞",
}  # fmt: skip


def place_of(part: str, turn: int, bar: int) -> str:
    """A place in a table: "A part, bar  3"; of a later time through the part "A part, bar  8, time 2"."""
    return f"{part} part, bar {bar:>2}" + (f", time {turn}" if turn > 1 else "")


def beats_of(round_: OnceThrough, beat: Fraction) -> tuple[str, ...]:
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
        found.append(in_beats((note.at - line + counted) / beat + 1))
    return tuple(found)


def _starts(round_: OnceThrough) -> Iterator[tuple[Fraction, Fraction]]:
    """Where each bar begins, and how much of it has gone by there: nothing, but in a pick-up."""
    bars = round_.bars
    for place, (span, short) in enumerate(zip(bars, pickups(round_), strict=True)):
        yield span.at, bars[place + 1].length - span.length if short else Fraction(0)


def in_beats(beats: Fraction) -> str:
    """A place or a length in beats, its fraction as one sign where there is one."""
    whole = beats.numerator // beats.denominator
    rest = beats - whole
    if not rest:
        return str(whole)
    sign = _PARTS.get(rest)
    if sign is not None:
        return f"{whole or ''}{sign}"
    return f"{whole} {rest}" if whole else str(rest)


def played_again(rows: Iterable[tuple[str, int, int, object]]) -> dict[tuple[str, int], set[int]]:
    """For each later time through a part, its bars in which all goes as in those of the first time.

    Parameters
    ----------
    rows : of each thing that is done its part, the time through it (from 1), its bar, and what is done.
    """
    bars: dict[tuple[str, int], dict[int, list[object]]] = {}
    for part, turn, bar, done in rows:
        bars.setdefault((part, turn), {}).setdefault(bar, []).append(done)
    return {
        (part, turn): {bar for bar, done in here.items() if bars[part, 1].get(bar) == done}
        for (part, turn), here in bars.items()
        if turn > 1 and (part, 1) in bars
    }


def say_again(again: dict[tuple[str, int], set[int]], bars: Iterable[tuple[str, int, int]]) -> Iterator[str]:
    """A sentence for each later time through a part: that it goes as the first, but for which of its `bars`."""
    there: dict[tuple[str, int], set[int]] = {}
    for part, turn, bar in bars:
        there.setdefault((part, turn), set()).add(bar)
    for (part, turn), same in again.items():
        own = sorted(there[part, turn] - same)
        but = f", except bar{'s' if len(own) > 1 else ''} {', '.join(map(str, own))}" if own else ""
        yield f"{part} part, time {turn}: the same as time 1{but}."
