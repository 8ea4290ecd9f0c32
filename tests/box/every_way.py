"""Every way to play a short round and what each costs, worked out from `config/hand.toml`'s words alone.

Nothing of the search is used here, nor of what it is fed with: ways, times and costs are written a second time, as
plainly as can be, so that the two can be held against each other. Costs are thousandths, each part rounded by itself.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from itertools import product
from math import prod
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from companion.box.box_values import Box
from companion.box.hand_costs import Hand
from companion.tune.tune_values import OnceThrough


class Way(NamedTuple):
    """One way to play one note. `beside` is where the finger lies from the middle of its column, in buttons."""

    row: str
    button: int
    x: Fraction
    pull: bool
    finger: int
    place: int
    beside: Fraction


@cache
def ways(box: Box, pitch: int) -> list[Way]:
    """All of them: any button that sounds, any finger, any place over whose column that finger lies, or towards the
    middle of the hand from it by no more than three quarters of a button.
    """
    middle = Fraction(sum(row.offset % 1 for row in box.rows)) / len(box.rows)
    found = []
    for row, pull in product(box.rows, (False, True)):
        for index, sounds in enumerate(row.pull if pull else row.push):
            if sounds != pitch:
                continue
            x = index + 1 + Fraction(row.offset)
            for finger, place in product((1, 2, 3, 4), range(-8, 30)):
                beside = x - (place + finger - 1 + middle)
                inwards = beside > 0 if finger in (1, 2) else beside < 0
                if abs(beside) <= Fraction(1, 4) or (abs(beside) <= Fraction(3, 4) and inwards):
                    found.append(Way(row.name, index + 1, x, pull, finger, place, beside))
    return found


def how_many(round_: OnceThrough, box: Box) -> int:
    """How many ways there are to play a round."""
    return prod(len(ways(box, note.pitch)) for note in round_.notes)


def cheapest(round_: OnceThrough, box: Box, hand: Hand) -> int:
    """The least cost of them all, the way back into the next round included: each one is added up."""
    count = len(round_.notes)
    all_ways = [ways(box, note.pitch) for note in round_.notes]
    total = np.zeros([len(some) for some in all_ways], dtype=np.int32)
    for index in range(count):
        costs = _arriving(round_, box, hand, index, all_ways[index - 1], all_ways[index])
        if count == 1:
            total += costs.diagonal()
            continue
        shape = [1] * count
        before = (index - 1) % count
        shape[before], shape[index] = costs.shape
        total += (costs if before < index else costs.T).reshape(shape)
    return int(total.min())


def _arriving(
    round_: OnceThrough, box: Box, hand: Hand, index: int, come: list[Way], go: list[Way]
) -> npt.NDArray[np.int32]:
    """What it costs to get to a note, and to play it: a row for each way to play the one before."""
    time = _time(round_, hand, index)
    too_long = _too_long(round_, box, hand, index)
    itself = [_thousandths(_playing(round_, box, hand, index, b, too_long)) for b in go]
    moving = [[_thousandths(_moving(hand, a, b, *time)) for b in go] for a in come]
    return np.array(moving, dtype=np.int32) + np.array(itself, dtype=np.int32)


def _thousandths(parts: list[float]) -> int:
    return sum(round(1000 * part) for part in parts)


def _time(round_: OnceThrough, hand: Hand, index: int) -> tuple[float, float]:
    """The haste before a note (1 none to spare, 0 time for anything), and the part of a cost that a phrase leaves."""
    notes = round_.notes
    note, last = notes[index], notes[index - 1]
    apart = note.at - last.at + (round_.length if index == 0 else 0)
    rest = apart - last.length if apart > last.length else Fraction(0)
    seconds = float(apart + rest) * hand.whole_note
    haste = min(1.0, max(0.0, (hand.slow - seconds) / (hand.slow - hand.quick)))
    first_of_bar = index == 0 or last.bar != note.bar
    bars = list(dict.fromkeys(one.bar for one in notes[: index + 1]))  # the tests' rounds are one part without pick-up
    phrase = first_of_bar and len(bars) % 2 == 1
    return haste, hand.phrase if phrase else 1.0


def _moving(hand: Hand, a: Way, b: Way, haste: float, phrase: float) -> list[float]:
    ease = (hand.eased + (1 - hand.eased) * haste) * phrase
    moved = abs(b.place - a.place)
    parts = [hand.turn * ease] if a.pull != b.pull else []
    if (a.row, a.button) == (b.row, b.button):
        if a.finger != b.finger:
            whole = hand.place + hand.further * (moved - 1) if moved else 0.0
            return [*parts, hand.change, hand.carried * whole * ease]
        if a.pull == b.pull:
            parts.append(hand.again * haste)
    else:
        if a.finger == b.finger:
            parts.append(hand.hop * haste)
        if (b.x > a.x and b.finger < a.finger) or (b.x < a.x and b.finger > a.finger):
            parts.append(hand.cross * haste)
        if a.row != b.row:
            parts.append(hand.row * ease)
        too_wide = abs(b.beside - a.beside) - Fraction(1, 2)
        if too_wide > 0:
            parts.append(hand.stretch * int(2 * too_wide))
    if moved:
        parts += [hand.place * ease, hand.further * (moved - 1) * ease]
    return parts


def _playing(round_: OnceThrough, box: Box, hand: Hand, index: int, way: Way, too_long: float) -> list[float]:
    note = round_.notes[index]
    parts = [{1: 0.0, 2: 0.0, 3: hand.ring, 4: hand.little}[way.finger]]
    if note.ornaments:  # the tests' ornaments are rolls, which need a finger above and one below
        parts += [hand.little_ornament] if way.finger == 4 else [hand.untapped] if way.finger == 1 else []
    if box.home and way.row != box.home:
        parts.append(hand.side)
    if abs(way.beside) == Fraction(3, 4):
        parts.append(hand.lean)
    if way.place < 1:
        parts.append(hand.off * (1 - way.place))
    if too_long and (too_long > 0) == way.pull:
        parts.append(hand.air * abs(too_long) * float(note.length) * hand.whole_note)
    return parts


def _too_long(round_: OnceThrough, box: Box, hand: Hand, index: int) -> float:
    """By how many seconds the notes around one with two directions pull too long (negative: push)."""

    def directions(at: int) -> set[bool]:
        return {way.pull for way in ways(box, round_.notes[at].pitch)}

    if len(directions(index)) == 1:
        return 0.0
    around = Fraction(hand.reach_of_air / hand.whole_note)
    here, reach = round_.notes[index].at, around if around < round_.length else round_.length
    pulled = Fraction(0)
    for at, note in enumerate(round_.notes):
        only = directions(at)
        for turn in (-1, 0, 1):
            if len(only) == 1 and abs(note.at + turn * round_.length - here) <= reach:
                pulled += note.length if only == {True} else -note.length
    balance = float(pulled) * hand.whole_note
    beyond = round(2 * max(0.0, abs(balance) - hand.spare_air)) / 2
    return beyond if balance > 0 else -beyond
