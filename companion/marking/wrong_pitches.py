"""What a slip of the hand, or of the place in the tune, would sound instead of the written note.

Positions count in the notes asked for; pitches are MIDI numbers, None where there is none.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from companion.box.box_values import Bellows, Box, Fingered, Press
from companion.marking.mark_values import Asked, NoteMark, Verdict


@dataclass(frozen=True, slots=True)
class AskedRound:
    """What was asked, the marks of its notes and how they are fingered, both by index into the round."""

    asked: Sequence[Asked]
    marks: Mapping[int, NoteMark]
    held: Mapping[int, Fingered]


def other_direction(_box: Box, press: Press) -> list[Press]:
    """The same button, with the bellows going the other way."""
    other = Bellows.PULL if press.bellows is Bellows.PUSH else Bellows.PUSH
    return [Press(press.row, press.button, other)]


def button_below(_box: Box, press: Press) -> list[Press]:
    """The next button towards the chin."""
    return [Press(press.row, press.button - 1, press.bellows)]


def button_above(_box: Box, press: Press) -> list[Press]:
    """The next button away from the chin."""
    return [Press(press.row, press.button + 1, press.bellows)]


def other_row(box: Box, press: Press) -> list[Press]:
    """The one or two buttons beside it in the other row."""
    column = next((row.offset + press.button for row in box.rows if row.name == press.row), None)
    return [
        Press(row.name, button, press.bellows)
        for row in box.rows
        if row.name != press.row and column is not None
        for button in range(1, len(row.push) + 1)
        if abs(row.offset + button - column) <= 0.5
    ]


def next_note(given: AskedRound, k: int) -> int | None:
    """The pitch asked for after note `k`."""
    return given.asked[k + 1].pitch if k + 1 < len(given.asked) else None


def next_is_missing(given: AskedRound, k: int) -> bool:
    """Whether the note after `k` was left out, which bears out that it came too early."""
    follows = given.marks.get(given.asked[k + 1].index)
    return follows is not None and follows.verdict is Verdict.MISSED


def note_before(given: AskedRound, k: int) -> int | None:
    """The pitch asked for before note `k`."""
    return given.asked[k - 1].pitch if k else None


def bar_before(given: AskedRound, k: int) -> int | None:
    """The pitch asked at the same place in the bar before; None too where the bars are not known."""
    starts: dict[tuple[str, int, int], Fraction] = {}
    keys = []
    for note in given.asked:
        fingered = given.held.get(note.index)
        if fingered is None:
            return None
        played = fingered.note
        key = (played.part, played.turn, played.bar)
        keys.append(key)
        starts.setdefault(key, note.at)
    bars = list(starts)
    here = bars.index(keys[k])
    if here == 0:
        return None
    # The bar before ends where this one starts: the same distance from its own start (a pick-up has none).
    wanted = starts[bars[here - 1]] + given.asked[k].at - starts[keys[k]]
    for note, key in zip(given.asked, keys, strict=True):
        if key == bars[here - 1] and note.at == wanted:
            return note.pitch
    return None
