"""The session of the hour: run as a program by `benchmarks.hour_under_load`.

    python -m benchmarks.hour.session LOG SECONDS ORDERS SOUND [SEED]

The program's own `practise` command runs, in its window, on the system's sound, with an instrument on a MIDI port. Four
things are added: what a round asks for goes as an order to the player (file descriptor ORDERS), what the sound device
takes goes to whoever compares it with what is heard (SOUND), what comes of it all goes to LOG, a JSON line each, and
each picture is timed.
"""

from __future__ import annotations

import json
import os
import random
import sys
import threading
import time
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from benchmarks.frames import FrameCosts
from companion.cli import practise_command
from companion.cli.main import main as companion
from companion.input.events import EventKind, PortNews
from companion.input.listening import Listening
from companion.marking.mark_values import Verdict
from companion.practice.player_state import LISTEN
from companion.practice.round_plan import RoundPlan
from companion.screen.page_values import BreakPage, Page, PracticePage
from companion.screen.window import Window
from companion.screen.words import load_words
from companion.session.round_in_play import RoundInPlay
from companion.session.session import Session
from companion.session.session_state import Order, Silence, SoundRound, Told
from companion.sound import speaker
from companion.sound.device import SystemDevice
from companion.sound.tape import Tape
from tests.servers.sound_ear import RATE
from tests.servers.whole_job import CLIENT, PORT, due_notes

take_news = Listening.news
SLIPS = 0.05  # the share of rounds in which the player plays one wrong note
SURE = 6  # the first rounds, in which the program learns what the instrument sends, are played right
SIZE = "1920x1080"


class Reports:
    """The log, the orders and the sound, and the chance by which the player slips."""

    def __init__(self, log: Path, orders: int, sound: int, seed: int) -> None:
        self._log = log.open("w", encoding="utf-8")
        self._orders, self.sound = orders, sound
        self.chance = random.Random(seed)
        self.gone = load_words()("instrument_gone")
        self.told = False
        self._lock = threading.RLock()
        self.tape: WatchedTape | None = None
        self.dry = 0  # how often the device's queue was found empty

    def say(self, *what: Any) -> None:
        """Write to the log, with the moment."""
        with self._lock:
            self._log.write(json.dumps([what[0], time.perf_counter(), *what[1:]]) + "\n")

    def order(self, *what: Any) -> None:
        """Tell the player."""
        os.write(self._orders, (json.dumps(what) + "\n").encode())

    def close(self) -> None:
        """Close the log."""
        self._log.close()


class Tapped:
    """In the place of the recorder: what the device has taken is handed on, and not kept."""

    failed = ""  # nothing is kept, so nothing can fail
    _place = 0

    def take(self, block: NDArray[Any]) -> None:
        """Hand on the left side, and say now and then how far the device has come."""
        self._place += len(block)
        if self._place // RATE > (self._place - len(block)) // RATE:
            reports.say("tape", self._place, reports.tape.held / 1e6 if reports.tape is not None else 0.0)
        os.write(reports.sound, (np.clip(block[:, 0], -1, 1) * 32767).astype("<i2").tobytes())

    def taken(self) -> NDArray[np.int16]:
        """Nothing is kept."""
        return np.zeros((0, 2), np.int16)

    def close(self) -> None:
        """Nothing is to be closed."""


class WatchedTape(Tape):
    """Is known to the reports, which say how much sound it holds."""

    def __init__(self, rate: int, fade_s: float, guard: int = 0) -> None:
        super().__init__(rate, fade_s, guard)
        reports.tape = self


class WatchedDevice(SystemDevice):
    """Counts how often its queue was found empty: then the device has played what was not asked for."""

    _wet = False

    def queued(self) -> int:
        """Frames that are in the queue."""
        frames = super().queued()
        if frames == 0 and self._wet:
            reports.dry += 1
        self._wet = frames > 0
        return frames


class WatchedSession(Session):
    """A session that orders each round from the player, and says what came of it."""

    _shown = 0

    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self.watch = self.ordered
        self._numbers: dict[int, int] = {}  # of each round in play, by its plan's identity
        self._ordered = 0
        self._before: tuple[RoundInPlay, ...] = ()  # the rounds in play before the step under way

    def tell(self, told: Told) -> None:
        """Tell the machine; then say what came of a round that was marked by it."""
        before, kept = self.state.in_play, len(self.rounds)
        self._before = before
        super().tell(told)
        if len(self.rounds) > kept:
            now = {id(one.plan): one for one in self.state.in_play}
            done = next(
                one for one in before if not one.marked and (id(one.plan) not in now or now[id(one.plan)].marked)
            )
            self.marked(done.plan)

    def ordered(self, order: Order) -> None:
        """Order each round that begins from the player; say which were stopped."""
        if isinstance(order, SoundRound):
            self.begun(self.state.in_play[-1].plan)
        elif isinstance(order, Silence) and self._before:
            reports.say("dropped", [self._numbers.pop(id(one.plan), None) for one in self._before])
            reports.order("stop")

    def begun(self, going: RoundPlan) -> None:
        """Order a round from the player."""
        if not self._ordered:
            costs.begin()
        self._ordered += 1
        number = self._ordered
        self._numbers[id(going)] = number
        first = round(going.begins * self.devices.speaker.rate) if going.clocked else None
        length = round(going.ends * self.devices.speaker.rate) - first if first is not None else None
        reports.say("round", number, going.task.piece.name, going.task.step, going.timeline.bpm, first, length)
        if going.task.step == LISTEN:
            return
        notes = [[*note, note[1]] for note in due_notes(going, self.devices.speaker)]
        if number > SURE and reports.chance.random() < SLIPS:
            wrong = reports.chance.choice(notes)
            wrong[1] += 1
        reports.order("play", number, notes)

    def marked(self, going: RoundPlan) -> None:
        """Say what came of a round."""
        marks = self.rounds[-1].marks
        verdicts = [[n.verdict, n.written, n.pitch, n.heard_pitch, n.late_ms] for n in marks.notes]
        faulty = [] if marks.clean else verdicts
        heard = sum(note.heard is not None for note in marks.notes)
        number = self._numbers.pop(id(going), None)
        extra = sum(note.verdict is Verdict.EXTRA for note in marks.notes)
        reports.say("kept", number, marks.clean, len(marks.notes), heard, extra, faulty)

    def step(self) -> None:
        """One pass; then say what came in, which is on the screen now."""
        super().step()
        for event in self.devices.listening.came:
            if event.what is EventKind.ON:
                reports.say("heard", event.stamp, event.pitch, event.velocity)
        heard = self.devices.listening.forgotten + len(self.devices.listening.taken)
        if heard > self._shown:
            reports.say("drawn", heard - self._shown)
            self._shown = heard

    def finish(self) -> None:
        """The end, with the last figures."""
        super().finish()
        listening = self.devices.listening
        dropped = listening.instrument.dropped if listening.instrument is not None else 0
        reports.say("end", listening.forgotten + len(listening.taken), len(self.rounds), dropped, reports.dry)


def news_of(listening: Listening) -> list[PortNews]:
    """What the session is told of the plug, and so is the log."""
    found = take_news(listening)
    for one in found:
        reports.say("news", one.stamp, one.there)
    return found


def told(_window: Window, page: Page) -> None:
    """Note when the window begins and ceases to say that the instrument is gone."""
    if isinstance(page, (PracticePage, BreakPage)) and (reports.gone in page.notices) is not reports.told:
        reports.told = not reports.told
        reports.say("told" if reports.told else "untold")


def main(log: str, seconds: str) -> int:
    """Run it."""
    costs.watch(after=told)
    for where, name, watched in (
        (Listening, "news", news_of),
        (practise_command, "Session", WatchedSession),
        (speaker, "Recorder", Tapped),
        (speaker, "Tape", WatchedTape),
        (speaker, "SystemDevice", WatchedDevice),
    ):
        setattr(where, name, watched)
    left = str(Path(log).parent / "left")
    port = f"{CLIENT}:{PORT}"
    done = companion(
        ["practise", "--tune", "1", "--port", port, "--size", SIZE, "--minutes", "600", "--no-due",
         "--seconds", seconds, "--keep", left]
    )  # fmt: skip
    reports.say("frames", len(costs.all()), costs.all().tolist())
    reports.close()
    return done


if __name__ == "__main__":
    reports = Reports(Path(sys.argv[1]), int(sys.argv[3]), int(sys.argv[4]), int((*sys.argv[5:], "1")[0]))
    costs = FrameCosts(round(float(sys.argv[2]) * 70) + 1000)
    sys.exit(main(sys.argv[1], sys.argv[2]))
