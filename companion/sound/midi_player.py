"""The process that owns a MIDI output: sends notes when they are due, and ends every note however it stops.

It runs as a process of its own (:mod:`companion.sound.midi_out` starts it): drawing and rendering cannot make it late,
and when the companion goes, however it goes, the end of its input tells it to silence the synthesiser.

A line of input is one order: ``note STAMP CHANNEL PITCH VELOCITY SECONDS``, ``level CHANNEL FACTOR`` or ``cut``. Stamps
are ``time.perf_counter()`` seconds, which all processes of a machine share.
"""

from __future__ import annotations

import heapq
import os
import queue
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterable
from typing import Any

NEAR = 0.002  # seconds before a note: from here on, wait without sleeping
ALL_OFF = 123  # controller "all notes off" (MIDI 1.0)
ACCORDION = 21  # General MIDI's program 22, counted from 0
PERCUSSION = 9
LATE = 0.5  # seconds: a later note is not sent at all


class NoteSender:
    """Sends what is due; `send` takes a status byte and two data bytes."""

    def __init__(self, send: Callable[[int, int, int], None]) -> None:
        self._send = send
        self._due: list[tuple[float, int, int, int, int]] = []  # stamp, 0 off or 1 on, channel, pitch, velocity
        self._sounding: dict[tuple[int, int], int] = {}
        self._levels: dict[int, float] = {}
        self._channels: set[int] = set()

    def order(self, words: list[str]) -> None:
        """Take one order; what is none is passed over."""
        if words[:1] == ["note"] and len(words) == 6:
            stamp, seconds = float(words[1]), float(words[5])
            channel, pitch, velocity = (int(word) for word in words[2:5])
            if 0 <= pitch <= 127 and stamp > time.perf_counter() - LATE:
                heapq.heappush(self._due, (stamp, 1, channel, pitch, velocity))
                heapq.heappush(self._due, (stamp + max(0.001, seconds), 0, channel, pitch, 0))
        elif words[:1] == ["level"] and len(words) == 3:
            self._levels[int(words[1])] = float(words[2])
            if self._levels[int(words[1])] == 0:
                self._end(int(words[1]))
        elif words[:1] == ["cut"]:
            self.silence()

    def next_due(self) -> float | None:
        """When the next thing is due, None where nothing is."""
        return self._due[0][0] if self._due else None

    def send_due(self) -> None:
        """Send everything whose moment has come; ends before beginnings."""
        while self._due and self._due[0][0] <= time.perf_counter():
            _, on, channel, pitch, velocity = heapq.heappop(self._due)
            held = self._sounding.get((channel, pitch), 0)
            if on:
                velocity = min(127, round(velocity * self._levels.get(channel, 1.0) ** 0.5))
                if velocity > 0:
                    self._channels.add(channel)
                    self._sounding[(channel, pitch)] = held + 1
                    self._send(0x90 | channel, pitch, velocity)
            elif held:
                # The same note started again before it ended: only the last end counts.
                self._sounding[(channel, pitch)] = held - 1
                if held == 1:
                    self._send(0x80 | channel, pitch, 0)

    def silence(self) -> None:
        """End every note, and forget what is still to come."""
        self._due.clear()
        for channel in sorted(self._channels):
            self._end(channel)
            self._send(0xB0 | channel, ALL_OFF, 0)

    def _end(self, channel: int) -> None:
        for key, held in self._sounding.items():
            if key[0] == channel and held:
                self._send(0x80 | channel, key[1], 0)
                self._sounding[key] = 0


def run(orders: Iterable[str], send: Callable[[int, int, int], None], stopped: threading.Event) -> None:
    """Send until the orders end or it is stopped; silent afterwards in any case."""
    player = NoteSender(send)
    waiting: queue.SimpleQueue[str | None] = queue.SimpleQueue()

    def read() -> None:
        try:
            for line in orders:
                waiting.put(line)
        finally:
            waiting.put(None)

    threading.Thread(target=read, daemon=True).start()
    try:
        while not stopped.is_set():
            due = player.next_due()
            left = 0.1 if due is None else due - time.perf_counter()
            try:
                order = waiting.get(timeout=min(left - NEAR, 0.1)) if left > NEAR else waiting.get_nowait()
                if order is None:
                    return
                player.order(order.split())
            except queue.Empty:
                pass
            except ValueError:
                continue
            player.send_due()
    finally:
        player.silence()


def main() -> None:
    """``python -m companion.sound.midi_player BACKEND PORT``; says "ready", or what is wrong."""
    backend, name = sys.argv[1:3]
    stopped = threading.Event()
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the companion, which then ends our input
    signal.signal(signal.SIGTERM, lambda *_: stopped.set())
    os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
    try:
        import mido

        port: Any = mido.Backend(backend, load=True).open_output(name)
        for channel in range(5):
            port.send(mido.Message("program_change", channel=channel, program=ACCORDION))
    except Exception as error:  # whatever a driver raises, this port cannot be opened
        print(f"error {(str(error).splitlines() or [type(error).__name__])[0]}", flush=True)
        return
    print("ready", flush=True)

    def send(status: int, first: int, second: int) -> None:
        port.send(mido.Message.from_bytes((status, first, second)))

    run(sys.stdin, send, stopped)
    time.sleep(0.05)  # let the last messages leave before the port closes
    port.close()


if __name__ == "__main__":
    main()
