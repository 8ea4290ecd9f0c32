"""The fingering of a round: for every note the button, the direction of the bellows, the finger and the hand's place.

The cheapest of all fingerings of the round and of the way back into the next one, under the costs of
`config/hand.toml`: an exact search, see `companion.box.search`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from companion.box.bellows import openings
from companion.box.costs import Gap, State, note_parts, states_of, step_parts, thousandths
from companion.box.hand import Hand, load_hand
from companion.box.model import Bellows, Box, Fingered, Fingering
from companion.box.pitch_names import name_of
from companion.box.search import Matrix, cheapest_ring
from companion.tune.model import Played, Round


@dataclass(frozen=True, slots=True)
class Pin:
    """What a tutor wants of one written note (`written` is its index in the tune); None leaves it open."""

    written: int
    row: str | None = None
    button: int | None = None
    bellows: Bellows | None = None
    finger: int | None = None

    def allows(self, state: State) -> bool:
        """Whether a way to play the note is as the pin asks."""
        return (
            self.row in (None, state.press.row)
            and self.button in (None, state.press.button)
            and self.bellows in (None, state.press.bellows)
            and self.finger in (None, state.finger)
        )

    def words(self) -> str:
        """The pin in words: "row C, button 5, pull, finger 2"."""
        parts = [
            f"row {self.row}" if self.row is not None else "",
            f"button {self.button}" if self.button is not None else "",
            self.bellows.value if self.bellows is not None else "",
            f"finger {self.finger}" if self.finger is not None else "",
        ]
        return ", ".join(part for part in parts if part)


def finger_round(round_: Round, box: Box, hand: Hand | None = None, pins: Iterable[Pin] = ()) -> Fingering:
    """The cheapest fingering of a round on a box, and back into the next round.

    Parameters
    ----------
    round_ : the tune, unfolded.
    box : the layout.
    hand : the costs; those of `config/hand.toml` where None.
    pins : what a tutor wants of single notes; stands above the fingers that the tune itself asks for. A pin that
        cannot be is left out and named in `Fingering.refused`.

    Returns
    -------
    The fingering; with `missing` and no notes where the box lacks a pitch.
    """
    hand = hand if hand is not None else load_hand()
    notes = round_.notes
    table = _table(box, hand)
    missing = tuple(sorted({note.pitch for note in notes} - table.states.keys()))
    if missing or not notes:
        return Fingering(box, (), missing, 0.0, 0, 0, 0, False)
    columns, refused = _columns(notes, table, pins)
    matrices = _matrices(notes, gaps(round_, hand), columns, table)
    cost, path = cheapest_ring(matrices)
    states = [column[index] for column, index in zip(columns, path, strict=True)]
    return _fingering(round_, box, hand, states, cost, refused)


def gaps(round_: Round, hand: Hand) -> list[Gap]:
    """What lies before each note of the round, and before its first from the last of the round before."""
    notes = round_.notes
    starts = phrase_starts(notes)
    found = []
    for index, note in enumerate(notes):
        before = notes[index - 1]
        apart = note.at - before.at if index else note.at + round_.length - before.at
        rest = max(apart - before.length, Fraction(0))
        found.append(Gap(float(apart + rest) * hand.whole_note, starts[index]))
    return found


def phrase_starts(notes: Sequence[Played]) -> list[bool]:
    """For each note whether a phrase starts on it: the first note of a part, and of every second bar from there.

    Two bars to a phrase is common practice (four phrases to a part of eight bars).
    """
    starts = []
    part, bar, bars = None, None, 0
    for note in notes:
        if (note.part, note.turn) != part:
            part, bar, bars = (note.part, note.turn), note.bar, 0 if note.bar == 0 else 1
            starts.append(True)
        elif note.bar != bar:
            bar, bars = note.bar, bars + 1
            starts.append(bars % 2 == 1)
        else:
            starts.append(False)
    return starts


class _Table:
    """The states of a box, and the cost matrices of single steps, each worked out once."""

    def __init__(self, box: Box, hand: Hand) -> None:
        self.states = states_of(box)
        self.hand = hand
        self.innermost = len(box.rows) - 1
        self._steps: dict[tuple[int, int, Gap, bool], Matrix] = {}

    def step(self, before: int, after: int, gap: Gap, ornamented: bool) -> Matrix:
        """The costs from every state of the pitch `before` to every state of the pitch `after`, which they include."""
        key = (before, after, gap, ornamented)
        matrix = self._steps.get(key)
        if matrix is None:
            matrix = self._steps[key] = [
                [
                    thousandths(step_parts(come, go, gap, self.hand))
                    + thousandths(note_parts(go, ornamented, self.hand, self.innermost))
                    for come in self.states[before]
                ]
                for go in self.states[after]
            ]
        return matrix


@lru_cache(maxsize=16)
def _table(box: Box, hand: Hand) -> _Table:
    return _Table(box, hand)


def _columns(
    notes: Sequence[Played], table: _Table, pins: Iterable[Pin]
) -> tuple[list[tuple[State, ...]], tuple[str, ...]]:
    """The states open to each note, and a sentence for each pin that cannot be."""
    pinned = {pin.written: pin for pin in pins}
    refused: dict[str, None] = {}
    columns = []
    for note in notes:
        states = table.states[note.pitch]
        for pin in (
            pinned.get(note.written),
            Pin(note.written, finger=note.finger) if note.finger is not None else None,
        ):
            if pin is None or (kept := tuple(state for state in states if pin.allows(state))) == states:
                continue
            if kept:
                states = kept
            else:
                refused[_refusal(note, pin, table.states[note.pitch])] = None
        columns.append(states)
    return columns, tuple(refused)


def _refusal(note: Played, pin: Pin, states: Sequence[State]) -> str:
    ways = dict.fromkeys(f"row {s.press.row}, button {s.press.button}, {s.press.bellows.value}" for s in states)
    return (
        f"note {note.written + 1} ({name_of(note.pitch)}, bar {note.bar}) cannot be played as pinned ({pin.words()}): "
        f"this box has it on {' or '.join(ways)}, for fingers 1 to 4; the pin is left out, so change or remove it"
    )


def _matrices(
    notes: Sequence[Played], spaces: Sequence[Gap], columns: Sequence[tuple[State, ...]], table: _Table
) -> list[Matrix]:
    """The cost matrix from each note to the next, the last one back to the first."""
    found = []
    for index, note in enumerate(notes):
        following = (index + 1) % len(notes)
        after = notes[following]
        matrix = table.step(note.pitch, after.pitch, spaces[following], bool(after.ornaments))
        come, go = columns[index], columns[following]
        every_come, every_go = table.states[note.pitch], table.states[after.pitch]
        if come is not every_come or go is not every_go:
            matrix = [[matrix[every_go.index(g)][every_come.index(c)] for c in come] for g in go]
        found.append(matrix)
    return found


def _fingering(
    round_: Round, box: Box, hand: Hand, states: Sequence[State], cost: int, refused: tuple[str, ...]
) -> Fingering:
    """The found states as a `Fingering`."""
    seconds = [float(note.length) * hand.whole_note for note in round_.notes]
    opening = openings([state.press.bellows for state in states], seconds)
    reaches = [0] + [b.place - a.place for a, b in pairwise(states)]
    turns = [a.press.bellows is not b.press.bellows for a, b in pairwise(states)]
    fingered = tuple(
        Fingered(note, state.press, state.finger, state.place, reach, opened)
        for note, state, reach, opened in zip(round_.notes, states, reaches, opening, strict=True)
    )
    return Fingering(
        box=box,
        notes=fingered,
        missing=(),
        cost=cost / 1000,
        reaches=sum(reach != 0 for reach in reaches),
        reversals=sum(turns),
        back_reach=states[0].place - states[-1].place,
        back_turn=states[0].press.bellows is not states[-1].press.bellows,
        refused=refused,
    )
