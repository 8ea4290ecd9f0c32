"""A microphone through SDL's capture, each frame with the moment at which it came.

A thread of SDL's, in C, puts blocks into a queue, so that none is lost while Python is busy; whoever listens empties it
every few milliseconds. Blocks come in jittering; their pace is even, and so is the clock that is fitted to it.

Conventions: sound is float32 of shape (frames,); stamps are ``time.perf_counter()`` seconds; places are frames from the
beginning of the stream.

No system that SDL records from says whether it "improves" the sound for speech: its name may (`improved`), else it is
told by the sound (`companion.hearing.level`).
"""

from __future__ import annotations

import ctypes
import time
from dataclasses import dataclass

import numpy as np

from companion.errors import UserError
from companion.hearing.ear import Sound
from companion.hearing.spectra import RATE  # the speaker's too: what we play can be taken off frame for frame
from companion.sound import sdl
from companion.sound.clock import DeviceClock

FRAMES = 256  # in a block: the steadiest, as tried
SERVER_MS = 5  # what may wait in a sound server
TRUSTED = 0.01  # seconds between two looks: close enough together to know when a block came
MOST = 1 << 16  # frames taken at once
# Words in the name of a source that a system has put between the microphone and us.
_IMPROVED = ("echo cancel", "echo-cancel", "noise cancel", "noise suppress", "denoise", "voice isolation")


@dataclass(frozen=True, slots=True)
class Block:
    """What has come: its first frame's place in the stream, and the stamp at which that came."""

    sound: Sound
    place: int
    stamp: float


class Capture:
    """An open microphone.

    Raises
    ------
    OSError : there is no such microphone, it does not open, or we may not use it.
    """

    def __init__(self, name: str) -> None:
        self.name = name
        self._sdl = sdl.loaded()
        self.rate = RATE
        self._id = sdl.open_device(self._sdl, name, RATE, FRAMES, channels=1, server_ms=SERVER_MS, capture=True)
        self._room = np.empty(MOST, np.float32)
        self._pointer = self._room.ctypes.data_as(ctypes.c_void_p)
        self._clock = DeviceClock()
        self._came, self._known = 0, False
        self._looked = time.perf_counter()
        self._sdl.SDL_PauseAudioDevice(self._id, 0)

    def take(self) -> Block | None:
        """What has come since the last time; None for nothing."""
        before = self._looked
        waits = self._sdl.SDL_GetQueuedAudioSize(self._id)
        self._looked = time.perf_counter()
        if not waits:
            return None
        frames = int(self._sdl.SDL_DequeueAudio(self._id, self._pointer, min(waits, self._room.nbytes))) // 4
        place, self._came = self._came, self._came + frames
        if self._looked - before < TRUSTED or not self._known:
            self._clock.asked(self._came / self.rate, (before + self._looked) / 2)
            self._known = True
        return Block(self._room[:frames].copy(), place, self.stamp_of(place / self.rate))

    def stamp_of(self, seconds: float) -> float:
        """When that came which lies so many seconds after the beginning of the stream."""
        return self._clock.stamp_of(seconds)

    def lost(self) -> bool:
        """Whether it was unplugged, or its server has gone."""
        return int(self._sdl.SDL_GetAudioDeviceStatus(self._id)) == sdl.STOPPED

    def close(self) -> None:
        """Let go of it."""
        if self._id:
            self._sdl.SDL_CloseAudioDevice(self._id)
            self._sdl.SDL_QuitSubSystem(sdl.INIT_AUDIO)
            self._id = 0


def list_microphones() -> tuple[str, ...]:
    """The names of the microphones there are, the default one first; none where there is no sound at all."""
    return sdl.device_names(capture=True)


def improved(name: str) -> bool:
    """Whether a source is known by its name as one that is made for speech."""
    return any(word in name.lower() for word in _IMPROVED)


def find_microphone(wanted: str | None) -> str:
    """The microphone meant by a name, or by a part of just one name; None: the default one.

    Raises
    ------
    UserError : there is none, or no such one, or more than one fits; the message lists those that are there.
    """
    names = list_microphones()
    if wanted in names:
        return str(wanted)
    if not names:
        raise UserError("there is no microphone; plug one in, or allow this program to use it in the system's settings")
    if wanted is None:
        return names[0]
    likely = [name for name in names if wanted.lower() in name.lower()]
    if len(likely) == 1:
        return likely[0]
    there = ", ".join(f"“{name}”" for name in names)
    many = "more than one microphone fits" if likely else "there is no microphone"
    raise UserError(f"{many} “{wanted}”; those there are: {there}")


def open_capture(name: str) -> Capture:
    """Open a microphone by its whole name. Raises `UserError` where that cannot be done."""
    try:
        return Capture(name)
    except OSError as why:
        raise UserError(
            f"the microphone “{name}” does not open ({why}); close what else uses it, and allow this program to use it "
            "in the system's settings"
        ) from why
