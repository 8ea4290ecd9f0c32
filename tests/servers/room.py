"""A room for the tests: a PulseAudio null sink is its air, and a source made of its monitor the microphone in it."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

NAME, AIR_NAME = "Companion room", "Companion air"  # as SDL lists the microphone, and the loudspeaker in the room
AIR, SOURCE = "companion_room", "companion_mic"


def pactl(*words: str) -> str:
    """Run pactl; what it printed."""
    return subprocess.run(["pactl", *words], capture_output=True, text=True, check=True, timeout=10).stdout.strip()


class Room:
    """A room with a microphone; `play` lets something sound in it. The default devices stay what they are."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        said = AIR_NAME.replace(" ", "\\ ")
        self._air = pactl(
            "load-module", "module-null-sink", f"sink_name={AIR}", f'sink_properties=device.description="{said}"'
        )
        self._microphone = ""
        self._playing: list[subprocess.Popen[bytes]] = []
        self.plug_in()

    @property
    def there(self) -> bool:
        """Whether the microphone is plugged in."""
        return bool(self._microphone)

    def plug_in(self) -> None:
        """Put the microphone there."""
        self._microphone = pactl(
            "load-module", "module-remap-source", f"master={AIR}.monitor", f"source_name={SOURCE}",
            f'source_properties=device.description="{NAME.replace(" ", chr(92) + " ")}"',
        )  # fmt: skip

        self.mute(False)  # the server remembers

    def unplug(self) -> None:
        """Take the microphone away."""
        pactl("unload-module", self._microphone)
        self._microphone = ""

    def mute(self, on: bool) -> None:
        """Mute the microphone, or not."""
        pactl("set-source-mute", SOURCE, str(int(on)))

    def play(self, sound: NDArray[np.float32], rate: int) -> subprocess.Popen[bytes]:
        """Let a sound be heard in the room, from about now on; gives what plays it."""
        path = self._folder / f"take-{len(self._playing)}.wav"
        soundfile.write(path, sound, rate, subtype="PCM_16")
        command = ["paplay", f"--device={AIR}", "--latency-msec=20", str(path)]
        self._playing.append(subprocess.Popen(command))
        return self._playing[-1]

    def close(self) -> None:
        """Leave the server as it was."""
        for one in self._playing:
            one.terminate()
            one.wait(timeout=5)
        for module in filter(None, (self._microphone, self._air)):
            pactl("unload-module", module)


@contextmanager
def room(folder: Path) -> Iterator[Room]:
    """A room while the block runs."""
    made = Room(folder)
    try:
        yield made
    finally:
        made.close()
