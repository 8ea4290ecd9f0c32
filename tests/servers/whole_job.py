"""A practice session on real devices with a player of flesh and wire: run as a program by `test_whole_job`.

The program's own `practise` command runs, with one thing added: whenever a round begins, a player sends its notes over
a real JACK MIDI port, as an instrument would. What was asked, and when, is written beside what the session leaves.
"""

from __future__ import annotations

import heapq
import json
import sys
import threading
import time
from pathlib import Path
from typing import Any

from companion.cli import practise_command
from companion.cli.main import main
from companion.practice.player_state import LISTEN
from companion.practice.round_plan import RoundPlan
from companion.session.session import Session
from companion.session.session_state import Order, SoundRound
from companion.sound.speaker import Speaker

CLIENT, PORT = "wire", "box"
LOUD = 90
AT_ONCE = 8  # messages a millisecond at most: what a server's period has room for (a MIDI cable takes one)


class Player:
    """Sends notes when they are due, from a thread of its own, which looks every `look` seconds."""

    look = 0.001

    def __init__(self) -> None:
        import rtmidi

        self._out = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name=CLIENT)
        self._out.open_virtual_port(PORT)
        self._due: list[tuple[float, int, list[int]]] = []
        self._lock = threading.Lock()
        self.sent: list[tuple[float, int]] = []
        threading.Thread(target=self._run, daemon=True).start()

    def play(self, stamp: float, pitch: int, seconds: float, velocity: int = LOUD) -> None:
        with self._lock:
            heapq.heappush(self._due, (stamp, 1, [0x90, pitch, velocity]))
            heapq.heappush(self._due, (stamp + seconds, 0, [0x80, pitch, 0]))

    def _run(self) -> None:
        while True:
            with self._lock:
                for _ in range(AT_ONCE):
                    if not self._due or self._due[0][0] > time.perf_counter():
                        break
                    message = heapq.heappop(self._due)[2]
                    if message[0] == 0x90:
                        self.sent.append((time.perf_counter(), message[1]))
                    self._out.send_message(message)
            time.sleep(self.look)


class PlayedSession(Session):
    """A session that the player plays in, and whose rounds are written down."""

    player: Player
    asked: list[dict[str, Any]]
    shown: list[float]  # when the frame was drawn that showed what came of each note
    _counted = 0

    def step(self) -> None:
        """One pass; when it is over, what came in is on the screen."""
        super().step()
        drawn = time.perf_counter()
        heard = len(self.devices.listening.taken)
        PlayedSession.shown += [drawn] * (heard - self._counted)
        self._counted = heard

    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self.watch = self.ordered

    def ordered(self, order: Order) -> None:
        """Play each round that begins."""
        if isinstance(order, SoundRound):
            self.begun(self.state.in_play[-1].plan)

    def begun(self, going: RoundPlan) -> None:
        """Play a round, and write down what it asks."""
        speaker = self.devices.speaker
        if going.clocked:
            first = round(going.begins * speaker.rate)
            PlayedSession.asked.append(
                {
                    "first": first,
                    "piece": going.task.piece.name,
                    "bpm": going.timeline.bpm,
                    "bars_in": going.bars_in,
                    "notes": [(str(one.at), one.pitch) for one in going.asked],
                }
            )
        if going.task.step != LISTEN:
            for note in due_notes(going, speaker):
                PlayedSession.player.play(*note)


def due_notes(going: RoundPlan, speaker: Speaker) -> list[tuple[float, int, float]]:
    """When a player sends each note of a round, its pitch, and for how many seconds it is held."""
    ahead = time.perf_counter() - speaker.time_of(time.perf_counter()) + (0.0 if going.clocked else 0.3)
    whole = going.timeline.whole
    return [(going.timeline.seconds(n.at) + ahead, n.pitch, 0.8 * float(n.length) * whole) for n in going.asked]


if __name__ == "__main__":
    folder, seconds = Path(sys.argv[1]), sys.argv[2]
    PlayedSession.player = Player()
    PlayedSession.asked = []
    PlayedSession.shown = []
    practise_command.Session = PlayedSession  # type: ignore[misc]
    done = main(["practise", "--tune", "1", "--port", f"{CLIENT}:{PORT}", "--seconds", seconds, "--keep", str(folder)])
    sent = [stamp for stamp, _ in PlayedSession.player.sent]
    waits = [1e3 * (drawn - stamp) for stamp, drawn in zip(sent, PlayedSession.shown, strict=False)]
    (folder / "waits.json").write_text(json.dumps(waits), encoding="utf-8")
    (folder / "asked.json").write_text(json.dumps(PlayedSession.asked), encoding="utf-8")
    sys.exit(done)
