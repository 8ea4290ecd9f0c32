"""What it costs to play a note with a finger, and to get from one note to the next.

Conventions: costs are whole thousandths (int), so that sums are exact and equal costs are equal; x is a button's true
place along the keyboard in buttons (number + offset); seconds are those of `Hand.whole_note`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor
from typing import NamedTuple

from companion.box.box_values import Bellows, Box, Press
from companion.box.hand_costs import Hand

FINGERS = (1, 2, 3, 4)
LITTLE = 4
_GIVE = 0.75  # how far from the middle of its column a finger reaches, in buttons


class HandState(NamedTuple):
    """One way to play a pitch: a press, the finger on it, and the place of the hand.

    `x` is the button's true place along the keyboard, `leans` whether the finger reaches beyond its own column for it,
    `row` the index of the row.
    """

    press: Press
    finger: int
    place: int
    x: float
    leans: bool
    row: int
    home: bool


@dataclass(frozen=True, slots=True)
class Gap:
    """What lies between the beginnings of two notes: the time there is, and whether a phrase starts."""

    seconds: float
    phrase: bool


def states_of(box: Box) -> dict[int, tuple[HandState, ...]]:
    """All ways to play each pitch that the box has; the row next to the bellows first, then by button and finger."""
    ways: dict[int, list[HandState]] = {}
    middle = sum(row.offset % 1 for row in box.rows) / len(box.rows)
    for index in reversed(range(len(box.rows))):
        row = box.rows[index]
        for bellows, side in ((Bellows.PUSH, row.push), (Bellows.PULL, row.pull)):
            for number, pitch in enumerate(side, start=1):
                if pitch is not None:
                    press, x, home = Press(row.name, number, bellows), number + row.offset, box.home in ("", row.name)
                    ways.setdefault(pitch, []).extend(
                        HandState(press, finger, place, x, leans, index, home)
                        for finger in FINGERS
                        for place, leans in _places(number + floor(row.offset), x - middle, finger)
                    )
    return {pitch: tuple(states) for pitch, states in ways.items()}


def _places(column: int, x: float, finger: int) -> tuple[tuple[int, bool], ...]:
    """The places from which a finger has a button, and whether it leans for it.

    A finger rests over the buttons of its column, one a row. Where the rows lie half a button apart, the fingers also
    close up: 1 and 2 lean on, 3 and 4 back, to the nearest button of the next column. `x` is where the button lies,
    measured from the middle of a column.
    """
    own = column - (finger - 1)
    closed = own - 1 if finger <= FINGERS[-1] // 2 else own + 1
    return ((own, False), (closed, True)) if abs(x - (finger - 1) - closed) <= _GIVE else ((own, False),)


class FingerNeeds(NamedTuple):
    """On which sides of a note its ornament needs a finger."""

    above: bool
    below: bool


PLAIN = FingerNeeds(False, False)


def note_parts(state: HandState, wanted: FingerNeeds, hand: Hand) -> dict[str, float]:
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
    if state.leans:
        parts["lean"] = hand.lean
    if state.place < 1:
        parts["off"] = hand.off * (1 - state.place)
    return parts


class HandMove(NamedTuple):
    """What the hand and the bellows do between two notes, whatever the time for it.

    `moved` is by how many places the hand goes, `stretch` by how many half buttons the two fingers then lie wider or
    closer than is easy (half a button is); `change`: the finger changes on one button; `again`: it does not, and plays
    the same note again.
    """

    hop: bool
    cross: bool
    change: bool
    again: bool
    moved: int
    stretch: int
    row: bool
    turn: bool


def step_of(before: HandState, after: HandState) -> HandMove:
    """What the hand and the bellows do from one note to the next."""
    same_finger, moved = before.finger == after.finger, abs(after.place - before.place)
    turn = before.press.bellows is not after.press.bellows
    if before.row == after.row and before.x == after.x:
        return HandMove(False, False, not same_finger, same_finger and not turn, moved, 0, False, turn)
    along, spread = after.x - before.x, after.finger - before.finger
    wide = abs(along - spread - (after.place - before.place))
    stretch = max(0, round(2 * wide) - 1)
    return HandMove(same_finger, along * spread < 0, False, False, moved, stretch, before.row != after.row, turn)


def priced(step: HandMove, gap: Gap, hand: Hand) -> dict[str, float]:
    """What a step costs with the time there is for it, by name."""
    parts: dict[str, float] = {}
    haste = _haste(gap.seconds, hand)
    ease = (hand.eased + (1 - hand.eased) * haste) * (hand.phrase if gap.phrase else 1.0)
    if step.hop:
        parts["hop"] = hand.hop * haste
    if step.cross:
        parts["cross"] = hand.cross * haste
    if step.again and hand.again:
        parts["again"] = hand.again * haste
    if step.change:
        parts["change"] = hand.change
        parts["carried"] = hand.carried * sum(move_parts(step.moved, hand).values()) * ease
    else:
        parts |= {name: cost * ease for name, cost in move_parts(step.moved, hand).items()}
    if step.stretch:
        parts["stretch"] = hand.stretch * step.stretch
    if step.row:
        parts["row"] = hand.row * ease
    if step.turn:
        parts["turn"] = hand.turn * ease
    return parts


def step_parts(before: HandState, after: HandState, gap: Gap, hand: Hand) -> dict[str, float]:
    """What it costs to get from one note to the next, by name."""
    return priced(step_of(before, after), gap, hand)


def move_parts(places: int, hand: Hand) -> dict[str, float]:
    """What it costs to move the hand by so many places, with no time to spare."""
    return {"place": hand.place, "further": hand.further * (places - 1)} if places else {}


def air_part(state: HandState, drift: float, seconds: float, hand: Hand) -> dict[str, float]:
    """What the direction costs in air on a note of `seconds`; `drift` as from :func:`companion.box.air.imbalances`."""
    same_way = drift > 0 if state.press.bellows is Bellows.PULL else drift < 0
    return {"air": hand.air * abs(drift) * seconds} if same_way else {}


def _haste(seconds: float, hand: Hand) -> float:
    """1 where there is no time to spare, 0 where there is time for anything, evenly in between."""
    return min(1.0, max(0.0, (hand.slow - seconds) / (hand.slow - hand.quick)))


def thousandths(parts: dict[str, float]) -> int:
    """The sum of the parts in whole thousandths, each part rounded by itself."""
    return sum(round(1000 * cost) for cost in parts.values())
