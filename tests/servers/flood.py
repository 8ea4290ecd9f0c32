"""A session under a flood: run as a program by `test_flood`.

The program's own `practise` command runs and a player plays, as in `whole_job`; for some seconds of it 1,000 notes a
second come in through the same port. What came of them is written beside what the session leaves.
"""

from __future__ import annotations

import json
import sys
import threading
import time
from pathlib import Path
from typing import Any

from companion.cli import practise_command
from companion.cli.main import main
from companion.practice.round_plan import RoundPlan
from tests.servers.whole_job import CLIENT, PORT, PlayedSession, Player

RATE = 1000  # notes a second
SOFT = 33  # the velocity by which the flood's notes are told from the player's
BEGINS, LASTS = 6.0, 5.0  # seconds after the first round in time, and seconds


def memory() -> int:
    """What the program holds now, in bytes (Linux)."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * 4096


class FloodedSession(PlayedSession):
    """The session; the flood begins some seconds after its first round in time."""

    held: list[tuple[float, int]]  # when, and what memory it held
    said: set[str]
    listened: Any = None
    _begun = False

    def begun(self, going: RoundPlan) -> None:
        """Play a round, and let the flood begin."""
        super().begun(going)
        FloodedSession.listened = self.devices.listening
        if PlayedSession.asked and not self._begun:
            FloodedSession._begun = True
            threading.Thread(target=self._pour, daemon=True).start()

    def _pour(self) -> None:
        first = time.perf_counter() + BEGINS
        for k in range(round(RATE * LASTS)):
            PlayedSession.player.play(first + k / RATE, 24 + k * 7 % 80, 0.02, SOFT)
        while time.perf_counter() < first + LASTS + 3:
            FloodedSession.held.append((time.perf_counter() - first, memory()))
            FloodedSession.said.add(self.state.sentence)
            time.sleep(0.1)


if __name__ == "__main__":
    folder, seconds = Path(sys.argv[1]), sys.argv[2]
    PlayedSession.player = Player()
    PlayedSession.asked, PlayedSession.shown = [], []
    FloodedSession.held, FloodedSession.said = [], set()
    practise_command.Session = FloodedSession  # type: ignore[misc]
    done = main(["practise", "--tune", "1", "--port", f"{CLIENT}:{PORT}", "--seconds", seconds, "--keep", str(folder)])
    listening = FloodedSession.listened
    found = {
        "sent": round(RATE * LASTS),
        "heard": sum(note.velocity == SOFT for note in listening.taken),
        "lost": listening.instrument.dropped,
        "before": [held for at, held in FloodedSession.held if at < 0],
        "after": [held for at, held in FloodedSession.held if at >= 0],
        "said": sorted(FloodedSession.said),
    }
    (folder / "flood.json").write_text(json.dumps(found), encoding="utf-8")
    (folder / "asked.json").write_text(json.dumps(PlayedSession.asked), encoding="utf-8")
    sys.exit(done)
