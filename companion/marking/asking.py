"""From a piece laid out in time to the notes that the player is asked for."""

from __future__ import annotations

from companion.lesson.stretch import Stretch
from companion.marking.mark_values import Asked


def asked_of(laid: Stretch, count: int = 0) -> tuple[Asked, ...]:
    """The notes of a piece, as they are asked for.

    In a piece of several rounds the notes of a later one are told from those of the first by their indices: they go on
    from `count`, the number of notes in a round.
    """
    return tuple(
        Asked(
            sounded.index + sounded.turn * count,
            sounded.at,
            sounded.note.length,
            sounded.note.pitch,
            sounded.note.ornaments,
            sounded.note.grace,
        )
        for sounded in laid.notes
    )
