"""How loud a microphone is, and what its sound tells of a fault: muted, too quiet, clipping, changed on its way here.

Pure: blocks in, a value out. Conventions: sound is float32 of shape (frames,), full scale 1; levels are in dB below
full scale (dBFS), of the root mean square where nothing else is said.

What a system does to a voice wrecks music, and no system says that it does it, so it is told by the sound. Automatic
gain lets the room's noise swell in a silence; a noise gate makes a silence deader than any room.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from enum import StrEnum
from itertools import islice

import numpy as np

from companion.hearing.ear import Sound

FLOOR = -120.0  # dBFS: exact silence
STEP = 0.02  # seconds between two looks
SHOWN = 0.3  # seconds that the meter shows
LONG = 10.0  # seconds over which it is too quiet
FULL = 0.99  # a sample as large as this is taken to be clipped
CLIPPED, HELD = 0.002, 4.0  # a share of clipped samples that counts; how long that is said, in seconds
MUTED, MUTED_LATER = 1.0, 8.0  # seconds of exact silence, at the beginning and after there was sound
QUIET = -48.0  # what is played should be louder
ABOVE = 10.0  # dB over the room's noise: something is played
PLAYED = -45.0  # what comes before a silence that tells anything
FALL = 25.0  # dB below it: a silence
DECAY = 0.3  # seconds for which a room may ring on
LISTEN = 1.0  # seconds of silence after which it tells something
SWELL = 5.0  # dB that the noise gains in it
DEAD = -88.0  # dBFS: no microphone in a room is so still
TIMES = 3  # silences in a row that tell the same


class Fault(StrEnum):
    """What is wrong with a microphone's sound, the worst first."""

    MUTED = "muted"
    CLIPS = "clips"
    GAIN = "gain"
    GATE = "gate"
    QUIET = "quiet"


@dataclass(frozen=True, slots=True)
class LevelNow:
    """The last 0.3 s: peak and level (dBFS), the share of clipped samples; and what is wrong, if anything is."""

    peak: float = FLOOR
    level: float = FLOOR
    clipped: float = 0.0
    fault: Fault | None = None


@dataclass(frozen=True, slots=True)
class _Moment:
    peak: float
    power: float
    clipped: float

    @property
    def level(self) -> float:
        return decibels(self.power**0.5)


class Level:
    """Follows one stream. Every block costs about the same, whatever came before."""

    def __init__(self, rate: int) -> None:
        self._size = max(1, round(STEP * rate))
        self._left: Sound = np.zeros(0, np.float32)
        self._steps: deque[_Moment] = deque(maxlen=round(LONG / STEP))
        self._zeros = 0  # steps of exact silence up to now
        self._sounded = False
        self._clipped_for = 0
        self._quiet = False
        self._silence = _Silences()
        self._seen = 0

    def take(self, block: Sound) -> None:
        """Take the next frames, of any number."""
        sound = np.concatenate((self._left, block)) if len(self._left) else block
        whole = len(sound) // self._size * self._size
        for part in sound[:whole].reshape(-1, self._size):
            self._look(part)
        self._left = sound[whole:].copy()

    @property
    def now(self) -> LevelNow:
        """The level now."""
        count = round(SHOWN / STEP)
        last = list(islice(reversed(self._steps), count))
        if not last:
            return LevelNow()
        power = sum(one.power for one in last) / len(last)
        clipped = sum(one.clipped for one in last) / len(last)
        return LevelNow(decibels(max(one.peak for one in last)), decibels(power**0.5), clipped, self._fault)

    @property
    def _fault(self) -> Fault | None:
        if self._zeros * STEP >= (MUTED_LATER if self._sounded else MUTED):
            return Fault.MUTED
        if self._clipped_for:
            return Fault.CLIPS
        if self._silence.swells >= TIMES:
            return Fault.GAIN
        if self._silence.dead >= TIMES:
            return Fault.GATE
        return Fault.QUIET if self._quiet else None

    def _look(self, part: Sound) -> None:
        size = np.abs(part)
        peak = float(size.max())
        step = _Moment(peak, float(part @ part) / len(part), float(np.mean(size >= FULL)))
        self._steps.append(step)
        self._zeros = 0 if peak else self._zeros + 1
        self._sounded = self._sounded or peak > 0
        recent = list(islice(reversed(self._steps), round(SHOWN / STEP)))
        if sum(one.clipped for one in recent) / len(recent) > CLIPPED:
            self._clipped_for = round(HELD / STEP)
        elif self._clipped_for:
            self._clipped_for -= 1
        self._silence.take(step.level)
        self._seen += 1
        if self._seen % round(1.0 / STEP) == 0:
            self._quiet = self._too_quiet()

    def _too_quiet(self) -> bool:
        if len(self._steps) < self._steps.maxlen:  # type: ignore[operator]  # it has one
            return False
        levels = np.array([one.level for one in self._steps])
        noise, loud = np.percentile(levels, (10, 95))
        return bool(loud < QUIET and loud - max(noise, -90.0) > ABOVE)


class _Silences:
    """What the silences after something was played tell: `swells` and `dead` of them in a row."""

    def __init__(self) -> None:
        self.swells = self.dead = 0
        self._loud: deque[float] = deque(maxlen=round(2.0 / STEP))
        self._still: list[float] = []

    def take(self, level: float) -> None:
        before = max(self._loud, default=FLOOR)
        if before > PLAYED and level < before - FALL:
            self._still.append(level)
            if len(self._still) == round((DECAY + LISTEN) / STEP):
                self._weigh(self._still[round(DECAY / STEP) :])
                self._loud.clear()
        else:
            self._loud.append(level)
            self._still = []

    def _weigh(self, still: list[float]) -> None:
        third = len(still) // 3
        first, last = float(np.median(still[:third])), float(np.median(still[-third:]))
        self.dead = self.dead + 1 if min(first, last) < DEAD else 0
        self.swells = self.swells + 1 if first > DEAD and last - first >= SWELL else 0


def decibels(amplitude: float) -> float:
    """An amplitude in dBFS, `FLOOR` at least."""
    return max(FLOOR, 20 * float(np.log10(amplitude))) if amplitude > 0 else FLOOR
