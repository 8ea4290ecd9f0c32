"""Trials of hearing: takes made of sampled accordions, heard, and held to what was really played.

A trial is one condition (a room, wet tuning, mistakes …) over several voices, tunes and tempi. `TUNED` voices are those
that the constants of `companion/hearing/` were fitted to; `APART` ones were only ever measured.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cache
from statistics import median

import numpy as np
from mir_eval.util import match_events

from companion.hearing.ear import Ear
from companion.hearing.hear import SoundHeard, hear
from companion.hearing.learn import learn_ear
from companion.hearing.stream import LiveHearing
from companion.marking.mark_values import Asked, Marks, Verdict
from companion.marking.take_marks import mark_take
from tests.hearing.sounds import (
    RATE,
    Place,
    Sound,
    Take,
    Voice,
    lesson_of,
    playback_of,
    sound_of,
    take,
)
from tests.shipped_tables import TABLES

TUNED = (Voice("timgm", 21), Voice("timgm", 22), Voice("csound", 21), Voice("csound", 23))
APART = (Voice("fluid", 21), Voice("fluid", 23), Voice("timgm", 23), Voice("csound", 22))
QUAVERS = (0.333, 0.250, 0.167, 0.130)  # seconds
PITCHES = range(57, 89)
NEAR = 0.05  # seconds between an onset and the one that stands for it
WET = (8.0, 14.0, 20.0)  # cents
Tune = Sequence[tuple[float, float, int]]  # (at, length, pitch), in quavers


@dataclass(frozen=True)
class Condition:
    """What a trial is about. `echo`: the program plays along, so many dB under the melody."""

    name: str
    octaves: tuple[int, ...] = ()
    wet: bool = False
    left: bool = False
    mistakes: bool = False
    place: Place = field(default_factory=Place)
    echo: float | None = None


CONDITIONS = {
    one.name: one
    for one in (
        Condition("dry", place=Place(reverb=0.0, noise=60.0, microphone=False)),
        Condition("room"),
        Condition("wet tuning", wet=True),
        Condition("octave reed", octaves=(-12,)),
        Condition("left hand", left=True),
        Condition("mistakes", mistakes=True),
        Condition("mistakes, wet", wet=True, mistakes=True),
        Condition("own playing", mistakes=True, echo=-12.0),
    )
}


@dataclass(frozen=True)
class Trial:
    """One take of a condition: what was played, the sound, what the program played meanwhile, and the ear."""

    playing: Take
    sound: Sound
    playback: Sound | None
    ear: Ear
    asked: tuple[Asked, ...]


def in_seconds(tune: Tune, quaver: float) -> list[tuple[float, float, int]]:
    """A tune in quavers at a tempo; slower where it has notes that would come faster than anyone plays."""
    each = max(quaver, 0.085 / min(length for _, length, _ in tune))
    return [((at - tune[0][0]) * each, length * each, pitch) for at, length, pitch in tune]


@cache
def ear_for(voice: Voice, place: Place, left: bool) -> Ear:
    """The ear that is learnt of a voice in a place."""
    return learn_ear(lesson_of(voice, place, PITCHES, left=left), RATE, PITCHES)


def trials(condition: Condition, voices: Sequence[Voice], tunes: Sequence[Tune], seed: int = 0) -> Iterator[Trial]:
    """A take for each voice, and for each tune in turn."""
    for k in range(max(len(voices), len(tunes))):
        voice = replace(
            voices[k % len(voices)], octaves=condition.octaves, wet=WET[k % len(WET)] if condition.wet else 0.0
        )
        place = replace(condition.place, seed=seed + k % 3)
        ways = {"wrong": 0.05, "missed": 0.03, "extra": 0.03} if condition.mistakes else {}
        tune = in_seconds(tunes[k % len(tunes)], QUAVERS[k % len(QUAVERS)])
        playing = take(tune, seed=seed + 100 * k, left=condition.left, **ways)  # type: ignore[arg-type]
        playback = beside = None
        if condition.echo is not None:
            playback, beside = playback_of(playing, place, condition.echo)
        sound = sound_of(playing, voice, place, beside=beside)
        yield Trial(playing, sound, playback, ear_for(voice, place, condition.left), asked_of(playing))


def asked_of(playing: Take) -> tuple[Asked, ...]:
    """What a take is asked for, in whole notes of two seconds."""
    first = playing.asked[0][0]
    return tuple(
        Asked(k, Fraction((at - first) / 2).limit_denominator(960), Fraction(length / 2).limit_denominator(960), pitch)
        for k, (at, length, pitch) in enumerate(playing.asked)
    )


def matched(real: Sequence[tuple[float, int]], found: Sequence[tuple[float, int]]) -> list[tuple[int, int]]:
    """The most pairs of a real and a found note of one pitch, with onsets within 50 ms (mir_eval's matching)."""
    pairs = []
    for pitch in {pitch for _, pitch in real}:
        ours = [i for i, note in enumerate(real) if note[1] == pitch]
        theirs = [j for j, note in enumerate(found) if note[1] == pitch]
        times = [np.array([notes[n][0] for n in some]) for notes, some in ((real, ours), (found, theirs))]
        pairs += [(ours[i], theirs[j]) for i, j in match_events(times[0], times[1], NEAR)]
    return pairs


@dataclass
class Score:
    """What came of the takes of a trial, summed."""

    played: int = 0
    found: int = 0
    false: int = 0
    again: int = 0  # played again with a short gap
    again_found: int = 0
    off: list[float] = field(default_factory=list)  # seconds, the take's own bias taken off
    lit: list[float] = field(default_factory=list)  # seconds from onset to being told
    wrong: int = 0
    wrong_faulted: int = 0
    missed: int = 0  # but for the same note again
    missed_faulted: int = 0
    right: int = 0
    right_faulted: int = 0
    again_faulted: int = 0  # of these, the same note again
    unsure: int = 0
    seconds: float = 0.0
    work: float = 0.0

    @property
    def f1(self) -> float:
        return 2 * self.found / (self.played + self.found + self.false)

    def take(self, playing: Take, found: Sequence[tuple[float, int]], told: Sequence[float] = ()) -> None:
        """Score the notes of one take: pitch, and onset within 50 ms (mir_eval)."""
        real = [(note.start, note.pitch) for note in playing.notes]
        pairs = matched(real, found)
        got = {i for i, _ in pairs}
        same = [k for k in range(1, len(real)) if real[k][1] == real[k - 1][1]]
        self.played += len(real)
        self.found += len(pairs)
        self.false += len(found) - len(pairs)
        self.again += len(same)
        self.again_found += sum(k in got for k in same)
        late = [found[j][0] - real[i][0] for i, j in pairs]
        self.off += [one - median(late) for one in late]
        if told:
            self.lit += [told[j] - real[i][0] for i, j in pairs]

    def judge(self, trial: Trial, heard: SoundHeard) -> None:
        """Score the verdicts of one take."""
        found = mark_take(trial.asked, heard.notes, beat=Fraction(1, 4), rules=TABLES.marks)
        self.judge_marks(trial, heard.weighed(found, TABLES.marks).marks)

    def judge_marks(self, trial: Trial, marks: Marks) -> None:
        """Score the verdicts of one take, whoever heard it."""
        verdicts = {note.written: note.verdict for note in marks.notes}
        for k, note in enumerate(trial.asked):
            faulted = verdicts[k] in (Verdict.WRONG, Verdict.MISSED)
            self.unsure += verdicts[k] is Verdict.UNSURE
            if k in trial.playing.wrong:
                self.wrong += 1
                self.wrong_faulted += faulted
            elif k not in trial.playing.missed:
                self.right += 1
                self.right_faulted += faulted
                self.again_faulted += faulted and k > 0 and note.pitch == trial.asked[k - 1].pitch
            elif note.pitch != trial.asked[k - 1].pitch:
                self.missed += 1
                self.missed_faulted += faulted


def heard_whole(trial: Trial, score: Score) -> SoundHeard:
    """Hear a take as a file."""
    begun = time.process_time()
    heard = hear(trial.sound, RATE, trial.ear, trial.asked, playback=trial.playback)
    score.work += time.process_time() - begun
    score.seconds += len(trial.sound) / RATE
    score.take(trial.playing, [(note.seconds, note.pitch) for note in heard.notes])
    return heard


def heard_live(trial: Trial, score: Score, block: int = 256) -> None:
    """Hear a take block by block."""
    stream = LiveHearing(trial.ear, RATE)
    stream.expect([note.pitch for note in trial.asked])
    found, told = [], []
    begun = time.process_time()
    for first in range(0, len(trial.sound) - block + 1, block):
        beside = trial.playback[first : first + block] if trial.playback is not None else None
        for note in stream.take(trial.sound[first : first + block], beside):
            if not note.ends:
                found.append((note.seconds, note.pitch))
                told.append((first + block) / RATE)
    score.work += time.process_time() - begun
    score.seconds += len(trial.sound) / RATE
    score.take(trial.playing, found, told)
