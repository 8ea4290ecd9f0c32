"""What it costs to play a note with a finger, and to get from one note to the next.

Conventions: costs are whole thousandths (int), so that sums are exact and equal costs are equal; x is a button's true
place along the keyboard in buttons (number + offset); seconds are those of `Hand.whole_note`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor
from typing import NamedTuple

from companion.box.hand import Hand
from companion.box.model import Bellows, Box, Press

FINGERS = (1, 2, 3, 4)
LITTLE = 4


class State(NamedTuple):
    """One way to play a pitch: a press and the finger on it."""

    press: Press
    finger: int
    x: float
    column: int
    row: int
    home: bool

    @property
    def place(self) -> int:
        """The column under the index finger."""
        return self.column - (self.finger - 1)


@dataclass(frozen=True, slots=True)
class Gap:
    """What lies between the beginnings of two notes: the time there is, and whether a phrase starts."""

    seconds: float
    phrase: bool


def states_of(box: Box) -> dict[int, tuple[State, ...]]:
    """All ways to play each pitch that the box has; the row next to the bellows first, then by button and finger."""
    ways: dict[int, list[State]] = {}
    for index in reversed(range(len(box.rows))):
        row = box.rows[index]
        for bellows, side in ((Bellows.PUSH, row.push), (Bellows.PULL, row.pull)):
            for number, pitch in enumerate(side, start=1):
                if pitch is not None:
                    press, column = Press(row.name, number, bellows), number + floor(row.offset)
                    ways.setdefault(pitch, []).extend(
                        State(press, finger, number + row.offset, column, index, box.home in ("", row.name))
                        for finger in FINGERS
                    )
    return {pitch: tuple(states) for pitch, states in ways.items()}


class Wanted(NamedTuple):
    """On which sides of a note its ornament needs a finger."""

    above: bool
    below: bool


PLAIN = Wanted(False, False)


def note_parts(state: State, wanted: Wanted, hand: Hand) -> dict[str, float]:
    """What the note itself costs, by name."""
    parts: dict[str, float] = {}
    if state.finger == LITTLE:
        parts["little"] = hand.little
        if wanted.above or wanted.below:
            parts["little_ornament"] = hand.little_ornament
    elif state.finger == LITTLE - 1:
        parts["ring"] = hand.ring
    elif state.finger == 1 and wanted.below:
        parts["untapped"] = hand.untapped
    if not state.home:
        parts["side"] = hand.side
    if state.place < 1:
        parts["off"] = hand.off * (1 - state.place)
    return parts


def step_parts(before: State, after: State, gap: Gap, hand: Hand) -> dict[str, float]:
    """What it costs to get from one note to the next, by name."""
    parts: dict[str, float] = {}
    haste = _haste(gap.seconds, hand)
    ease = (hand.eased + (1 - hand.eased) * haste) * (hand.phrase if gap.phrase else 1.0)
    same_button = before.press.row == after.press.row and before.press.button == after.press.button
    same_finger = before.finger == after.finger
    if same_button:
        if not same_finger:
            parts["change"] = hand.change
            parts["carried"] = hand.carried * abs(after.place - before.place)
    else:
        along = after.x - before.x
        spread = after.finger - before.finger
        if same_finger:
            parts["hop"] = hand.hop * haste
        elif along * spread < 0:
            parts["cross"] = hand.cross * haste
        parts |= {name: cost * ease for name, cost in move_parts(abs(along - spread), hand).items()}
        if before.row != after.row:
            parts["row"] = hand.row * ease
    if before.press.bellows is not after.press.bellows:
        parts["turn"] = hand.turn * ease
    return parts


def air_part(state: State, drift: float, seconds: float, hand: Hand) -> dict[str, float]:
    """What the direction costs in air on a note of `seconds`; `drift` as from :func:`companion.box.air.imbalances`."""
    same_way = drift > 0 if state.press.bellows is Bellows.PULL else drift < 0
    return {"air": hand.air * abs(drift) * seconds} if same_way else {}


def move_parts(distance: float, hand: Hand) -> dict[str, float]:
    """What it costs to move the hand by `distance` buttons (halves between the rows), with no time to spare."""
    if distance == 0:
        return {}
    if distance < 1:
        return {"half": hand.half}
    return {"place": hand.place, "further": hand.further * (distance - 1)}


def _haste(seconds: float, hand: Hand) -> float:
    """1 where there is no time to spare, 0 where there is time for anything, evenly in between."""
    return min(1.0, max(0.0, (hand.slow - seconds) / (hand.slow - hand.quick)))


def thousandths(parts: dict[str, float]) -> int:
    """The sum of the parts in whole thousandths, each part rounded by itself."""
    return sum(round(1000 * cost) for cost in parts.values())
