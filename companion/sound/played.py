"""What was played of late, for whoever listens meanwhile: a microphone hears it too.

Conventions: places are frames of the output; what is kept is one channel, float32.
"""

from __future__ import annotations

from collections import deque
from threading import Lock
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Mono = NDArray[np.float32]

KEPT = 3.0  # seconds
STEADY = 0.004  # seconds: nearer than this what is asked for goes on where the last answer ended


class OwnPlaying:
    """The last seconds of the output; added to by the speaker, asked by a microphone's thread."""

    def __init__(self, rate: int) -> None:
        self._rate = rate
        self._lock = Lock()
        self._parts: deque[tuple[int, int, Mono | None]] = deque()  # place, frames, and the sound where there is any
        self._next: float | None = None

    def add(self, place: int, sound: NDArray[np.float32]) -> None:
        """What was taken, shape (frames, 2), from `place` on."""
        part: Mono | None = sound.mean(axis=1) if sound.any() else None
        with self._lock:
            self._parts.append((place, len(sound), part))
            while self._parts and self._parts[0][0] + self._parts[0][1] < place - KEPT * self._rate:
                self._parts.popleft()

    def at(self, place: float, frames: int, rate: int) -> Mono | None:
        """So many frames at a rate from a place on, None where nothing sounded.

        One answer goes on where the last one ended, although the places that are asked for jitter a little: a filter
        that takes an echo off needs that.
        """
        import numpy as np

        if self._next is not None and abs(place - self._next) < STEADY * self._rate:
            place = self._next
        elif rate == self._rate:
            place = float(round(place))  # whole frames come as they were
        step = self._rate / rate
        self._next = place + frames * step
        first, last = int(place) - 1, int(place + frames * step) + 3
        with self._lock:
            parts = [
                (at, part) for at, count, part in self._parts if part is not None and at < last and at + count > first
            ]
        if not parts:
            return None
        sound = np.zeros(last - first, np.float32)
        for at, part in parts:
            a, b = max(first, at), min(last, at + len(part))
            sound[a - first : b - first] = part[a - at : b - at]
        return _between(sound, place - first + step * np.arange(frames, dtype=np.float64))


def _between(sound: Mono, where: NDArray[np.float64]) -> Mono:
    """The sound between its frames: a cubic through the four that lie nearest (Catmull and Rom's)."""
    import numpy as np

    whole = where.astype(np.int64)
    t = (where - whole).astype(np.float32)
    a, b, c, d = (sound[np.clip(whole + k, 0, len(sound) - 1)] for k in (-1, 0, 1, 2))
    out: Mono = b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)))
    return out
