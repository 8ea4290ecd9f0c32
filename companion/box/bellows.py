"""How far the bellows are open after each note.

A note moves air for as long as it sounds: the pull opens the bellows, the push shuts them. Openings are parts of the
full opening, 0 (shut) to 1 (full).
"""

from __future__ import annotations

from collections.abc import Sequence

from companion.box.model import Bellows

FULL_SECONDS = 8.0  # a note of ordinary loudness takes this long from shut to full; common practice


def openings(directions: Sequence[Bellows], seconds: Sequence[float], full: float = FULL_SECONDS) -> tuple[float, ...]:
    """How far open after each note, with the start chosen so that everything fits if anything does.

    Parameters
    ----------
    directions, seconds : the direction and the length of each note.
    full : seconds of sound from shut to full.

    Returns
    -------
    One opening a note, from 0 to 1; where the whole needs more than the full opening, held at the ends.
    """
    level, levels = 0.0, []
    for direction, length in zip(directions, seconds, strict=True):
        level += (length if direction is Bellows.PULL else -length) / full
        levels.append(level)
    low, high = min(0.0, *levels) if levels else 0.0, max(0.0, *levels) if levels else 0.0
    start = (1.0 - (high - low)) / 2 - low if high - low <= 1.0 else -low
    return tuple(min(1.0, max(0.0, start + level)) for level in levels)
