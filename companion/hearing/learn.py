"""Learning an ear from a sound in which known notes sound once each, in order."""

from __future__ import annotations

from collections.abc import Sequence

from companion.hearing.ear import Ear, Sound


def learn_ear(sound: Sound, rate: int, pitches: Sequence[int]) -> Ear:
    """Learn how a box sounds in a room.

    Parameters
    ----------
    sound : (frames,) each note once, in the order of `pitches`, with a short silence between them; what sounds after
        them is basses and chords of the left hand, once each.

    Raises
    ------
    UserError : the sound is too short, silent or clipped, or has another number of notes.
    """
    raise NotImplementedError(sound, rate, pitches)
