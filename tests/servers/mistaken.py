"""A practice session on real devices with a player who makes each beginner's mistake once: run by `test_mistaken`.

When the picture that answers a wrong press was on the screen is written beside what the session leaves.
"""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path
from typing import Any

from companion.cli import practise_command
from companion.cli.main import main
from companion.practice.player_state import LISTEN
from companion.screen.page_values import Page, PracticePage
from companion.screen.window import Window
from companion.session.session import Session
from companion.session.session_state import Order, SoundRound
from tests.servers.whole_job import CLIENT, PORT, Player, due_notes
from tests.session.mistakes import MISTAKES, wrong_pitch

LATER = 0.25  # seconds after which the right note is played where the round waits for it


class MistakenSession(Session):
    """A session whose player makes one mistake a round."""

    player: Player
    made: list[dict[str, Any]]
    answers: list[dict[str, Any]]  # what was on the screen, and when, each time that it changed

    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self.watch = self.ordered

    def ordered(self, order: Order) -> None:
        """Play each round that begins, with the next mistake in it."""
        if not isinstance(order, SoundRound) or self.state.in_play[-1].plan.task.step == LISTEN:
            return
        plan = self.state.in_play[-1].plan
        notes = due_notes(plan, self.devices.speaker)
        left = [one for one in MISTAKES if one.cause not in {made["cause"] for made in MistakenSession.made}]
        where = None
        for mistake in left[:1]:
            fingering = self.setting.tune.fingering
            for k in range(1, len(plan.asked) - 1):
                pitch = wrong_pitch(fingering, plan.asked, k, mistake.cause)
                if pitch is not None:
                    where = k
                    made = {"cause": mistake.cause, "said": mistake.said, "pitch": pitch}
                    made |= {"at": notes[k][0], "from": notes[0][0] - 0.05, "until": notes[-1][0] + LATER + 0.05}
                    MistakenSession.made.append(made)
                    break
        late = 0.0
        for k, (stamp, right, seconds) in enumerate(notes):
            if k == where:
                MistakenSession.player.play(stamp, MistakenSession.made[-1]["pitch"], min(seconds, 0.8 * LATER))
                if plan.clocked:
                    continue
                late = LATER
            MistakenSession.player.play(stamp + late, right, seconds)


class SeenWindow(Window):
    """A window that notes when something new was on the screen."""

    def show(self, page: Page) -> None:
        super().show(page)
        if isinstance(page, PracticePage):
            seen = {"sentence": page.sentence, "tried": len(page.tried)}
            if not MistakenSession.answers or {k: MistakenSession.answers[-1][k] for k in seen} != seen:
                MistakenSession.answers.append(seen | {"at": time.perf_counter()})


if __name__ == "__main__":
    folder, arguments = Path(sys.argv[1]), sys.argv[2:]
    MistakenSession.player = Player()
    MistakenSession.made, MistakenSession.answers = [], []
    practise_command.Session = MistakenSession  # type: ignore[misc]
    import companion.screen.window as window_room

    window_room.Window = SeenWindow  # type: ignore[misc]
    done = main(["practise", "--port", f"{CLIENT}:{PORT}", "--keep", str(folder), *arguments])
    left = {"made": MistakenSession.made, "answers": MistakenSession.answers, "sent": MistakenSession.player.sent}
    (folder / "mistakes.json").write_text(json.dumps(left), encoding="utf-8")
    sys.exit(done)
