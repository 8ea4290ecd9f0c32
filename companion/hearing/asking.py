"""From a piece laid out in time to the notes that the player is asked for."""

from __future__ import annotations

from companion.hearing.model import Asked
from companion.lesson.stretch import Stretch


def asked_of(laid: Stretch) -> tuple[Asked, ...]:
    """The notes of a piece, as they are asked for."""
    return tuple(
        Asked(
            sounded.index,
            sounded.at,
            sounded.note.length,
            sounded.note.pitch,
            sounded.note.ornaments,
            sounded.note.grace,
        )
        for sounded in laid.notes
    )
