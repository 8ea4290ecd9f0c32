"""From a piece laid out in time to the notes that the player is asked for."""

from __future__ import annotations

from companion.hearing.model import Asked
from companion.lesson.stretch import Stretch


def asked_of(laid: Stretch) -> tuple[Asked, ...]:
    """The notes of a piece, as they are asked for."""
    return tuple(
        Asked(
            placed.index, placed.at, placed.note.length, placed.note.pitch, placed.note.ornaments, placed.note.grace
        )
        for placed in laid.notes
    )
