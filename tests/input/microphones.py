"""A microphone wound by hand, and a plain way of hearing sines: nothing here depends on how a box is heard."""

from __future__ import annotations

import threading
import time
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from companion.hearing.ear import Ear
from companion.hearing.guess import own_ear
from companion.hearing.stream import LiveNote
from companion.input.capture import Block

RATE = 44100
EAR = replace(own_ear(), guessed=False)
Sound = NDArray[np.float32]


def sine(pitch: int, seconds: float, loud: float = 0.3) -> Sound:
    """A note as a plain sine that begins and ends softly."""
    at = np.arange(round(seconds * RATE)) / RATE
    edge = np.minimum(1, np.minimum(at, at[::-1]) / 0.005)
    return (loud * edge * np.sin(2 * np.pi * 440 * 2 ** ((pitch - 69) / 12) * at)).astype(np.float32)


class WoundSource:
    """A source that gives what the test puts in, in blocks; its stream began at stamp `began`."""

    rate = RATE

    def __init__(self, name: str = "by hand", began: float = 100.0) -> None:
        self.name, self.began = name, began
        self.gone = self.closed = False
        self._waiting: list[Sound] = []
        self._lock = threading.Lock()
        self._came = 0

    def put(self, sound: Sound) -> None:
        with self._lock:
            self._waiting += [sound[at : at + 256] for at in range(0, len(sound), 256)]

    @property
    def empty(self) -> bool:
        return not self._waiting

    def take(self) -> Block | None:
        with self._lock:
            if not self._waiting:
                return None
            sound = self._waiting.pop(0)
        place, self._came = self._came, self._came + len(sound)
        return Block(sound, place, self.stamp_of(place / RATE))

    def stamp_of(self, seconds: float) -> float:
        return self.began + seconds

    def lost(self) -> bool:
        return self.gone

    def close(self) -> None:
        self.closed = True


class PlainHearing:
    """Hears one sine at a time: the loudest pitch of 1,024 frames, once two looks give the same."""

    def __init__(self, ear: Ear, rate: int) -> None:
        self.ear = ear
        self.told: list[tuple[int, ...]] = []
        self.played: list[Sound | None] = []
        self._rate = rate
        self._sound = np.zeros(0, np.float32)
        self._at = 0
        self._now = self._before = 0

    strange = False

    def expect(self, pitches: Sequence[int]) -> None:
        self.told.append(tuple(pitches))

    def sounded(self, _pitch: int, _first: float, _last: float) -> tuple[float, float]:
        return 0.0, 0.0

    def take(self, block: Sound, playback: Sound | None = None) -> list[LiveNote]:
        self.played.append(playback)
        self._sound = np.concatenate((self._sound, block))
        found: list[LiveNote] = []
        while len(self._sound) >= 1024:
            pitch, seconds = self._pitch(self._sound[:1024]), self._at / self._rate
            steady, self._before = pitch == self._before, pitch
            if pitch != self._now and steady:
                seconds -= 1024 / self._rate
                found += [LiveNote(seconds, self._now, ends=True)] if self._now else []
                found += [LiveNote(seconds, pitch, ends=False, sure=0.9)] if pitch else []
                self._now = pitch
            self._sound, self._at = self._sound[1024:], self._at + 1024
        return found

    def _pitch(self, part: Sound) -> int:
        if np.sqrt(np.mean(part**2)) < 0.02:
            return 0
        spectrum = np.abs(np.fft.rfft(part * np.hanning(len(part)), 8 * len(part)))
        return round(69 + 12 * np.log2(max(1, int(spectrum.argmax())) * self._rate / (8 * len(part)) / 440))


def until(true: object, seconds: float = 5.0) -> None:
    """Wait until a function gives something true."""
    end = time.monotonic() + seconds
    while not true():  # type: ignore[operator]
        assert time.monotonic() < end, "it never came"
        time.sleep(0.002)
