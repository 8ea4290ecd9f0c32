"""A listener for the tests: records what a PulseAudio null sink plays, as `parec` hears it."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from companion.sound.speaker import Speaker

RATE = 44100


def monitor() -> str | None:
    """The monitor of the default sink, None where there is no PulseAudio server that can be listened to."""
    if not (shutil.which("pactl") and shutil.which("parec")):
        return None
    try:
        asked = subprocess.run(["pactl", "get-default-sink"], capture_output=True, text=True, timeout=5, check=False)
    except subprocess.TimeoutExpired:
        return None
    name = asked.stdout.strip()
    return f"{name}.monitor" if asked.returncode == 0 and name else None


def awake(speaker: Speaker) -> None:
    """Wait until a speaker's device runs: a sink that nobody has listened to yet takes a moment."""
    until = time.monotonic() + 10
    while speaker.queued_until() < 0.2 * RATE:
        assert time.monotonic() < until, "the device never asked for sound"
        time.sleep(0.01)


class Heard:
    """What was recorded; `wave` is float64, one channel, once the recording is over."""

    wave: NDArray[np.float64]


@contextmanager
def listening() -> Iterator[Heard]:
    """Record from here to the end of the block."""
    heard = Heard()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "heard.raw")
        with path.open("wb") as out:
            command = ["parec", "-d", str(monitor()), "--format=s16le", f"--rate={RATE}", "--channels=2"]
            process = subprocess.Popen([*command, "--latency-msec=10"], stdout=out)
            try:
                # A sink that nobody has listened to yet is asleep; it takes a moment to wake.
                time.sleep(1.0)
                yield heard
                time.sleep(0.3)
            finally:
                process.terminate()
                process.wait(timeout=5)
        raw = np.fromfile(path, "<i2")
        heard.wave = raw[: len(raw) // 2 * 2].reshape(-1, 2)[:, 0] / 32768


def find(wave: NDArray[np.float64], shape: NDArray[np.float64], near: int, reach: int) -> tuple[int, float]:
    """Where `shape` lies in `wave`, within `reach` frames of `near`, and how alike they are there (1: the same)."""
    first = max(0, near - reach)
    part = wave[first : near + reach + len(shape)]
    likeness = np.correlate(part, shape, "valid")
    energy = np.convolve(part**2, np.ones(len(shape)), "valid")
    score = likeness / np.sqrt(np.maximum(energy * float(shape @ shape), 1e-12))
    best = int(score.argmax())
    return first + best, float(score[best])


class StampedEar:
    """A listener that also knows when each frame had reached it.

    A frame was heard by the time at which it came out of `parec`: times taken so are upper bounds, `parec`'s own delay
    included.
    """

    def __init__(self) -> None:
        command = ["parec", "-d", str(monitor()), "--format=s16le", f"--rate={RATE}", "--channels=2"]
        self._process = subprocess.Popen([*command, "--latency-msec=5"], stdout=subprocess.PIPE)
        self._pieces: list[bytes] = []
        self._came: list[tuple[float, int]] = []
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._thread.start()
        time.sleep(1.0)

    def _read(self) -> None:
        assert self._process.stdout is not None
        got = 0
        while piece := os.read(self._process.stdout.fileno(), 65536):
            got += len(piece)
            self._pieces.append(piece)
            self._came.append((time.perf_counter(), got // 4))

    def close(self) -> None:
        """Stop listening."""
        self._process.terminate()
        self._process.wait(timeout=5)
        self._thread.join(timeout=5)

    def wave(self) -> NDArray[np.float64]:
        """Everything so far, one channel."""
        raw = np.frombuffer(b"".join(self._pieces), "<i2")
        wave: NDArray[np.float64] = raw[: len(raw) // 2 * 2].reshape(-1, 2)[:, 0] / 32768
        return wave

    def heard_by(self, frame: int) -> float:
        """The ``time.perf_counter()`` stamp by which a frame had been heard."""
        return next(stamp for stamp, got in list(self._came) if got > frame)

    def at(self, stamp: float) -> int:
        """The first frame that came after a stamp."""
        return max((got for when, got in list(self._came) if when <= stamp), default=0)


def loud_after(wave: NDArray[np.float64], frame: int, level: float = 0.01) -> int:
    """The first frame from `frame` on that is louder than `level`."""
    return frame + int(np.flatnonzero(np.abs(wave[frame:]) > level)[0])


def last_loud(wave: NDArray[np.float64], first: int, last: int, level: float = 0.01) -> int:
    """The last frame between two that is louder than `level`; `first` where none is."""
    loud = np.flatnonzero(np.abs(wave[first:last]) > level)
    return first + int(loud[-1]) if len(loud) else first
