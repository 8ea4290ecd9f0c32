"""Output devices: the system's, fed through SDL's own queue, and a silent one that keeps the same pace.

A thread of SDL's, in C, takes blocks off the queue. It never waits for Python, which may be busy for a tenth of a
second (opening an instrument, loading a library) without a gap in the sound.

Conventions: sound is float32 of shape (frames, 2).
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import sys
import time
from collections.abc import Collection, Iterator
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from companion.sound import sdl

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FRAME_BYTES = 8  # two channels of float32
NAMED = 0.1  # seconds within which SDL's thread has named itself
FIRST = 5  # real-time priority, of 1 to 99: below a sound server's and JACK's
# How much sound waits in a sound server, in milliseconds. SDL asks for one block, which breaks up when the processor is
# busy.
SERVER_MS = 40


class Device(Protocol):
    """What a speaker needs of an output."""

    def put(self, sound: NDArray[np.float32]) -> None:
        """Append sound to the queue."""

    def queued(self) -> int:
        """Frames that are in the queue: put, and not yet taken."""

    def clear(self) -> None:
        """Empty the queue."""

    def held(self) -> AbstractContextManager[None]:
        """While in it nothing is taken off the queue. As short as can be: the device waits."""

    def lost(self) -> bool:
        """Whether the device is gone."""

    def close(self) -> None:
        """Let go of it."""


class SilentDevice:
    """Takes blocks at an even pace and lets nothing be heard."""

    def __init__(self, rate: int, frames: int) -> None:
        self._block, self._step = frames, frames / rate
        self._queued = 0
        self._due = time.perf_counter() + self._step

    def put(self, sound: NDArray[np.float32]) -> None:
        """Append sound to the queue."""
        self._queued += len(sound)

    def queued(self) -> int:
        """Frames that are in the queue."""
        now = time.perf_counter()
        while self._due <= now:
            self._queued = max(0, self._queued - self._block)
            self._due += self._step
        return self._queued

    def clear(self) -> None:
        """Empty the queue."""
        self._queued = 0

    def held(self) -> AbstractContextManager[None]:
        """Nothing is taken but when `queued` is asked."""
        return contextlib.nullcontext()

    def lost(self) -> bool:
        """It cannot be."""
        return False

    def close(self) -> None:
        """There is nothing to let go of."""


class SystemDevice:
    """A sound device of the system's.

    Parameters
    ----------
    rate : frames a second. `frames` : frames in a block. `name` : as the system lists it, None for the default one.

    Raises
    ------
    OSError : there is no such device, or it does not open.
    """

    def __init__(self, rate: int, frames: int, name: str | None = None) -> None:
        before = _threads().keys()
        self._sdl = sdl.loaded()
        self._id = sdl.open_device(self._sdl, name, rate, frames, channels=2, server_ms=SERVER_MS)
        _go_first(before)
        self._sdl.SDL_PauseAudioDevice(self._id, 0)

    def put(self, sound: NDArray[np.float32]) -> None:
        """Append sound to the queue; SDL copies it."""
        if self._id and len(sound):
            self._sdl.SDL_QueueAudio(self._id, sound.ctypes.data_as(ctypes.c_void_p), len(sound) * FRAME_BYTES)

    def queued(self) -> int:
        """Frames that are in the queue."""
        return int(self._sdl.SDL_GetQueuedAudioSize(self._id)) // FRAME_BYTES if self._id else 0

    def clear(self) -> None:
        """Empty the queue."""
        self._sdl.SDL_ClearQueuedAudio(self._id)

    @contextlib.contextmanager
    def held(self) -> Iterator[None]:
        """Keep SDL's thread from the queue."""
        # Yield the interpreter's lock now, so that nobody wants it while the device is locked: for some milliseconds
        # from here (`sys.getswitchinterval`) nobody asks for it.
        time.sleep(0)
        self._sdl.SDL_LockAudioDevice(self._id)
        try:
            yield
        finally:
            self._sdl.SDL_UnlockAudioDevice(self._id)

    def lost(self) -> bool:
        """Whether it was unplugged, or its server has gone."""
        return int(self._sdl.SDL_GetAudioDeviceStatus(self._id)) == sdl.STOPPED

    def close(self) -> None:
        """Let go of it; what is queued is not played."""
        if self._id:
            self._sdl.SDL_CloseAudioDevice(self._id)
            self._sdl.SDL_QuitSubSystem(sdl.INIT_AUDIO)
            self._id = 0


def _threads() -> dict[int, str]:
    """This process's threads by number, with their names (Linux; none elsewhere)."""
    found = {}
    with contextlib.suppress(OSError):
        for task in Path("/proc/self/task").iterdir():
            with contextlib.suppress(OSError):  # it may have ended
                found[int(task.name)] = (task / "comm").read_text(encoding="utf-8").strip()
    return found


def _go_first(before: Collection[int]) -> None:
    """Let SDL's thread for the sound run before all others, where the system lets one (Linux: those who may use JACK).
    It is one that was not there `before`.

    A nice value alone does not: Linux weighs it only against threads of the same terminal or service, so that the
    thread waits its turn while another program works, tens of milliseconds.
    """
    until = time.perf_counter() + NAMED
    while sys.platform.startswith("linux") and time.perf_counter() < until:
        for thread, name in _threads().items():
            if thread not in before and name.startswith("SDLAudio"):
                with contextlib.suppress(OSError):  # it may not
                    os.sched_setscheduler(thread, os.SCHED_RR | os.SCHED_RESET_ON_FORK, os.sched_param(FIRST))
                return
        time.sleep(0.002)


def device_names() -> tuple[str, ...]:
    """The names of the system's outputs; none where there is no sound at all."""
    return sdl.device_names(capture=False)
