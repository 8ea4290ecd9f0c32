"""The output device, and the clock that comes with it.

The system's mixer (SDL) asks for the next block and gets it from a :class:`~companion.sound.tape.Tape`; when it asked
is what the clock is made of. Where there is no device, or it stops asking, a thread of our own pulls the tape at the
same pace: the session goes on in silence, and its clock with it.

Conventions: `frames` are points of the output, counted from the opening of the speaker; seconds are on its clock.
"""

from __future__ import annotations

import contextlib
import os
import sys
import threading
import time
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Protocol

from companion.sound.clock import DeviceClock
from companion.sound.recorder import Recorder
from companion.sound.settings import SpeakerSettings, sound_settings
from companion.sound.tape import Tape

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

RATE = 44100
# How long a thread may keep the interpreter while the device waits for its next block, in seconds: with Python's own
# 5 ms, drop-outs were measured while the window drew.
SWITCH = 0.0005
AWAKE = 4  # blocks after which the device is taken to be awake
STILL = 3.0  # seconds without a request after which our own thread takes over; a sound server takes up to 2 to wake
NO_DEVICE = "No sound device: the session goes on without sound."


class Speaker(Protocol):
    """What a session needs of the output."""

    rate: int
    missing: str

    def queue(self, sound: NDArray[Any], frames: int) -> int:
        """Append a passage; returns the frame on which it begins."""

    def queued_until(self) -> int:
        """The frame at which what is queued ends, or the next that will be handed to the device."""

    def now(self) -> float:
        """What is being heard now, in seconds."""

    def time_of(self, monotonic: float) -> float:
        """A ``time.perf_counter()`` stamp on the speaker's clock."""

    def cut(self) -> None:
        """Silence, at once, and drop what is queued."""

    def recording(self) -> NDArray[np.int16]:
        """Everything that was played, where it was asked to be kept; shape (frames, 2)."""

    def close(self) -> None:
        """Let go of the device."""


class DeviceSpeaker:
    """A speaker on the default sound device or a named one. Use :func:`open_speaker`."""

    def __init__(self, settings: SpeakerSettings, *, device: str | None = None, record: bool = False) -> None:
        self.rate = RATE
        self.missing = ""
        self._settings = settings
        self._device = device
        self._tape = Tape(RATE, settings.fade_s)
        self._clock = DeviceClock()
        self._recorder = Recorder() if record else None
        self._asked = time.perf_counter()
        sys.setswitchinterval(SWITCH)
        self._closed = threading.Event()
        self._filling = threading.Lock()
        self._open()
        self._pump = threading.Thread(target=self._keep_going, name="speaker", daemon=True)
        self._pump.start()
        self._await_device()

    def queue(self, sound: NDArray[Any], frames: int) -> int:
        """Append a passage that takes exactly `frames`; what `sound` has beyond them rings on into what follows.

        Parameters
        ----------
        sound : shape (frames or more, 2), float32 with full scale 1, or int16.
        """
        import numpy as np

        if sound.dtype == np.int16:
            sound = sound.astype(np.float32) / np.float32(32768)
        return self._tape.lay(np.ascontiguousarray(sound, np.float32), frames)

    def queued_until(self) -> int:
        """The frame at which the next passage would begin."""
        return self._tape.end

    def now(self) -> float:
        """What is being heard now, seconds; never goes back."""
        return self._clock.now(time.perf_counter())

    def time_of(self, monotonic: float) -> float:
        """Where a ``time.perf_counter()`` stamp lies on the clock."""
        return self._clock.place_of(monotonic)

    def cut(self) -> None:
        """Drop what is queued; silence within a buffer and a short fade, and the next passage begins at once."""
        self._tape.cut()

    def recording(self) -> NDArray[np.int16]:
        """What was played so far, shape (frames, 2); empty where it is not kept."""
        import numpy as np

        return self._recorder.taken() if self._recorder is not None else np.zeros((0, 2), np.int16)

    def close(self) -> None:
        """Let go of the device. What is still queued is not played."""
        if not self._closed.is_set():
            self._closed.set()
            self._pump.join(timeout=1.0)
            _close_mixer()
            if self._recorder is not None:
                self._recorder.close()

    def _await_device(self) -> None:
        """Wait until the device asks steadily: a sound server may ask once and then take a second or two to wake."""
        until = time.perf_counter() + STILL
        while not self.missing and self._tape.pulled < AWAKE * self._settings.frames and time.perf_counter() < until:
            time.sleep(0.005)

    def _open(self) -> None:
        """Open the device, or say in `missing` that there is none."""
        if os.environ.get("SDL_AUDIODRIVER") in ("dummy", "disk"):
            self.missing = NO_DEVICE
            return
        try:
            frames = _open_mixer(self._settings.frames, self._device, self._ask)
        except OSError:
            self.missing = NO_DEVICE
            return
        # While one buffer is heard the next is being asked for.
        self._clock.latency = frames / RATE

    def _ask(self, _mixer: Any, memory: Any) -> None:
        """Called by SDL's thread for each block."""
        import numpy as np

        self._asked = time.perf_counter()
        block = np.frombuffer(memory, np.float32).reshape(-1, 2)
        block[:] = self._fill(len(block), self._asked)

    def _fill(self, frames: int, stamp: float) -> Any:
        with self._filling:
            self._clock.asked(self._tape.pulled / RATE, stamp)
            block = self._tape.pull(frames)
            if self._recorder is not None:
                self._recorder.take(block)
            return block

    def _keep_going(self) -> None:
        """Pull the tape at its own pace while no device does."""
        step = self._settings.frames
        since = due = 0.0  # when this thread took over, and when the next block is due; 0: the device does it
        while not self._closed.wait(0.002 if due else 0.05):
            now = time.perf_counter()
            if not due and (self.missing or now - self._asked > STILL):
                since = due = now
            elif due and not self.missing and self._asked > since:
                due = 0.0
            while due and due <= now:
                self._fill(step, due)
                due += step / RATE


def open_speaker(*, allow_dummy: bool = True, record: bool = False, device: str | None = None) -> DeviceSpeaker:
    """Open the output.

    Parameters
    ----------
    allow_dummy : go on without a device (`missing` says so) where there is none.
    record : keep everything that is played, for :meth:`DeviceSpeaker.recording`.
    device : a device's name as the system lists it; None for the default one.

    Raises
    ------
    UserError : there is no device, and `allow_dummy` is False.
    """
    speaker = DeviceSpeaker(sound_settings().speaker, device=device, record=record)
    if speaker.missing and not allow_dummy:
        speaker.close()
        from companion.errors import UserError

        raise UserError("there is no sound device; plug one in, or start the system's sound server.")
    return speaker


def _open_mixer(frames: int, device: str | None, ask: Any) -> int:
    """Open SDL's mixer in floating point. Raises OSError where there is no device."""
    os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
    import pygame
    from pygame._sdl2.mixer import set_post_mix

    with _quiet():
        try:
            if pygame.mixer.get_init():
                pygame.mixer.quit()
            pygame.mixer.init(RATE, 32, 2, frames, devicename=device, allowedchanges=0)
        except pygame.error as error:
            raise OSError(str(error)) from error
    set_post_mix(ask)
    return frames


def _close_mixer() -> None:
    if "pygame" not in sys.modules:
        return
    import pygame
    from pygame._sdl2.mixer import set_post_mix

    if pygame.mixer.get_init():
        set_post_mix(None)
        pygame.mixer.quit()


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
