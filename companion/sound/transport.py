"""The transport: rounds end to end on a speaker; a wish takes effect at the next seam.

Whoever holds it says what the next round is when that is settled, a moment before the seam: a change of tempo, piece,
loop end or click until then is heard from the seam on, and the pulse goes on. It waits where the sound device is gone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

from companion.sound.score import Passage
from companion.sound.speaker import Speaker

if TYPE_CHECKING:
    from numpy.typing import NDArray

LEAD = 0.3  # seconds before a seam at which the next round is settled: rendering takes far less


@dataclass(frozen=True, slots=True)
class Loop:
    """One round, ready to be queued: its tones and frames, and its sound, whole or by voices."""

    passage: Passage
    sound: NDArray[Any] | Mapping[str, NDArray[Any]]


class Follower(Protocol):
    """What plays along with the speaker, such as a MIDI output."""

    def queued(self, passage: Passage, first: int) -> None:
        """A round begins on this frame."""

    def level(self, voice: str, factor: float) -> None:
        """A voice is so loud from now on."""

    def cut(self) -> None:
        """Everything stops."""


class Transport:
    """Rounds on a speaker; call :meth:`step` every few hundredths of a second.

    Parameters
    ----------
    speaker : what they sound on.
    following : gives a round by its number, counted from 0 since the last beginning; None where there are no more.
    follower : what plays along.
    """

    def __init__(
        self, speaker: Speaker, following: Callable[[int], Loop | None], follower: Follower | None = None
    ) -> None:
        self._speaker, self._following, self._follower = speaker, following, follower
        self._number = 0
        self._end = self._rung = 0  # where the last round ends, and where it has rung out
        self._last = False
        self._waits = False
        self._unheard = bool(speaker.missing)  # the player already knows there is no sound; carry on silently
        self.paused = False

    @property
    def over(self) -> bool:
        """Whether the last round has rung out."""
        return self._last and not self.paused and self._speaker.now() * self._speaker.rate >= self._rung

    def step(self) -> None:
        """Queue what is due."""
        missing = bool(self._speaker.missing)
        self._unheard = self._unheard and missing
        if missing and not self._waits and not self._unheard:
            self._silence()
        self._waits = missing and not self._unheard
        while not (self.paused or self._waits or self._last) and self._due():
            loop = self._following(self._number)
            if loop is None:
                self._last = True
                return
            first = self._speaker.queue(loop.sound, loop.passage.frames)
            if self._follower is not None:
                self._follower.queued(loop.passage, first)
            self._number += 1
            self._end = first + loop.passage.frames
            parts = loop.sound.values() if isinstance(loop.sound, Mapping) else (loop.sound,)
            self._rung = max(self._end, *(first + len(part) for part in parts))

    def pause(self) -> None:
        """Silence at once; or, where it is silent, begin anew with the round's count-in."""
        self.paused = not self.paused
        if self.paused:
            self._silence()

    def again(self) -> None:
        """Begin anew at once."""
        self._silence()
        self.paused = False

    def _due(self) -> bool:
        return self._number == 0 or self._speaker.now() >= self._end / self._speaker.rate - LEAD

    def _silence(self) -> None:
        self._speaker.cut()
        if self._follower is not None:
            self._follower.cut()
        self._number = 0
        self._last = False
