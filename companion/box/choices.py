"""What is open to the hand on each note of a round, and what each step costs: the ring that is searched."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from companion.box.air import imbalances
from companion.box.box_values import Bellows, Box
from companion.box.costs import (
    PLAIN,
    FingerNeeds,
    Gap,
    HandMove,
    HandState,
    air_part,
    note_parts,
    priced,
    states_of,
    step_of,
    thousandths,
)
from companion.box.hand_costs import Hand
from companion.box.ornaments import OrnamentTable, wanted
from companion.box.pins import Pin
from companion.box.pitch_names import name_of
from companion.box.search import Matrix
from companion.box.times import Times, times_of
from companion.tune.part_bars import bars_of
from companion.tune.tune_values import OnceThrough, Played

Column = tuple[HandState, ...]


@dataclass(frozen=True, slots=True)
class Choices:
    """A round on a box, laid out for the search.

    `columns` holds the ways to play each note, `gaps` what lies before each note, `drift` the seconds by which the
    notes around each one pull more than they push, `matrices` the cost of each step to the next note (the last one:
    back to the first), `times` when the notes are, `wants` where their ornaments need fingers, `refused` a
    sentence for each pin that cannot be.
    """

    columns: tuple[Column, ...]
    gaps: tuple[Gap, ...]
    drift: tuple[float, ...]
    matrices: tuple[Matrix, ...]
    times: Times
    wants: tuple[FingerNeeds, ...]
    refused: tuple[str, ...]


class StateTable:
    """The states of a box, and the cost matrices of single steps, each worked out once."""

    def __init__(self, box: Box, hand: Hand) -> None:
        self.states = states_of(box)
        self.hand = hand
        # The one direction in which a pitch can be had; None where there are two. Pins change nothing in this, so that
        # what a fingering costs does not depend on them.
        self.only_way: dict[int, Bellows | None] = {}
        for pitch, column in self.states.items():
            ways = {state.press.bellows for state in column}
            self.only_way[pitch] = ways.pop() if len(ways) == 1 else None
        self._matrices: dict[tuple[int, int, float, bool, FingerNeeds], Matrix] = {}
        self._steps: dict[tuple[int, int], list[list[HandMove]]] = {}
        self._notes: dict[tuple[int, FingerNeeds], list[int]] = {}
        self._prices: dict[Gap, dict[HandMove, int]] = {}

    def step(self, before: int, after: int, gap: Gap, want: FingerNeeds) -> Matrix:
        """The costs from every state of the pitch `before` to every state of the pitch `after`, which they include."""
        key = (before, after, gap.seconds, gap.phrase, want)
        matrix = self._matrices.get(key)
        if matrix is None:
            matrix = self._matrices[key] = [
                [self._price(step, gap) + itself for step in steps]
                for steps, itself in zip(self.steps(before, after), self._itself(after, want), strict=True)
            ]
        return matrix

    def steps(self, before: int, after: int) -> list[list[HandMove]]:
        """What each step between the states of two pitches is."""
        if (before, after) not in self._steps:
            come = self.states[before]
            self._steps[before, after] = [[step_of(state, go) for state in come] for go in self.states[after]]
        return self._steps[before, after]

    def _itself(self, pitch: int, want: FingerNeeds) -> list[int]:
        """What each state of a pitch costs by itself."""
        if (pitch, want) not in self._notes:
            self._notes[pitch, want] = [thousandths(note_parts(state, want, self.hand)) for state in self.states[pitch]]
        return self._notes[pitch, want]

    def _price(self, step: HandMove, gap: Gap) -> int:
        """What a step costs with the time there is: there are few kinds of step, so each is priced once."""
        prices = self._prices.setdefault(gap, {})
        price = prices.get(step)
        if price is None:
            price = prices[step] = thousandths(priced(step, gap, self.hand))
        return price


@lru_cache(maxsize=16)
def table_of(box: Box, hand: Hand) -> StateTable:
    """The table of a box and a hand, kept from one tune to the next."""
    return StateTable(box, hand)


def choices(round_: OnceThrough, table: StateTable, ornaments: OrnamentTable, pins: Iterable[Pin] = ()) -> Choices:
    """The ring of a round whose pitches the box all has."""
    notes, hand = round_.notes, table.hand
    columns, refused = _columns(notes, table, pins)
    times = times_of(round_, hand.whole_note)
    gaps = gaps_of(round_, times)
    ways = [table.only_way[note.pitch] for note in notes]
    drift = imbalances(times, ways, hand)
    wants = [wanted(n.ornaments, float(n.length), ornaments) if n.ornaments else PLAIN for n in notes]
    matrices = _matrices(notes, gaps, drift, columns, times, wants, table)
    return Choices(tuple(columns), tuple(gaps), tuple(drift), tuple(matrices), times, tuple(wants), refused)


def gaps_of(round_: OnceThrough, times: Times) -> list[Gap]:
    """What lies before each note of the round, and before its first from the last of the round before."""
    found = []
    known: dict[tuple[int, bool], Gap] = {}
    before, length = times.starts[-1] - times.lap, times.lengths[-1]
    for start, lasts, phrase in zip(times.starts, times.lengths, phrase_starts(round_), strict=True):
        apart = start - before
        rest = max(0, apart - length)
        key = (apart + rest, phrase)  # a rest counts twice: the hand is free in it
        if key not in known:
            known[key] = Gap(times.seconds(apart + rest), phrase)
        found.append(known[key])
        before, length = start, lasts
    return found


def phrase_starts(round_: OnceThrough) -> list[bool]:
    """For each note whether a phrase starts on it: the first note of a part, and of every second bar from there.

    Two bars to a phrase is common practice (four phrases to a part of eight bars). A pick-up belongs to the bar after
    it, and begins its phrase.
    """
    starts = []
    before = None
    for note, bar in zip(round_.notes, bars_of(round_), strict=True):
        here = note.part, note.turn, bar.number
        starts.append(here != before and bar.number % 2 == 1)
        before = here
    return starts


def _columns(notes: Sequence[Played], table: StateTable, pins: Iterable[Pin]) -> tuple[list[Column], tuple[str, ...]]:
    """The states open to each note, and a sentence for each pin that cannot be."""
    pinned = {pin.written: pin for pin in pins}
    refused: dict[str, None] = {}
    columns: list[Column] = []
    kept_columns: dict[tuple[Column, Pin], Column] = {}
    for note in notes:
        states = table.states[note.pitch]
        if note.finger is None and not pinned:
            columns.append(states)
            continue
        own = Pin(note.written, finger=note.finger) if note.finger is not None else None
        for pin in (pinned.get(note.written), own):
            if pin is None:
                continue
            kept = kept_columns.setdefault((states, pin), tuple(state for state in states if pin.allows(state)))
            if kept:
                states = kept
            else:
                refused[_refusal(note, pin, table.states[note.pitch])] = None
        columns.append(states)
    return columns, tuple(refused)


def _refusal(note: Played, pin: Pin, states: Column) -> str:
    ways = dict.fromkeys(f"row {s.press.row}, button {s.press.button}, {s.press.bellows.value}" for s in states)
    return (
        f"note {note.written + 1} ({name_of(note.pitch)}, bar {note.bar}) cannot be played as pinned ({pin.words()}): "
        f"this box has it on {' or '.join(ways)}, for fingers 1 to 4; the pin is left out, so change or remove it"
    )


def _matrices(
    notes: Sequence[Played],
    gaps: Sequence[Gap],
    drift: Sequence[float],
    columns: Sequence[Column],
    times: Times,
    wants: Sequence[FingerNeeds],
    table: StateTable,
) -> list[Matrix]:
    """The cost matrix from each note to the next, the last one back to the first."""
    found: list[Matrix] = []
    changed: dict[tuple[int, int, int, float, int], Matrix] = {}
    for index, note in enumerate(notes):
        following = (index + 1) % len(notes)
        after = notes[following]
        matrix = table.step(note.pitch, after.pitch, gaps[following], wants[following])
        come, go = columns[index], columns[following]
        every_come, every_go = table.states[note.pitch], table.states[after.pitch]
        if drift[following] or come is not every_come or go is not every_go:
            length = times.lengths[following]
            key = (id(matrix), id(come), id(go), drift[following], length)
            if key not in changed:
                air = drift[following], times.seconds(length)
                changed[key] = _changed(matrix, (every_come, come), (every_go, go), air, table.hand)
            matrix = changed[key]
        found.append(matrix)
    return found


def _changed(
    matrix: Matrix, come: tuple[Column, Column], go: tuple[Column, Column], air: tuple[float, float], hand: Hand
) -> Matrix:
    """The part of a matrix for the states that pins leave (of all there are), with the price of air on it."""
    kept_come = [come[0].index(state) for state in come[1]]
    rows = []
    for state in go[1]:
        price = thousandths(air_part(state, *air, hand))
        row = matrix[go[0].index(state)]
        rows.append([row[i] + price for i in kept_come])
    return rows
