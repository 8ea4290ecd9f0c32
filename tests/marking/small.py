"""Small takes by hand: even quavers at 120 crotchets a minute (0.25 s each), and any fingering that sounds them."""

from __future__ import annotations

from fractions import Fraction

from companion.box.box_values import Bellows, Fingered, Fingering, Press
from companion.box.layout import load_box
from companion.marking.mark_values import Asked, Heard, Marks
from companion.timeline import Timeline
from companion.tune.tune_values import Played
from tests.marking.tunes import QUAVER

BEAT = Fraction(1, 4)
LINE = Timeline(120.0, BEAT)
BOX = load_box("bc-21")
PRESSES = {
    pitch: press
    for row in reversed(BOX.rows)
    for button in range(len(row.push), 0, -1)
    for bellows in Bellows
    if (pitch := BOX.pitch(press := Press(row.name, button, bellows))) is not None
}


def fingered(asked: tuple[Asked, ...]) -> Fingering:
    """Any press that gives each pitch: what the causes need of a fingering."""
    notes = tuple(
        Fingered(
            Played(k, "A", 1, 1 + int(a.at / Fraction(3, 4)), a.at, a.length, a.pitch),
            PRESSES.get(a.pitch, PRESSES[62]),
            1,
            3,
            0,
            0.5,
        )
        for k, a in enumerate(asked)
    )
    return Fingering(BOX, notes, (), 0.0, 0, 0, 0, False)


def asked_for(*pitches: int) -> tuple[Asked, ...]:
    """Even quavers."""
    return tuple(Asked(k, k * QUAVER, QUAVER, pitch) for k, pitch in enumerate(pitches))


def played(*notes: tuple[float, int], length: float = 0.2) -> tuple[Heard, ...]:
    """Notes (seconds, pitch), in that order."""
    return tuple(Heard(at, pitch, end=at + length) for at, pitch in notes)


def told(marks: Marks) -> list[tuple[int | None, int | None, str]]:
    """Written, heard and verdict of each note."""
    return [(n.written, n.heard, n.verdict.value) for n in marks.notes]
