"""A player of flesh and wire in a process of its own: run as a program by `benchmarks.hour_under_load`.

    python -m benchmarks.hour.player LOG PLUGS < orders

Orders come in as JSON lines: ``["play", round, [[stamp, pitch, seconds, asked], …]]`` and ``["stop"]``; stamps are
``time.perf_counter()``'s, which on Linux is one clock for all processes. It says "ready" once its port is there. What
it does goes to LOG, a JSON line each: notes sent and not sent, and when it was unplugged and plugged in.
"""

from __future__ import annotations

import heapq
import json
import os
import select
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TextIO

import rtmidi

from tests.servers.whole_job import AT_ONCE, CLIENT, PORT

LOOK = 0.001  # seconds between two looks
SHARE = 0.3  # of a round's notes: so many must have been played, and so many be still to come, in its middle
REST = 5.0  # seconds for which it stays plugged in at least


@dataclass(frozen=True, slots=True)
class Plug:
    """An unplugging: `at` seconds after the first round, or after it in the `middle` of one, for `away` seconds."""

    at: float
    middle: bool
    away: float


@dataclass
class Player:
    """Sends what is due, keeps a log, is unplugged by its plan."""

    log: TextIO
    plugs: list[Plug]
    due: list[tuple[float, int, int, list[Any]]] = field(default_factory=list)
    began: float | None = None
    back: float | None = None  # when it is to be plugged in again
    put: float = 0.0  # when it was plugged in
    out: Any = None
    _number: int = 0
    _held: set[int] = field(default_factory=set)
    _sent: dict[int, tuple[int, int]] = field(default_factory=dict)  # of each round: notes sent, notes in all

    def plug(self) -> None:
        """Plug the instrument in."""
        self.out = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name=CLIENT)
        self.out.open_virtual_port(PORT)
        self.back = None
        self.put = time.perf_counter()
        self.say("in", self.put)

    def unplug(self, plug: Plug, middle: bool) -> None:
        """Pull the plug out."""
        stamp = time.perf_counter()
        self.out.delete()
        self.out = None
        self.back = stamp + plug.away
        self.say("out", stamp, time.perf_counter(), middle)

    def say(self, *what: Any) -> None:
        """Write to the log."""
        self.log.write(json.dumps(what) + "\n")

    def obey(self, line: str) -> None:
        """Take an order."""
        what, *given = json.loads(line)
        if what == "stop":
            # What sounds is let go at once, what was still to come is not played.
            held = [one for one in self.due if one[1] == 0 and one[3][0] in self._held]
            self.due = [(0.0, *one[1:]) for one in held]
            heapq.heapify(self.due)
            return
        number, notes = given
        self._sent = {number - 1: self._sent.get(number - 1, (0, 0)), number: (0, len(notes))}
        self.began = self.began if self.began is not None else time.perf_counter()
        for stamp, pitch, seconds, asked in notes:
            self._number += 1
            # The velocity tells one note from the next, so that a lost one is known by its name.
            velocity = 20 + self._number % 100
            heapq.heappush(self.due, (stamp, 1, self._number, [self._number, number, pitch, velocity, asked]))
            heapq.heappush(self.due, (stamp + seconds, 0, self._number, [self._number, number, pitch, 0, asked]))

    def send(self) -> None:
        """Send what is due."""
        for _ in range(AT_ONCE):
            now = time.perf_counter()
            if not self.due or self.due[0][0] > now:
                return
            stamp, on, _, (note, number, pitch, velocity, asked) = heapq.heappop(self.due)
            if self.out is not None:
                self.out.send_message([0x90 if on else 0x80, pitch, velocity])
            if on:
                self.say("note", now, number, asked, pitch, velocity, now - stamp, self.out is not None)
                self._held.add(note)
                sent, count = self._sent.get(number, (0, 0))
                self._sent[number] = (sent + 1, count)
            else:
                self._held.discard(note)

    def mind_the_plug(self) -> None:
        """Pull it out, or put it in, where that is due."""
        now = time.perf_counter()
        if self.back is not None and now >= self.back:
            self.plug()
        if self.back is not None or self.began is None or not self.plugs or now - self.put < REST:
            return
        if now - self.began >= self.plugs[0].at:
            middle = any(SHARE <= sent / count <= 1 - SHARE for sent, count in self._sent.values() if count >= 3)
            if middle or not self.plugs[0].middle:
                self.unplug(self.plugs.pop(0), middle)


def main() -> None:
    """Play until the orders end."""
    log, plugs = Path(sys.argv[1]), [Plug(*one) for one in json.loads(sys.argv[2])]
    with log.open("w", encoding="utf-8") as out:
        player = Player(out, plugs)
        player.plug()
        print("ready", flush=True)
        half = ""
        while True:
            ready, _, _ = select.select([0], [], [], LOOK)
            if ready:
                came = os.read(0, 1 << 16)
                if not came:
                    return
                *lines, half = (half + came.decode()).split("\n")
                for line in lines:
                    player.obey(line)
            player.send()
            player.mind_the_plug()


if __name__ == "__main__":
    main()
