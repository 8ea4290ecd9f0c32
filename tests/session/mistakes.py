"""The mistakes that a beginner makes with one press, and how each begins to be said at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from companion.box.box_values import Fingering
from companion.marking.causes import slips
from companion.marking.mark_values import Asked


@dataclass
class Mistake:
    """One wrong note in the first round of a step: the cause it should have, and how it begins to be said."""

    cause: str
    said: str


MISTAKES = (
    Mistake("other-direction", "You p"),
    Mistake("button-above", "One button too far: "),
    Mistake("button-below", "One button short: "),
    Mistake("other-row", "Wrong row: "),
    Mistake("next-note", "You skipped one: "),
)


def wrong_pitch(fingering: Fingering, asked: Sequence[Asked], k: int, cause: str) -> int | None:
    """What the mistake sounds in place of asked note `k`, where nothing else explains it."""
    found: dict[str, set[int | None]] = {
        name: {fingering.box.pitch(press) for press in presses}
        for name, presses in slips(fingering.box, fingering.notes[asked[k].index].press).items()
    }
    found["next-note"] = {asked[k + 1].pitch}
    found["note-before"] = {asked[k - 1].pitch}
    others = {pitch for name, pitches in found.items() if name != cause for pitch in pitches} | {asked[k].pitch, None}
    return min((pitch for pitch in found[cause] if pitch is not None and pitch not in others), default=None)
