"""SDL's sound devices, by ctypes, in the SDL that pygame brings along.

Conventions: sound is float32; a device is known by the name that the system lists it under, None for the default one.
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from threading import Lock
from typing import Any

from companion.sound.quiet import nothing_on_terminal

# SDL 2's constants and structure: wiki.libsdl.org/SDL2/SDL_AudioSpec, SDL_audio.h, SDL.h.
INIT_AUDIO = 0x10
FLOAT_LITTLE, FLOAT_BIG = 0x8120, 0x9120
STOPPED = 0
NO_DEVICES = ("dummy", "disk")  # drivers of SDL's behind which there is nothing
QUICK = (
    "SDL_LockAudioDevice",
    "SDL_UnlockAudioDevice",
    "SDL_QueueAudio",
    "SDL_ClearQueuedAudio",
    "SDL_GetQueuedAudioSize",
)
# PulseAudio's library reads this when a stream opens: how many milliseconds of sound wait in the server.
_SERVER_MS = "PULSE_LATENCY_MSEC"
_opening = Lock()


class Spec(ctypes.Structure):
    """SDL's SDL_AudioSpec."""

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


def open_device(
    sdl: Any, name: str | None, rate: int, frames: int, *, channels: int, server_ms: int, capture: bool = False
) -> int:
    """Open a device, which stands still at first; gives its number. SDL makes of any rate and form the one asked for.

    Parameters
    ----------
    frames : in a block. `server_ms` : how much sound may wait in a sound server.

    Raises
    ------
    OSError : there is no such device, or it does not open. Its text is SDL's.
    """
    form = FLOAT_LITTLE if sys.byteorder == "little" else FLOAT_BIG
    wanted = Spec(rate, form, channels, 0, frames, 0, 0, None, None)
    with nothing_on_terminal(), _waiting_in_server(server_ms):
        if sdl.SDL_InitSubSystem(INIT_AUDIO):
            raise OSError(_said(sdl))
        named = None if name is None else name.encode()
        number = sdl.SDL_OpenAudioDevice(named, int(capture), ctypes.byref(wanted), None, 0)
    if not number:
        said = _said(sdl)
        sdl.SDL_QuitSubSystem(INIT_AUDIO)
        raise OSError(said)
    return int(number)


def device_names(*, capture: bool) -> tuple[str, ...]:
    """The names of the system's outputs, or of what it can record from, the default one first where SDL tells which
    that is; none where there is no sound at all."""
    if os.environ.get("SDL_AUDIODRIVER") in NO_DEVICES:
        return ()
    try:
        sdl = loaded()
        with nothing_on_terminal():
            if sdl.SDL_InitSubSystem(INIT_AUDIO):
                return ()
            count = sdl.SDL_GetNumAudioDevices(int(capture))
            found = [sdl.SDL_GetAudioDeviceName(number, int(capture)) for number in range(max(0, count))]
            if (sdl.SDL_GetCurrentAudioDriver() or b"").decode() in NO_DEVICES:
                found = []
            usual = _usual(sdl) if capture else None
            sdl.SDL_QuitSubSystem(INIT_AUDIO)
    except OSError:
        return ()
    names = [name.decode(errors="replace") for name in found if name]
    return tuple(sorted(names, key=lambda name: name != usual))


def loaded() -> Any:
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
            ctypes.POINTER(Spec),
            ctypes.POINTER(Spec),
            ctypes.c_int,
        )
        sdl.SDL_OpenAudioDevice.restype = ctypes.c_uint32
        sdl.SDL_QueueAudio.argtypes = (ctypes.c_uint32, ctypes.c_void_p, ctypes.c_uint32)
        sdl.SDL_DequeueAudio.argtypes = (ctypes.c_uint32, ctypes.c_void_p, ctypes.c_uint32)
        sdl.SDL_DequeueAudio.restype = ctypes.c_uint32
        sdl.SDL_GetQueuedAudioSize.restype = ctypes.c_uint32
        sdl.SDL_GetError.restype = ctypes.c_char_p
        sdl.SDL_GetAudioDeviceName.restype = ctypes.c_char_p
        sdl.SDL_GetCurrentAudioDriver.restype = ctypes.c_char_p
        sdl.SDL_free.argtypes = (ctypes.c_void_p,)
    except AttributeError as error:
        raise OSError(str(error)) from error
    return sdl


def _usual(sdl: Any) -> str | None:
    """The name of the default microphone; None where SDL does not tell (before 2.24, and with some drivers)."""
    ask = getattr(sdl, "SDL_GetDefaultAudioInfo", None)
    name, spec = ctypes.c_void_p(), Spec()
    if ask is None or ask(ctypes.byref(name), ctypes.byref(spec), 1) or not name.value:
        return None
    said = ctypes.string_at(name.value).decode(errors="replace")
    sdl.SDL_free(name)
    return said


def _said(sdl: Any) -> str:
    return str(sdl.SDL_GetError().decode(errors="replace"))


@contextlib.contextmanager
def _waiting_in_server(milliseconds: int) -> Iterator[None]:
    """Let so much sound wait in the server, unless the user has said how much."""
    with _opening:
        own = _SERVER_MS in os.environ
        if not own:
            os.environ[_SERVER_MS] = str(milliseconds)
        try:
            yield
        finally:
            if not own:
                del os.environ[_SERVER_MS]
