"""Which bar of its part each note of a round lies in: "B bar 1", as the pieces of a lesson are called.

A bar is told by its part, its number in the part, and the time through the part where that time has a bar of its own
(a second ending); a pick-up belongs to the bar that it leads into.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from companion.tune.model import BarSpan, Round


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar of a tune: the part's letter, the number in the part (from 1), which time's own bar it is (1: any)."""

    part: str
    number: int
    time: int

    @property
    def name(self) -> str:
        """What the bar is called as a piece."""
        return f"{self.part} bar {self.number}" + (f", time {self.time}" if self.time > 1 else "")


def bars_of(round_: Round) -> tuple[Bar, ...]:
    """The bar of each note of a round."""
    begun = _notes_begun(round_)
    written: dict[tuple[str, int], int] = {}  # the written bar that a part and a number stood for the first time
    found: list[Bar] = []
    for (part, turn), group in groupby(
        zip(round_.bars, begun, strict=True), key=lambda one: (one[0].part, one[0].turn)
    ):
        for number, (bar, notes) in enumerate(_cells(list(group)), 1):
            first = written.setdefault((part, number), bar)
            found += [Bar(part, number, 1 if first == bar else turn)] * notes
    return tuple(found)


def in_pickup(round_: Round) -> tuple[bool, ...]:
    """Whether each note of a round lies in a pick-up: in a bar that opens a part and is shorter than the next."""
    found: list[bool] = []
    opens = None
    for place, (span, notes) in enumerate(zip(round_.bars, _notes_begun(round_), strict=True)):
        here = span.part, span.turn
        after = round_.bars[place + 1] if place + 1 < len(round_.bars) else None
        short = after is not None and (after.part, after.turn) == here and span.length < after.length
        found += [here != opens and short] * notes
        opens = here
    return tuple(found)


def _notes_begun(round_: Round) -> list[int]:
    """How many notes begin in each bar of the round."""
    counts = []
    index = 0
    for span in round_.bars:
        first = index
        while index < len(round_.notes) and round_.notes[index].at < span.at + span.length:
            index += 1
        counts.append(index - first)
    return counts


def _cells(bars: list[tuple[BarSpan, int]]) -> list[tuple[int, int]]:
    """Written bar and notes of each bar in which a note begins, the pick-up with the bar that it leads into."""
    if len(bars) > 1 and bars[0][0].length < bars[1][0].length:
        bars = [(bars[1][0], bars[0][1] + bars[1][1]), *bars[2:]]
    return [(span.bar, notes) for span, notes in bars if notes]
