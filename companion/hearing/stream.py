"""What is being played, block by block."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from companion.hearing.ear import Ear, Sound


@dataclass(frozen=True, slots=True)
class LiveNote:
    """A note that began (`ends` false) or ended, at `seconds` from the beginning of the stream.

    A note that was expected is told the moment it is likely; another once it is sure, with the moment it began.
    """

    seconds: float
    pitch: int
    ends: bool
    sure: float = 1.0
    velocity: int = 64


class LiveHearing:
    """Hears one stream. Not for several threads; every block costs the same, whatever came before."""

    def __init__(self, ear: Ear, rate: int) -> None:
        self.ear = ear
        self.rate = rate

    def expect(self, pitches: Sequence[int]) -> None:
        """The notes of the round, in order, from now on; () where anything may come."""
        raise NotImplementedError(pitches)

    def take(self, block: Sound, playback: Sound | None = None) -> list[LiveNote]:
        """Take the next frames, of any number, and what the program's own playing sounded in them (None: nothing).

        Returns what has become known, in the order in which it did.
        """
        raise NotImplementedError(block, playback)
