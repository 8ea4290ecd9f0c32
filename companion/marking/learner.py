"""A model of a learner: how a round might be played by someone who is still learning it. An invention of ours.

It plays for the stand-in player and in the tests; nothing in the matching knows of it.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, replace

from companion.box.box_values import Box, Fingering
from companion.marking.causes import slips
from companion.marking.mark_values import Asked, Heard, Verdict
from companion.timeline import Timeline


@dataclass(frozen=True, slots=True)
class Learner:
    """What a learner does: times in ms, chances a written note (0 to 1).

    `bias_ms` is how late on the whole (negative: early), `spread_ms` the standard deviation round it, `drift` the
    change of tempo over the round (0.02: two per cent slower at its end), `wander` how unevenly the pace goes from note
    to note (0.1: by about a tenth more or less, which dies away over some ten notes); `restart` goes back up to `back`
    notes.
    """

    bias_ms: float = -15.0
    spread_ms: float = 18.0
    drift: float = 0.0
    wander: float = 0.0
    wrong: float = 0.0
    missed: float = 0.0
    extra: float = 0.0
    repeated: float = 0.0
    ornament: float = 0.0
    restart: float = 0.0
    back: int = 6
    missed_run: float = 0.0
    ends: bool = True


@dataclass(frozen=True, slots=True)
class Truth:
    """What a note really was: as in `NoteMark`, with `slip` the true cause of a wrong note."""

    written: int | None
    heard: int | None
    verdict: Verdict
    slip: str | None = None


@dataclass(frozen=True, slots=True)
class _PlannedNote:
    """A note on its way into the take, with its truth."""

    note: Heard
    written: int | None
    verdict: Verdict
    slip: str | None = None


def simulate_take(
    asked: Sequence[Asked],
    timeline: Timeline,
    learner: Learner,
    rng: random.Random,
    fingering: Fingering | None = None,
) -> tuple[tuple[Heard, ...], tuple[Truth, ...]]:
    """Play a round as a learner might.

    Wrong notes are slips on the box where a fingering is given, else near pitches. After a restart the notes of the
    attempt given up count as extra.

    Returns
    -------
    tuple of Heard, tuple of Truth
        The notes in order of onset, and the truth of every written and every heard note.
    """
    player = _TakeMaker(asked, timeline, learner, rng, fingering)
    player.play()
    return player.told()


class _TakeMaker:
    """One take in the making."""

    def __init__(
        self,
        asked: Sequence[Asked],
        timeline: Timeline,
        learner: Learner,
        rng: random.Random,
        fingering: Fingering | None,
    ) -> None:
        self.asked = asked
        self.timeline = timeline
        self.learner = learner
        self.rng = rng
        self.fingering = fingering
        self.sounded: list[_PlannedNote] = []
        self.missed: set[int] = set()
        self.waited = 0.0
        self.pace = 0.0  # the logarithm of how much slower than usual the pace is just now

    def play(self) -> None:
        """Every note, with what goes wrong on the way."""
        k, skipping = 0, 0
        while k < len(self.asked):
            chance = self.rng.random
            self._wander(k)
            if k > self.learner.back and chance() < self.learner.restart:
                k = self._go_back(k)
            if skipping == 0 and chance() < self.learner.missed_run:
                skipping = self.rng.randint(2, 6)
            if skipping > 0 or chance() < self.learner.missed:
                skipping = max(0, skipping - 1)
                self.missed.add(k)
            else:
                self._note(k)
            k += 1

    def _wander(self, k: int) -> None:
        """Let the pace go up or down a little before note `k`."""
        if self.learner.wander and k:
            self.pace = 0.9 * self.pace + self.rng.gauss(0.0, self.learner.wander)
            step = self.timeline.seconds(self.asked[k].at) - self.timeline.seconds(self.asked[k - 1].at)
            self.waited += step * (math.exp(self.pace) - 1.0)

    def _due(self, k: int) -> float:
        """When the player's own time puts note `k`."""
        first, last = self.asked[0].at, self.asked[-1].at
        through = float(self.asked[k].at - first) / max(float(last - first), 1e-9)
        span = self.timeline.seconds(last) - self.timeline.seconds(first)
        drifted = self.learner.drift * span * through * through / 2.0
        return self.timeline.seconds(self.asked[k].at) + drifted + self.waited + self.learner.bias_ms / 1000.0

    def _note(self, k: int) -> None:
        """One written note, right or wrong, with what is added round it."""
        note, rng, learner = self.asked[k], self.rng, self.learner
        length = float(note.length) * self.timeline.whole * math.exp(self.pace)
        start = self._due(k) + rng.gauss(0.0, learner.spread_ms / 1000.0)
        pitch, slip = note.pitch, None
        if rng.random() < learner.wrong:
            pitch, slip = self._slip(k)
        verdict = Verdict.RIGHT if pitch == note.pitch else Verdict.WRONG
        if rng.random() < learner.ornament:
            start = self._ornament(start, length, pitch)
        self._sound(start, length * 0.9, pitch, k, verdict, slip)
        if rng.random() < learner.extra:
            self._sound(
                start + length * rng.uniform(0.35, 0.65), max(0.09, length * 0.4), pitch + rng.choice((-3, -1, 2, 4))
            )
        if rng.random() < learner.repeated:
            self._sound(start + length * rng.uniform(0.4, 0.6), max(0.09, length * 0.4), pitch)

    def _ornament(self, start: float, length: float, pitch: int) -> float:
        """A cut or tap before or on the note, or a roll in a long one; returns when the note itself begins."""
        rng = self.rng
        short = rng.uniform(0.03, 0.07)
        up, down = pitch + rng.choice((2, 3, 4)), pitch - rng.choice((1, 2, 3))
        if length > 0.45 and rng.random() < 0.5:
            third = length / 3.0
            for at, grace in ((third, up), (2 * third, down)):
                self._sound(start + at, short, grace, verdict=Verdict.ORNAMENT)
                self._sound(start + at + short, third - short, pitch, verdict=Verdict.ORNAMENT)
            return start
        self._sound(
            start - short if rng.random() < 0.5 else start, short, rng.choice((up, down)), None, Verdict.ORNAMENT
        )
        return start if self.sounded[-1].note.seconds < start else start + short

    def _slip(self, k: int) -> tuple[int, str | None]:
        """A wrong pitch and its cause."""
        note = self.asked[k]
        if self.fingering is not None:
            choices = list(_pitches(self.fingering.box, self.fingering, note.index))
            if choices:
                return self.rng.choice(choices)
        return note.pitch + self.rng.choice((-4, -3, -2, -1, 1, 2, 3, 4)), None

    def _go_back(self, k: int) -> int:
        """Stop, and begin again some notes before; what was played of them is given up."""
        to = k - self.rng.randint(2, self.learner.back)
        lost = range(to, k)
        self.sounded = [
            replace(s, written=None, verdict=Verdict.EXTRA, slip=None) if s.written in lost else s for s in self.sounded
        ]
        self.missed -= set(lost)
        self.waited += self.timeline.seconds(self.asked[k].at) - self.timeline.seconds(self.asked[to].at)
        self.waited += self.rng.uniform(0.5, 1.5)
        return to

    def _sound(
        self,
        start: float,
        length: float,
        pitch: int,
        written: int | None = None,
        verdict: Verdict = Verdict.EXTRA,
        slip: str | None = None,
    ) -> None:
        pitch = min(max(pitch, 0), 127)
        end = start + max(length, 0.02) if self.learner.ends else None
        velocity = self.rng.randint(60, 90)
        self.sounded.append(_PlannedNote(Heard(start, pitch, velocity, 0, end), written, verdict, slip))

    def told(self) -> tuple[tuple[Heard, ...], tuple[Truth, ...]]:
        """The take in order of onset, and its truth."""
        self.sounded.sort(key=lambda s: s.note.seconds)
        truth = [
            Truth(self.asked[s.written].index if s.written is not None else None, j, s.verdict, s.slip)
            for j, s in enumerate(self.sounded)
        ]
        truth += [Truth(self.asked[k].index, None, Verdict.MISSED) for k in sorted(self.missed)]
        return tuple(s.note for s in self.sounded), tuple(truth)


def _pitches(box: Box, fingering: Fingering, index: int) -> list[tuple[int, str | None]]:
    """The wrong pitches that one slip on the box gives in place of a note of the round, with their causes."""
    press = fingering.notes[index].press
    found: list[tuple[int, str | None]] = []
    for cause, presses in slips(box, press).items():
        for other in presses:
            pitch = box.pitch(other)
            if pitch is not None and pitch != fingering.notes[index].note.pitch:
                found.append((pitch, cause))
    return found
