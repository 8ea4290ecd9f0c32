"""A box and a fingering on it, as values.

Conventions: buttons count from 1 at the chin end, low notes first; fingers are 1 (index) to 4 (little); a column is
a button's place along the keyboard, the same number on both rows where they lie half a button apart; `place` is the
column under the index finger.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from companion.tune.tune_values import Played


class Bellows(StrEnum):
    """The direction of the bellows."""

    PUSH = "push"
    PULL = "pull"


@dataclass(frozen=True, slots=True)
class Press:
    """One button in one direction of the bellows."""

    row: str
    button: int
    bellows: Bellows


@dataclass(frozen=True, slots=True)
class Row:
    """One row of buttons. `push` and `pull` hold a MIDI pitch a button (None: no reed).

    `offset` is how far along the keyboard button 1 lies, in buttons (0.5: half a button); rows are listed from the
    outside in, the one nearest to the bellows last.
    """

    name: str
    offset: float
    push: tuple[int | None, ...]
    pull: tuple[int | None, ...]


@dataclass(frozen=True, slots=True)
class BassButton:
    """One button of the left hand: the name of what it sounds, and its pitches, in each direction."""

    push: str
    pull: str
    push_pitches: tuple[int, ...]
    pull_pitches: tuple[int, ...]
    kind: str  # "bass" or "chord"


@dataclass(frozen=True, slots=True)
class Box:
    """A layout. `id` is the name of its file, `source` says where the layout comes from.

    `home` is the row on which the hand mostly plays, "" where it has none (on a B/C it is the C row).
    """

    id: str
    name: str
    rows: tuple[Row, ...]
    basses: tuple[BassButton, ...]
    source: str
    home: str = ""

    def pitch(self, press: Press) -> int | None:
        """What a press sounds, None where there is no such button or reed."""
        for row in self.rows:
            if row.name == press.row:
                side = row.push if press.bellows is Bellows.PUSH else row.pull
                return side[press.button - 1] if 1 <= press.button <= len(side) else None
        return None


@dataclass(frozen=True, slots=True)
class Fingered:
    """One note of a round with its press and finger.

    `place` is the column under the index finger (the fingers close up by half a button, so that going to and fro
    between the rows is no reach); `reach` the places by which the hand has just moved (signed, 0 on the first note of
    the round); `opening` how far the bellows are open after the note (0 shut to 1 full).
    """

    note: Played
    press: Press
    finger: int
    place: int
    reach: int
    opening: float


@dataclass(frozen=True, slots=True)
class Fingering:
    """A round fingered. Where `missing` is not empty the box has no reed for those pitches and `notes` is empty.

    `reaches` and `reversals` count within the round; `back_reach` and `back_turn` say what the hand and the bellows
    do between its last note and the first of the next round; `refused` has a sentence for each pin that cannot be.
    """

    box: Box
    notes: tuple[Fingered, ...]
    missing: tuple[int, ...]
    cost: float
    reaches: int
    reversals: int
    back_reach: int
    back_turn: bool
    refused: tuple[str, ...] = ()

    @property
    def playable(self) -> bool:
        """Whether the box has every note of the tune."""
        return not self.missing
