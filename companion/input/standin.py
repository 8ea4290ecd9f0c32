"""The demonstration ("stand-in" in code): an input port like an instrument's, on which a model of a learner plays.

It stands for a player where no instrument is connected, is labelled so wherever it is seen, and goes through the same
ear as any port. It makes slips on the box, and gets better from round to round.
"""

from __future__ import annotations

import heapq
import random
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from companion.box.box_values import Fingering
from companion.marking.learner import Learner, simulate_take
from companion.marking.mark_values import Asked, Marks
from companion.places import table
from companion.timeline import Timeline
from companion.toml_file import read_toml

NAME = "stand-in player"


@dataclass(frozen=True, slots=True)
class StandInRules:
    """All of `config/standin.toml`: the learner at first, and what a round leaves of the mistakes and the spread."""

    learner: Learner
    after_clean: float
    after_other: float
    least_spread_ms: float


def read_standin(path: Path | None = None) -> StandInRules:
    """Read the stand-in's table.

    Raises
    ------
    UserError
        Where it cannot be read, or a value is missing or not a number.
    """
    file = read_toml(path or table("standin.toml"))

    def chance(name: str) -> float:
        return file.number("mistakes", name, least=0, most=1)

    return StandInRules(
        Learner(
            bias_ms=file.number("timing", "bias_ms"),
            spread_ms=file.number("timing", "spread_ms", least=0),
            drift=file.number("timing", "drift"),
            wrong=chance("wrong"),
            missed=chance("missed"),
            extra=chance("extra"),
            ornament=chance("ornament"),
        ),
        file.number("practice", "after_clean", least=0, most=1),
        file.number("practice", "after_other", least=0, most=1),
        file.number("practice", "least_spread_ms", least=0),
    )


class StandIn:
    """A port that plays by itself. `callback` takes each mido message, on the stand-in's own thread.

    Parameters
    ----------
    seed : of the random numbers; the same seed plays the same takes.
    rules : None for those of `config/standin.toml`.
    clock : the clock on which `to_monotonic` of :meth:`play` counts.
    """

    def __init__(
        self, seed: int = 0, rules: StandInRules | None = None, clock: Callable[[], float] = time.perf_counter
    ) -> None:
        self.name = NAME
        self.callback: Callable[[Any], None] | None = None
        self.closed = False
        self.rules = rules or read_standin()
        self.learner = self.rules.learner
        self._rng = random.Random(seed)
        self._clock = clock
        # (when, tie-break, pitch, velocity): velocity 0 ends a note.
        self._due: list[tuple[float, int, int, int]] = []
        self._count = 0
        self._sounding: set[int] = set()
        self._change = threading.Condition()
        self._thread = threading.Thread(target=self._run, daemon=True, name=NAME)
        self._thread.start()

    def play(
        self,
        asked: Sequence[Asked],
        timeline: Timeline,
        to_monotonic: Callable[[float], float],
        fingering: Fingering | None = None,
    ) -> None:
        """Play a round: on top of what is still to be played, so it can be asked for ahead of time.

        Parameters
        ----------
        asked, timeline : the notes and where their beat lies.
        to_monotonic : maps the timeline's seconds to the stand-in's clock.
        fingering : where given, wrong notes are slips on its box.
        """
        heard, _ = simulate_take(asked, timeline, self.learner, self._rng, fingering)
        with self._change:
            for note in heard:
                end = note.end if note.end is not None else note.seconds + 0.1
                self._add(to_monotonic(note.seconds), note.pitch, note.velocity)
                self._add(to_monotonic(end), note.pitch, 0)
            self._change.notify()

    def stop(self) -> None:
        """Play nothing more; what sounds ends."""
        with self._change:
            self._due.clear()
            for pitch in self._sounding:
                self._add(0.0, pitch, 0)
            self._change.notify()

    def heard_marks(self, marks: Marks) -> None:
        """Learn from a round: fewer mistakes and a smaller spread from now on."""
        left = self.rules.after_clean if marks.clean else self.rules.after_other
        now = self.learner
        spread = max(self.rules.least_spread_ms, now.spread_ms * (0.5 + left / 2.0))
        self.learner = replace(
            now, wrong=now.wrong * left, missed=now.missed * left, extra=now.extra * left, spread_ms=spread
        )

    def close(self) -> None:
        """Stop for good."""
        with self._change:
            self.closed = True
            self._due.clear()
            self._change.notify()
        if self._thread is not threading.current_thread():
            self._thread.join(timeout=2.0)

    def _add(self, when: float, pitch: int, velocity: int) -> None:
        self._count += 1
        heapq.heappush(self._due, (when, self._count, pitch, velocity))

    def _run(self) -> None:
        """Send each message when it is due."""
        import mido

        while True:
            with self._change:
                if self.closed:
                    return
                wait = self._due[0][0] - self._clock() if self._due else None
                if wait is None or wait > 0:
                    self._change.wait(wait)
                    continue
                _, _, pitch, velocity = heapq.heappop(self._due)
                (self._sounding.add if velocity else self._sounding.discard)(pitch)
                call = self.callback
            if call is not None:
                call(mido.Message("note_on", note=pitch, velocity=velocity))
