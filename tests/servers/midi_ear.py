"""A synthesiser that only listens: a JACK MIDI input that keeps what came, and when."""

from __future__ import annotations

import threading
import time
from typing import Any

CLIENT, NAME = "synth", "in"


class MidiEar:
    """Keeps (stamp, status, first, second) of every message."""

    def __init__(self) -> None:
        import rtmidi

        self.heard: list[tuple[float, int, int, int]] = []
        self._lock = threading.Lock()
        self._port = rtmidi.MidiIn(rtapi=rtmidi.API_UNIX_JACK, name=CLIENT, queue_size_limit=4096)
        self._port.open_virtual_port(NAME)
        self._port.set_callback(self._take)

    def _take(self, event: Any, _data: object) -> None:
        stamp = time.perf_counter()
        message = [*event[0], 0, 0][:3]
        with self._lock:
            self.heard.append((stamp, *message))

    def ons(self) -> list[tuple[float, int, int]]:
        """(stamp, channel, pitch) of every note that began."""
        with self._lock:
            return [(at, status & 15, pitch) for at, status, pitch, v in self.heard if status & 0xF0 == 0x90 and v]

    def hanging(self) -> set[tuple[int, int]]:
        """Notes that still sound, by channel and pitch."""
        on: set[tuple[int, int]] = set()
        with self._lock:
            for _, status, pitch, velocity in self.heard:
                if status & 0xF0 == 0x90 and velocity:
                    on.add((status & 15, pitch))
                elif status & 0xF0 in (0x80, 0x90):
                    on.discard((status & 15, pitch))
        return on

    def close(self) -> None:
        """Unplug it."""
        self._port.delete()
