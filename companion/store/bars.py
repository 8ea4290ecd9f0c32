"""Which bar of the tune each note of a round lies in, as the record keeps it.

A bar is told by its part, its number in the part, and the time through the part where that time has a bar of its own
(a second ending); a pick-up belongs to the bar that it leads into, as in the pieces of a lesson.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from itertools import groupby

from companion.store.damage import Unsound, plain_of
from companion.tune.model import BarSpan, Round

MOST_NOTES = 100_000  # in a bar; more is damage


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


def to_text(bars: tuple[Bar, ...]) -> str:
    """As JSON: [part, number, time, how many notes] for each bar in the order of playing."""
    runs = [[bar.part, bar.number, bar.time, len(list(run))] for bar, run in groupby(bars)]
    return json.dumps(runs, ensure_ascii=False, separators=(",", ":"))


def from_text(text: str | None) -> tuple[Bar, ...]:
    """What `to_text` wrote; empty where there is nothing. Raises `Unsound` where it is none any more."""
    try:
        return tuple(
            Bar(str(part), int(number), int(time))
            for part, number, time, notes in plain_of(text or "[]")
            for _ in range(min(int(notes), MOST_NOTES))
        )
    except (TypeError, ValueError):
        raise Unsound("what was kept as bars is none any more") from None


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
