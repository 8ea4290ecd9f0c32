"""A practice session on real devices in which the player is heard through a microphone: run by `test_heard_session`.

The program's own `practise` command runs, with one thing added: whenever a round begins, a sampled accordion plays its
notes into the room in which the microphone is. What was played, and what became of it, is written beside what the
session leaves.
"""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np

from companion.cli import practise_command
from companion.cli.main import main
from companion.hearing.ear import write_ear
from companion.hearing.learn import learn_ear
from companion.input.ear_files import ear_for, ear_path
from companion.input.microphone import open_microphone
from companion.marking.mark_values import Verdict
from companion.playback.measure_delay import HEARD, measure_heard
from companion.practice.player_state import LISTEN
from companion.practice.round_plan import RoundPlan
from companion.session.session import Session
from companion.session.session_state import KeepRound, Order, SoundRound
from companion.sound.delays import keep_delay
from companion.sound.speaker import RATE, open_speaker
from tests.hearing.sounds import Note, Sound, Voice, played
from tests.servers.room import AIR_NAME, NAME

VOICE = Voice("timgm", 22)
LOUD = 0.5
WRONG = 3  # in every so many rounds one note is wrong
PITCHES = range(57, 89)


def sound_of(notes: list[Note]) -> Sound:
    """The notes as the accordion in the room sounds them."""
    made: Sound = LOUD * played(notes, VOICE, max(note.end for note in notes) + 0.4)
    return made


class Player:
    """Plays into the room."""

    def __init__(self) -> None:
        self.air = open_speaker(device=AIR_NAME)

    def play(self, notes: list[tuple[float, int, float]]) -> None:
        """Notes by the stamp at which each begins, its pitch and its seconds."""
        first = min(stamp for stamp, _, _ in notes)
        sound = sound_of([Note(stamp - first, stamp - first + long, pitch) for stamp, pitch, long in notes])
        wait = round(self.air.place_of(first) * RATE) - self.air.queued_until()
        both = np.repeat(sound[:, None], 2, axis=1)
        if wait > 0:
            self.air.queue(np.zeros((wait, 2), np.float32), wait)
        last = max(stamp for stamp, _, _ in notes) - first
        self.air.queue(both, round((last + 0.05) * RATE))


class HeardSession(Session):
    """A session that is played by ear."""

    player: Player
    rounds_played: list[dict[str, Any]]
    lit: list[float]  # how long after it sounded each note was seen to be right
    _due: dict[int, dict[int, float]]

    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self.watch = self.ordered
        self._due = {}

    def step(self) -> None:
        """One pass; then what is seen of each note that has sounded."""
        super().step()
        now = time.perf_counter()
        for one in self.state.in_play:
            waiting = self._due.get(id(one.plan), {})
            for index in [n for n in waiting if one.verdicts.get(n) is Verdict.RIGHT]:
                HeardSession.lit.append(now - waiting.pop(index))

    def ordered(self, order: Order) -> None:
        """Play each round that begins; write down what became of it."""
        if isinstance(order, SoundRound):
            plan = self.state.in_play[-1].plan
            if plan.task.step != LISTEN:
                self.begun(plan)
        elif isinstance(order, KeepRound):
            verdicts = [[note.written, note.verdict.value] for note in order.kept.marks.notes]
            one = next(
                one for one in HeardSession.rounds_played
                if "verdicts" not in one and (one["piece"], one["step"]) == (order.kept.piece, order.kept.step)
            )  # fmt: skip
            one["verdicts"] = verdicts

    def begun(self, going: RoundPlan) -> None:
        """Play a round."""
        number, speaker = len(HeardSession.rounds_played), self.devices.speaker
        ahead = time.perf_counter() - speaker.place_of(time.perf_counter()) + (0.0 if going.clocked else 0.6)
        whole = going.timeline.whole
        notes, wrong = [], []
        for n, note in enumerate(going.asked):
            slip = number % WRONG == WRONG - 1 and n == len(going.asked) // 2 and going.clocked
            pitch = note.pitch + 2 * slip
            wrong += [note.index] * slip
            stamp = going.timeline.seconds(note.at) + ahead
            notes.append((stamp, pitch, max(0.08, float(note.length) * whole - 0.04)))
            if not slip:
                self._due.setdefault(id(going), {})[note.index] = stamp
        HeardSession.rounds_played.append(
            {"piece": going.task.piece.name, "step": going.task.step, "wrong": wrong, "notes": len(notes)}
        )
        HeardSession.player.play(notes)


def get_to_know(box: str) -> None:
    """Learn the accordion, and measure how late the microphone hears what sounds in the room."""
    notes = [Note(1 + 1.4 * n, 2.1 + 1.4 * n, pitch) for n, pitch in enumerate(PITCHES)]
    sound = sound_of(notes)
    sound = (sound + 3e-4 * np.random.default_rng(1).standard_normal(len(sound))).astype(np.float32)
    path = ear_path(box, NAME)
    path.parent.mkdir(parents=True, exist_ok=True)
    write_ear(path, learn_ear(sound, RATE, list(PITCHES)))
    microphone = open_microphone(NAME, lambda name: ear_for("", name))
    try:
        found = measure_heard(HeardSession.player.air, microphone)
    finally:
        microphone.close()
    keep_delay(HEARD, f" · {NAME}", found.seconds)
    print(f"delay {1000 * found.seconds:.1f} ms, scatter {1000 * found.scatter:.2f} ms", flush=True)


if __name__ == "__main__":
    folder, seconds = Path(sys.argv[1]), sys.argv[2]
    HeardSession.player = Player()
    HeardSession.rounds_played, HeardSession.lit = [], []
    get_to_know("bc-21")
    practise_command.Session = HeardSession  # type: ignore[misc]
    done = main(["practise", "--tune", "1", "--microphone", NAME, "--seconds", seconds, "--keep", str(folder)])
    left = {"rounds": HeardSession.rounds_played, "lit": HeardSession.lit}
    (folder / "heard.json").write_text(json.dumps(left), encoding="utf-8")
    HeardSession.player.air.close()
    sys.exit(done)
