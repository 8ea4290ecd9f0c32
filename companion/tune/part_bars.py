"""Which bar of its part each note of a round lies in: "B bar 1", as the pieces of a lesson are called.

A bar is told by its part, its number in the part, and the time through the part where that time has a bar of its own
(a second ending); a pick-up belongs to the bar that it leads into.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain, groupby, pairwise

from companion.tune.tune_values import BarSpan, OnceThrough


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


def bars_of(round_: OnceThrough) -> tuple[Bar, ...]:
    """The bar of each note of a round."""
    begun = _notes_begun(round_)
    written: dict[tuple[str, int], int] = {}  # the written bar that a part and a number stood for the first time
    found: list[Bar] = []
    for (part, turn), group in groupby(
        zip(round_.bars, begun, pickups(round_), strict=True), key=lambda one: (one[0].part, one[0].turn)
    ):
        for number, (bar, notes) in enumerate(_cells(list(group)), 1):
            first = written.setdefault((part, number), bar)
            found += [Bar(part, number, 1 if first == bar else turn)] * notes
    return tuple(found)


def bar_spans(round_: OnceThrough) -> dict[Bar, tuple[int, int]]:
    """Each bar's first and last note, as it stands in a round for the first time."""
    spans: dict[Bar, tuple[int, int]] = {}
    turns: dict[Bar, int] = {}
    for k, (bar, note) in enumerate(zip(bars_of(round_), round_.notes, strict=True)):
        if turns.setdefault(bar, note.turn) == note.turn:
            spans[bar] = spans.get(bar, (k, k))[0], k
    return spans


def pickups(round_: OnceThrough) -> tuple[bool, ...]:
    """Whether each bar of a round is a pick-up: it opens a part, and is shorter than the bar after it."""
    found = []
    opened = None
    for span, after in pairwise((*round_.bars, None)):
        assert span is not None
        here = span.part, span.turn
        short = after is not None and (after.part, after.turn) == here and span.length < after.length
        found.append(here != opened and short)
        opened = here
    return tuple(found)


def in_pickup(round_: OnceThrough) -> tuple[bool, ...]:
    """Whether each note of a round begins in a pick-up."""
    bars = zip(pickups(round_), _notes_begun(round_), strict=True)
    return tuple(chain.from_iterable([short] * notes for short, notes in bars))


def _notes_begun(round_: OnceThrough) -> list[int]:
    """How many notes begin in each bar of the round."""
    counts = []
    index = 0
    for span in round_.bars:
        first, end = index, span.at + span.length
        while index < len(round_.notes) and round_.notes[index].at < end:
            index += 1
        counts.append(index - first)
    return counts


def _cells(bars: list[tuple[BarSpan, int, bool]]) -> list[tuple[int, int]]:
    """Written bar and notes of each bar in which a note begins, the pick-up with the bar that it leads into."""
    (_, before, short), *others = bars
    if short:
        (span, notes, _), *rest = others
        bars = [(span, before + notes, False), *rest]
    return [(span.bar, notes) for span, notes, _ in bars if notes]
