"""What the window of a real session costs: ``python -m benchmarks.window_session [SECONDS]``.

A session at 1920×1080 on an X server, its sound going to PulseAudio, a player's notes coming in over JACK. Each
frame is timed from the call that shows it to its return, with the picture handed to the X server. Then the session is
paused, and the processor's time is measured. Needs the three servers (DEVELOPERS.md).

``… window_session hour`` winds an hour of practice on devices without time, all rounds rendered, marked, and kept,
every fifth frame drawn, and says by how much the process has grown.
"""

from __future__ import annotations

import gc
import os
import sys
import tempfile
import threading
import time
from pathlib import Path
from typing import Any

SIZE = (1920, 1080)
IDLE = 15.0  # seconds for which it is paused
MOST = {"median": 6.0, "99%": 12.0}  # ms
WARM = 0.2  # share of the time after which memory is compared: until then everything is seen for the first time
FRAME = 1 / 60


def main() -> int:
    """Run it and print what was found. Gives 1 where anything is over its limit."""
    given = sys.argv[1] if len(sys.argv) > 1 else "60"
    return an_hour() if given == "hour" else a_session(float(given))


def a_session(seconds: float) -> int:
    """A session in real time on real servers."""
    from benchmarks.frames import FrameCosts, spread
    from companion.cli import practise_command
    from companion.cli.main import main as companion
    from companion.screen.actions import Action
    from companion.session.session_state import Mode, Wish
    from tests.servers.whole_job import CLIENT, PORT, PlayedSession, Player

    costs = FrameCosts(round(70 * seconds) + 1000)
    memory: list[float] = []
    idle: list[float] = []

    class Session(PlayedSession):
        """Pauses near its end, and keeps what the processor did from then on."""

        def step(self) -> None:
            now = time.monotonic() - began
            if now > seconds and not idle:
                if self.state.mode is Mode.PLAYING:
                    self.tell(Wish(Action.PAUSE))
                Player.look = 1.0  # the player's own thread is not the program's
                idle[:] = [time.monotonic(), time.process_time()]
            super().step()

    def watch() -> None:
        while True:
            memory.append(resident())
            time.sleep(5.0)

    costs.watch()
    PlayedSession.player, PlayedSession.asked, PlayedSession.shown = Player(), [], []
    practise_command.Session = Session  # type: ignore[misc]
    threading.Thread(target=watch, daemon=True).start()
    with tempfile.TemporaryDirectory() as folder:
        for name in ("DATA", "CACHE", "CONFIG"):
            os.environ[f"BOX_COMPANION_{name}"] = f"{folder}/{name.lower()}"
        began = time.monotonic()
        size = f"{SIZE[0]}x{SIZE[1]}"
        done = companion(
            ["practise", "--tune", "1", "--port", f"{CLIENT}:{PORT}", "--size", size, "--seconds", str(seconds + IDLE)]
        )
    busy = (time.process_time() - idle[1]) / (time.monotonic() - idle[0])
    after = memory[max(1, round(WARM * len(memory))) :]
    growth = after[-1] - after[0]
    frames = costs.all()[60:]
    at = spread(frames)
    print(f"{len(frames)} pictures drawn at {size} in {seconds:.0f} s, {len(PlayedSession.player.sent)} notes came in")
    print("a frame, ms: " + ", ".join(f"{name} {ms:.2f}" for name, ms in at.items()))
    print(f"paused: {100 * busy:.1f} % of a core")
    print("memory, MB, every 30 s: " + ", ".join(f"{one:.1f}" for one in memory[::6]))
    print(f"memory: {after[0]:.1f} MB, and {growth:+.1f} MB in {5 * len(after)} s after the first fifth")
    return int(done or any(at[name] > most for name, most in MOST.items()) or busy > 0.10)


def an_hour() -> int:
    """An hour of practice on wound devices, with a window that is drawn."""
    os.environ["SDL_VIDEODRIVER"] = "dummy"
    from companion.screen.window import open_window
    from companion.session.memory import give_back
    from tests.session.fakes import Bench

    give_back()
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder), calm_wait=8.0)  # with its pages between pieces, as a session has them
        window, show, count = open_window(SIZE), bench.window.show, 0

        def drawn(page: Any) -> None:
            nonlocal count
            show(page)
            bench.window.shown.clear()  # it remembers for the tests' sake
            count += 1
            if count % 5 == 0:
                window.show(page)

        bench.window.show = drawn  # type: ignore[method-assign]
        memory = []
        for _ in range(60):
            bench.wind(60.0, FRAME)
            bench.player.learnt.clear()
            bench.speaker.queued.clear()
            gc.collect()
            memory.append(resident())
        warm = memory[5]
        print(f"an hour, {len(bench.session.rounds)} rounds, {count} frames")
        print("MB after 6, 12, … 60 minutes: " + ", ".join(f"{one:.1f}" for one in memory[5::6]))
        print(f"grown by {memory[-1] - warm:.1f} MB from the sixth minute on")
        return int(memory[-1] - warm > 10.0)


def resident(process: int | str = "self") -> float:
    """The memory that this process, or another, holds now, in MB (Linux)."""
    pages = int(Path(f"/proc/{process}/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


if __name__ == "__main__":
    sys.exit(main())
