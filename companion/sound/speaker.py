"""The speaker: feeds a tape of passages to an output device a little ahead of time, and keeps its clock.

Conventions: `frames` are points of the output, counted from the opening of the speaker; seconds are on its clock.
"""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Protocol

from companion.sound.clock import DeviceClock
from companion.sound.delays import kept_delay
from companion.sound.device import Device, SilentDevice, SystemDevice
from companion.sound.played import OwnPlaying
from companion.sound.recorder import Recorder
from companion.sound.sound_settings import SpeakerSettings, sound_settings
from companion.sound.tape import Parts, Tape

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

RATE = 44100
POLL = 0.004  # seconds between two looks at the device's queue
TRUSTED = 0.01  # seconds between two looks: close enough together to know when a block was taken
AHEAD = 0.5  # seconds of sound in the device's queue: longer than anything that keeps the interpreter from feeding it
GUARD = 128  # frames the device may take while a change is prepared
TRIALS = 4  # at a change, if the device is too quick
AWAKE = 4  # blocks after which the device counts as awake
STILL = 3.0  # seconds: give up a device that takes nothing for so long; a sound server needs up to 2 to wake
AGAIN = 2.0  # seconds between two tries to open a lost device again
NO_DEVICE = "No sound device: the session goes on without sound."
LOST = "The sound device is gone: the session waits until it is back."


class Speaker(Protocol):
    """What a session needs of the output."""

    rate: int
    missing: str

    @property
    def unkept(self) -> str:
        """Why what is played is not kept although it was asked for; "" where it is."""

    def queue(self, sound: NDArray[Any] | Mapping[str, NDArray[Any]], frames: int) -> int:
        """Append a passage, whole or by voices; returns the frame on which it begins."""

    def level(self, voice: str, factor: float) -> None:
        """Let a voice be so loud from now on: a factor of amplitude."""

    def queued_until(self) -> int:
        """The frame at which what is queued ends, or the next that will be handed to the device."""

    def now(self) -> float:
        """What is being heard now, in seconds."""

    def time_of(self, monotonic: float) -> float:
        """A ``time.perf_counter()`` stamp on the speaker's clock."""

    def cut(self, at: int = 0) -> int:
        """Silence, at once or from frame `at` on, and drop what is queued; gives the frame from which on."""

    def recording(self) -> NDArray[np.int16]:
        """Everything that was played, where it was asked to be kept; shape (frames, 2)."""

    def close(self) -> None:
        """Let go of the device."""


class DeviceSpeaker:
    """A speaker on the default sound device or a named one. Use :func:`open_speaker`.

    Where there is no device, or it is lost, a silent one stands in, and the clock goes on. A lost one is looked for.
    """

    def __init__(self, settings: SpeakerSettings, *, device: str | None = None, record: bool = False) -> None:
        self.rate = RATE
        self.missing = ""
        self.delay = kept_delay("sound", device or "") or 0.0  # of output and input together, in seconds
        self._settings = settings
        self._named = device
        self._tape = Tape(RATE, settings.fade_s, GUARD)
        self._clock = DeviceClock(settings.frames / RATE)
        self._recorder = Recorder() if record else None
        self._played: OwnPlaying | None = None  # kept once somebody asks
        self._closed = threading.Event()
        self._feeding = threading.Lock()
        self._looked = self._taken_at = time.perf_counter()
        self._device = self._open()
        self._feeder = threading.Thread(target=self._keep_feeding, name="speaker", daemon=True)
        self._feeder.start()
        self._await_device()

    @property
    def device(self) -> str:
        """The name of the device as the system lists it, "" for the default one."""
        return self._named or ""

    @property
    def unkept(self) -> str:
        """Why what is played is not kept although it was asked for; "" where it is."""
        return self._recorder.failed if self._recorder is not None else ""

    def queue(self, sound: NDArray[Any] | Mapping[str, NDArray[Any]], frames: int) -> int:
        """Append a passage that takes exactly `frames`; what `sound` has beyond them rings on into what follows.

        Parameters
        ----------
        sound : shape (frames or more, 2), float32 with full scale 1, or int16; or so for each voice by its name.
        """
        voices = sound if isinstance(sound, Mapping) else {"": sound}
        whole = Parts.of({name: _float(one) for name, one in voices.items()})
        with self._feeding:
            if self._tape.end >= self._tape.handed:
                return self._tape.lay(whole, frames)
            return self._change(lambda: self._tape.lay(whole, frames))

    def queued_until(self) -> int:
        """The frame at which the next passage would begin."""
        return self._tape.end

    def now(self) -> float:
        """What is being heard now, seconds; never goes back."""
        return self._clock.now(time.perf_counter())

    def time_of(self, monotonic: float) -> float:
        """What was being heard when the player did what came in at a ``time.perf_counter()`` stamp."""
        return self._clock.place_of(monotonic) - self.delay

    def place_of(self, monotonic: float) -> float:
        """Where a ``time.perf_counter()`` stamp lies on the clock, no delay taken off."""
        return self._clock.place_of(monotonic)

    def stamp_of(self, place: float) -> float:
        """When a place on the clock is heard, as a ``time.perf_counter()`` stamp."""
        return self._clock.stamp_of(place)

    def played(self, stamp: float, frames: int, rate: int) -> NDArray[np.float32] | None:
        """What was heard from a ``time.perf_counter()`` stamp on: so many frames at a rate, one channel, None where
        that was nothing. Kept from the first time on that somebody asks."""
        place = self._clock.place_of(stamp) * RATE
        if self._played is None:
            self._played = OwnPlaying(RATE)
        if self._tape.taken < place + frames * RATE / rate:
            with self._feeding:
                self._account()
        return self._played.at(place, frames, rate)

    def cut(self, at: int = 0) -> int:
        """Drop what is queued: at once, within a block and a short fade, or from frame `at` on if that is later; the
        next passage begins there. Gives the frame."""
        with self._feeding:
            return self._change(lambda: self._tape.cut(at))

    def level(self, voice: str, factor: float) -> None:
        """Let a voice be so loud from now on, within a block and a short fade."""
        with self._feeding:
            self._change(lambda: self._tape.level(voice, factor))

    def use(self, device: str | None) -> bool:
        """Go on with another device, None for the default one, from where this one has come to; whether it opens.

        The delay that was measured for it counts from now on.
        """
        before, self._named = self._named, device
        found = self._found()
        if found is None:
            self._named = before
            return False
        self._exchange(found)
        self.missing = ""
        self.delay = kept_delay("sound", device or "") or 0.0
        return True

    def recording(self) -> NDArray[np.int16]:
        """What was played so far, shape (frames, 2); empty where it is not kept."""
        import numpy as np

        return self._recorder.taken() if self._recorder is not None else np.zeros((0, 2), np.int16)

    def close(self) -> None:
        """Let go of the device. What is still queued is not played."""
        if not self._closed.is_set():
            self._closed.set()
            self._feeder.join(timeout=1.0)
            with self._feeding:
                self._account()
                self._device.close()
            if self._recorder is not None:
                self._recorder.close()

    def _open(self) -> Device:
        """Open the device, or say in `missing` that there is none."""
        found = self._found()
        self.missing = "" if found is not None else NO_DEVICE
        return found or SilentDevice(RATE, self._settings.frames)

    def _found(self) -> Device | None:
        """The device, opened, where it is there."""
        if os.environ.get("SDL_AUDIODRIVER") in ("dummy", "disk"):
            return None
        try:
            return SystemDevice(RATE, self._settings.frames, self._named)
        except OSError:
            return None

    def _await_device(self) -> None:
        """Wait until the device takes steadily: a sound server may take once and then need a second or two to wake."""
        until = time.perf_counter() + STILL
        while not self.missing and self._tape.taken < AWAKE * self._settings.frames and time.perf_counter() < until:
            time.sleep(0.005)

    def _keep_feeding(self) -> None:
        """Keep the device's queue full, on a thread of its own."""
        tried = 0.0
        while not self._closed.wait(POLL):
            with self._feeding:
                self._account()
                self._top_up()
            if not self.missing and (self._device.lost() or self._looked - self._taken_at > STILL):
                self._exchange(SilentDevice(RATE, self._settings.frames))
                self.missing, tried = LOST, self._looked
            elif self.missing and tried and self._looked - tried > AGAIN:
                tried = self._looked
                found = self._found()
                if found is not None:
                    self._exchange(found)
                    self.missing = ""

    def _exchange(self, device: Device) -> None:
        """Go on with another device from where this one has come to."""
        with self._feeding:
            self._account()
            self._device.close()
            self._device = device
            self._taken_at = time.perf_counter()
            self._tape.back()
            self._top_up()

    def _account(self) -> None:
        """Note what the device has taken since the last look, and when."""
        before, self._looked = self._looked, time.perf_counter()
        taken = self._tape.handed - self._tape.taken - self._device.queued()
        if taken <= 0:
            return
        self._taken_at = self._looked
        sound = self._tape.take(taken)
        if self._recorder is not None:
            self._recorder.take(sound)
        if self._played is not None:
            self._played.add(self._tape.taken - taken, sound)
        if self._looked - before < TRUSTED:
            place = self._tape.taken - min(taken, self._settings.frames)
            self._clock.asked(place / RATE, (before + self._looked) / 2)

    def _top_up(self) -> None:
        """Hand out from the tape until enough lies in the queue."""
        short = self._tape.taken + round(AHEAD * RATE) - self._tape.handed
        if short > 0:
            self._device.put(self._tape.hand_out(short))

    def _change(self, change: Callable[[], int]) -> int:
        """Change the tape: what lies in the device's queue is exchanged for what is now to come.

        The device waits only while one is exchanged for the other. Were it past the place by then, it is done again.
        """
        for trial in range(TRIALS):
            self._account()
            base, kept = self._tape.taken, self._tape.kept()
            place = change()
            sound = self._tape.peek(round(AHEAD * RATE))
            with self._device.held():
                gone = self._tape.handed - base - self._device.queued()
                if base + gone <= place or trial == TRIALS - 1:
                    self._device.clear()
                    self._device.put(sound[gone:])
                    break
            self._tape.restore(kept)
        self._tape.hand_to(base + len(sound))
        return place


def _float(sound: NDArray[Any]) -> NDArray[np.float32]:
    import numpy as np

    if sound.dtype == np.int16:
        return sound.astype(np.float32) / np.float32(32768)
    return np.asarray(sound, np.float32)


def open_speaker(*, allow_dummy: bool = True, record: bool = False, device: str | None = None) -> DeviceSpeaker:
    """Open the output.

    Parameters
    ----------
    allow_dummy : go on without a device (`missing` says so) where there is none.
    record : keep everything that is played, for :meth:`DeviceSpeaker.recording`.
    device : a device's name as the system lists it; None for the default one.

    Raises
    ------
    UserError : there is no device, and `allow_dummy` is False; or the one that is named is not there.
    """
    speaker = DeviceSpeaker(sound_settings().speaker, device=device, record=record)
    if speaker.missing and (device is not None or not allow_dummy):
        speaker.close()
        from companion.errors import UserError

        if device is not None:
            raise UserError(f"the sound device “{device}” does not open; `companion ports` lists those that are there")
        raise UserError("there is no sound device; plug one in, or start the system's sound server.")
    return speaker
