"""What was played in a sound, with the whole of it at hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from companion.hearing.ear import Ear, Sound
from companion.marking.mark_values import Asked, Heard
from companion.marking.take_marks import TakeMarks


@dataclass(frozen=True, slots=True)
class SoundHeard:
    """The melody's notes in order of onset, each with how sure it is, and what weighs the marks made of them."""

    notes: tuple[Heard, ...]

    def weighed(self, found: TakeMarks, asked: Sequence[Asked]) -> TakeMarks:
        """The marks with how sure each is; what is not sure enough to fault anyone is unsure."""
        raise NotImplementedError(found, asked)


def hear(
    sound: Sound, rate: int, ear: Ear, asked: Sequence[Asked] = (), *, playback: Sound | None = None
) -> SoundHeard:
    """Hear the notes of a take.

    Parameters
    ----------
    asked : the notes of one round, which may come several times or in part; () where nothing is known of them.
    playback : (frames,) what the program played meanwhile, from the same moment on, at `rate`; None for nothing.
    """
    raise NotImplementedError(sound, rate, ear, asked, playback)
