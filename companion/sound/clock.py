"""The one clock: the sound device's position, read between the moments at which the device asks for more.

A device asks for blocks at moments that jitter; its crystal does not. Recorded under load, most requests come within 1
ms of an even pace, some up to 20 ms late, a few early. The middle of the last requests is therefore what is taken.

Conventions: stamps are ``time.perf_counter()`` seconds; places are seconds on the device's clock, 0 where it began.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import deque
from threading import Lock

WINDOW = 65  # requests: a second and a half, long beside the jitter, short beside the drift of two crystals
LOST = 0.1  # seconds: a request this far off means that the device stalled or was changed


class DeviceClock:
    """Maps stamps to places. `latency` is how far what is heard lies behind what was handed over, in seconds."""

    def __init__(self, latency: float = 0.0) -> None:
        self.latency = latency
        self._lock = Lock()
        self._seen: deque[float] = deque()
        self._sorted: list[float] = []
        self._last = 0.0

    def asked(self, place: float, stamp: float) -> None:
        """The device asks, at `stamp`, for the block that begins at `place`."""
        offset = place - stamp
        with self._lock:
            if self._sorted and abs(offset - self._middle()) > LOST:
                self._seen.clear()
                self._sorted.clear()
            self._seen.append(offset)
            insort(self._sorted, offset)
            if len(self._seen) > WINDOW:
                del self._sorted[bisect_left(self._sorted, self._seen.popleft())]

    def place_of(self, stamp: float) -> float:
        """What was, or will be, heard at a stamp. 0 until the device has asked for the first time."""
        with self._lock:
            return stamp + self._middle() - self.latency if self._sorted else 0.0

    def stamp_of(self, place: float) -> float:
        """When a place is heard: :meth:`place_of` the other way round."""
        with self._lock:
            return place - self._middle() + self.latency if self._sorted else place

    def now(self, stamp: float) -> float:
        """As :meth:`place_of`, for a clock that is read again and again: it never goes back."""
        place = self.place_of(stamp)
        with self._lock:
            # Follow a device that restarted far behind: a clock that stands still for long would be worse.
            if place > self._last or place < self._last - LOST:
                self._last = place
            return self._last

    def _middle(self) -> float:
        return self._sorted[len(self._sorted) // 2]
