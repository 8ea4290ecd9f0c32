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
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FRAME_BYTES = 8  # two channels of float32
# SDL 2's constants and structure: wiki.libsdl.org/SDL2/SDL_AudioSpec, SDL_audio.h, SDL.h.
INIT_AUDIO = 0x10
FLOAT_LITTLE, FLOAT_BIG = 0x8120, 0x9120
STOPPED = 0
QUICK = (
    "SDL_LockAudioDevice",
    "SDL_UnlockAudioDevice",
    "SDL_QueueAudio",
    "SDL_ClearQueuedAudio",
    "SDL_GetQueuedAudioSize",
)
NAMED = 0.1  # seconds within which SDL's thread has named itself
FIRST = 5  # real-time priority, of 1 to 99: below a sound server's and JACK's
# PulseAudio's library reads this: how much sound waits in the server. SDL asks for one block, which breaks up when the
# processor is busy.
SERVER_MS = ("PULSE_LATENCY_MSEC", "40")


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


class _Spec(ctypes.Structure):
    _fields_ = (
        ("freq", ctypes.c_int),
        ("format", ctypes.c_uint16),
        ("channels", ctypes.c_uint8),
        ("silence", ctypes.c_uint8),
        ("samples", ctypes.c_uint16),
        ("padding", ctypes.c_uint16),
        ("size", ctypes.c_uint32),
        ("callback", ctypes.c_void_p),
        ("userdata", ctypes.c_void_p),
    )


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
        self._sdl = _library()
        os.environ.setdefault(*SERVER_MS)
        form = FLOAT_LITTLE if sys.byteorder == "little" else FLOAT_BIG
        wanted = _Spec(rate, form, 2, 0, frames, 0, 0, None, None)
        before = _threads().keys()
        with _quiet():
            if self._sdl.SDL_InitSubSystem(INIT_AUDIO):
                raise OSError(self._said())
            named = None if name is None else name.encode()
            self._id = self._sdl.SDL_OpenAudioDevice(named, 0, ctypes.byref(wanted), None, 0)
        if not self._id:
            said = self._said()
            self._sdl.SDL_QuitSubSystem(INIT_AUDIO)
            raise OSError(said)
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
        return int(self._sdl.SDL_GetAudioDeviceStatus(self._id)) == STOPPED

    def close(self) -> None:
        """Let go of it; what is queued is not played."""
        if self._id:
            self._sdl.SDL_CloseAudioDevice(self._id)
            self._sdl.SDL_QuitSubSystem(INIT_AUDIO)
            self._id = 0

    def _said(self) -> str:
        return str(self._sdl.SDL_GetError().decode(errors="replace"))


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
    if os.environ.get("SDL_AUDIODRIVER") in ("dummy", "disk"):
        return ()
    try:
        sdl = _library()
        with _quiet():
            if sdl.SDL_InitSubSystem(INIT_AUDIO):
                return ()
            count = sdl.SDL_GetNumAudioDevices(0)
            found = [sdl.SDL_GetAudioDeviceName(number, 0) for number in range(max(0, count))]
            sdl.SDL_QuitSubSystem(INIT_AUDIO)
    except OSError:
        return ()
    return tuple(name.decode(errors="replace") for name in found if name)


def _library() -> Any:
    """The SDL that pygame brings along. Raises OSError where it does not let itself be called."""
    os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
    import pygame.base

    # Except on Windows, a symbol is also looked up in the libraries that a library needs.
    windows = sys.platform == "win32"
    path = Path(pygame.__file__).with_name("SDL2.dll") if windows else Path(str(pygame.base.__file__))
    sdl = ctypes.CDLL(str(path))
    # While the device waits we must not wait for the interpreter's lock: keep it throughout.
    quick = ctypes.PyDLL(str(path))
    try:
        for name in QUICK:
            setattr(sdl, name, getattr(quick, name))
        sdl.SDL_OpenAudioDevice.argtypes = (
            ctypes.c_char_p,
            ctypes.c_int,
            ctypes.POINTER(_Spec),
            ctypes.POINTER(_Spec),
            ctypes.c_int,
        )
        sdl.SDL_OpenAudioDevice.restype = ctypes.c_uint32
        sdl.SDL_QueueAudio.argtypes = (ctypes.c_uint32, ctypes.c_void_p, ctypes.c_uint32)
        sdl.SDL_GetQueuedAudioSize.restype = ctypes.c_uint32
        sdl.SDL_GetError.restype = ctypes.c_char_p
        sdl.SDL_GetAudioDeviceName.restype = ctypes.c_char_p
    except AttributeError as error:
        raise OSError(str(error)) from error
    return sdl


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    """ALSA's library writes to the terminal itself where there is no card; nobody needs to read that."""
    try:
        kept = os.dup(2)
    except OSError:
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)
