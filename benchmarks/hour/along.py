"""Two streams of sound held to each other in passing: what was handed to the device, and what a listener heard.

Conventions: int16, one channel; places are frames; `offset` is what a place of the one lies later in the other. Two
frames are the same that differ by no more than rounding.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.servers.sound_ear import RATE, find

Wave = NDArray[np.int16]

SAME = 3  # of 32768
LOUD = 650  # of 32768: what begins a sound
SHAPE = RATE // 5  # frames by which a place is found again
SURE = 2 * RATE  # frames that must be the same for a beginning to be found
TRIES = 20  # places at which the beginning of the one is looked for in the other
STEP = RATE // 2  # frames compared at once
REACHES = (RATE // 20, RATE // 5, RATE)  # frames by which a break may shift what follows, one after another
REACH = REACHES[-1]
AHEAD = 12 * RATE  # frames within which it is found again, so that a silence may lie between


@dataclass(frozen=True, slots=True)
class Break:
    """A place `at` which they part: by how much what follows is later (`slip`, frames), for how many frames they are
    not the same (`length`), and whether it was `silent` there.
    """

    at: int
    slip: int
    length: int
    silent: bool


class Stream:
    """A stream of which the beginning may be forgotten."""

    def __init__(self) -> None:
        self._first = 0
        self._held: Wave = np.zeros(0, np.int16)
        self._new: list[Wave] = []

    def add(self, wave: Wave) -> None:
        """Append to it; may be called by another thread than the rest."""
        self._new.append(wave)

    @property
    def end(self) -> int:
        """How many frames there are, the forgotten ones among them."""
        self._gather()
        return self._first + len(self._held)

    def part(self, first: int, last: int) -> Wave:
        """From a place to another; what is forgotten or not there yet is left out."""
        self._gather()
        return self._held[max(0, first - self._first) : max(0, last - self._first)]

    def forget(self, before: int) -> None:
        """Let go of what lies before a place."""
        gone = max(0, before - self._first)
        self._held = self._held[gone:].copy()
        self._first += gone

    def _gather(self) -> None:
        if self._new:
            # Only what is there now: another thread may add to it.
            new = [self._new.pop(0) for _ in range(len(self._new))]
            self._held = np.concatenate([self._held, *new])


class Along:
    """Holds `heard` to `played`. Call :meth:`compare` now and then, and once more, with `last`, at the end."""

    def __init__(self) -> None:
        self.played, self.heard = Stream(), Stream()
        self.breaks: list[Break] = []
        self.frames = 0  # compared
        self._at = 0
        self._offset: int | None = None

    def compare(self, *, last: bool = False) -> None:
        """Compare what has come of both."""
        if self._offset is None and not self._align():
            return
        assert self._offset is not None
        ahead = 0 if last else AHEAD
        while self._at + STEP + ahead <= min(self.played.end, self.heard.end - self._offset):
            parted = _parted(self.played.part(self._at, self._at + STEP), self._there(self._at, self._at + STEP))
            if parted is None:
                self.frames += STEP
                self._at += STEP
            elif not self._go_on_after(self._at + parted):
                return
        self.played.forget(self._at - RATE)
        self.heard.forget(self._at + self._offset - 2 * REACH)

    def _there(self, first: int, last: int) -> Wave:
        assert self._offset is not None
        return self.heard.part(first + self._offset, last + self._offset)

    def _align(self) -> bool:
        """Find the first sound of the one in the other."""
        played, heard = (one.part(0, one.end) for one in (self.played, self.heard))
        here, there = (np.flatnonzero(np.abs(one.astype(int)) > LOUD) for one in (played, heard))
        if not len(here) or not len(there):
            return False
        first, late = int(here[0]), int(there[0] - here[0])
        if min(len(played), len(heard) - max(late, 0)) < first + TRIES * SHAPE + SURE + REACH:
            return False
        # It may break up at the very first: then what comes soon after is looked for; and a click is like the next one.
        for place in range(first, first + TRIES * SHAPE, SHAPE):
            shape = played[place : place + SHAPE].astype(float)
            found, alike = find(heard.astype(float), shape, place + late, REACH)
            if alike > 0.999 and _parted(played[place : place + SURE], heard[found : found + SURE]) is None:
                self._offset, self._at = found - place, place
                if place > first:
                    self.breaks.append(Break(first, 0, place - first, True))
                return True
        raise ValueError("what is heard is not what is played: does another program sound?")

    def _go_on_after(self, place: int) -> bool:
        """Find where they are the same again after a break, and note it; whether that was found."""
        assert self._offset is not None
        until = min(self.played.end, self.heard.end - self._offset - REACH, place + AHEAD)
        # The nearest place first: the same may sound again soon after.
        for reach in REACHES:
            for first in range(place, until - SHAPE, SHAPE // 2):
                shape = self.played.part(first, first + SHAPE)
                if np.abs(shape.astype(int)).max() < LOUD:
                    continue
                offset = self._same_at(first, shape, reach)
                if offset is not None:
                    self._note(place, first, offset)
                    return True
        if until < place + AHEAD:
            return False  # more may come
        self.breaks.append(Break(place, 0, AHEAD, False))
        self._at = until
        return True

    def _same_at(self, first: int, shape: Wave, reach: int) -> int | None:
        """The offset at which a shape is there to the frame, within reach of where it should be; else None."""
        assert self._offset is not None
        if _parted(shape, self._there(first, first + len(shape))) is None:
            return self._offset
        begins = first + self._offset - reach
        near = self.heard.part(begins, begins + 2 * reach + len(shape)).astype(float)
        if len(near) < 2 * reach + len(shape):
            return None
        found, alike = find(near, shape.astype(float), reach, reach)
        same = alike > 0.99 and np.abs(near[found : found + len(shape)] - shape).max() <= SAME
        return begins + found - first if same else None

    def _note(self, place: int, again: int, offset: int) -> None:
        """Note a break at `place`, after which they are the same from `again` on or before."""
        assert self._offset is not None
        slip = offset - self._offset
        same = self.played.part(place, again), self.heard.part(place + offset, again + offset)
        unlike = np.flatnonzero(np.abs(same[0].astype(int) - same[1]) > SAME)
        lost = int(unlike[-1]) + 1 if len(unlike) else 0  # frames of what was played
        before = self.played.part(place - RATE // 50, place)
        silent = not len(before) or bool(np.abs(before.astype(int)).max() <= SAME)
        self.breaks.append(Break(place, slip, max(lost, abs(slip), lost + slip), silent))
        self._at, self._offset = place + lost, offset


def _parted(one: Wave, other: Wave) -> int | None:
    """The first frame in which two waves are not the same, None where they are."""
    length = min(len(one), len(other))
    unlike = np.flatnonzero(np.abs(one[:length].astype(int) - other[:length]) > SAME)
    return int(unlike[0]) if len(unlike) else None
