"""Minutes to three clean rounds at the target tempo: this lesson, a fixed plan, and the whole tune at one tempo.

The pupils are those of `benchmarks.pupils`: an invented model of learning, the same for all three plans. They play
twenty minutes a day. The fixed plan is the whole tune, heard, in order, then up the ladder by tens, three clean rounds
a step; the third way is the whole tune at the target tempo from the beginning.

    python -m benchmarks learning
    python -m benchmarks.bench_learning [TUNES] [SEED]
"""

from __future__ import annotations

import random
import statistics
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from benchmarks.pupils import KINDS, OWN_PACE, Kind, Pupil
from benchmarks.table import Limit, Row
from companion.box.box_values import Fingering
from companion.box.fingering import finger_round
from companion.box.layout import load_box
from companion.lesson.learning_order import lesson_of
from companion.lesson.lesson_rules import LessonRules
from companion.lesson.lesson_values import Kind as What
from companion.lesson.lesson_values import Lesson, Piece
from companion.lesson.pieces import cut
from companion.lesson.stretch import stretch_of
from companion.notation import read_book
from companion.practice.machine import after_round
from companion.practice.player_state import IN_ORDER, IN_TIME, LISTEN, Outcome, RoundTask, start, task
from companion.practice.sitting import after, begin
from companion.sound.tempi import target_of
from companion.tables import read_tables
from companion.timeline import Timeline
from companion.tune.tune import Tune
from companion.tune.tune_values import OnceThrough
from companion.tune.unfold import unfold

DAY = 20 * 60.0  # seconds of practice a day
MOST = 12 * 3600.0  # seconds after which a plan is given up, and so counted
SEEKING = 1.2  # seconds that a wrong note costs where there is no clock
BREATH = 0.5  # seconds between two rounds with no clock
CLEAN = 3
SEEDS = 8  # pupils of a kind with each tune; a cell of the table is their mean
LEAST, SLOWEST = 0.25, 1.05  # the part of the minutes to be saved, and the most that one cell of the table may take
TENS = (0.5, 0.6, 0.7, 0.8, 0.9, 1.0)


@dataclass
class Tuned:
    """A tune made ready."""

    title: str
    round: OnceThrough
    fingering: Fingering
    lesson: Lesson
    timeline: Timeline
    bar: float
    tune: Tune
    lengths: dict[Piece, float] = field(default_factory=dict)

    def seconds(self, piece: Piece, share: float) -> float:
        """How long a piece takes once through, at a share of the target tempo."""
        if piece not in self.lengths:
            laid = stretch_of(self.round, piece.first, piece.last, self.tune.meter, self.timeline.beat)
            self.lengths[piece] = float(laid.length) * self.timeline.whole
        return self.lengths[piece] / share

    def notes(self, piece: Piece) -> NDArray[np.intp]:
        """The notes of a piece, by index in the round."""
        return np.asarray(piece.notes(self.lesson.count))


class Clock:
    """The seconds practised, and the nights between."""

    def __init__(self, pupil: Pupil) -> None:
        self.pupil, self.seconds, self.today = pupil, 0.0, 0.0

    def take(self, seconds: float) -> None:
        """Let time pass."""
        self.seconds += seconds
        self.today += seconds

    def night(self) -> None:
        """A night passes."""
        self.today = 0.0
        self.pupil.night()

    def sleep_when_due(self) -> None:
        """A night passes once the day's practice is done."""
        if self.today >= DAY:
            self.night()


def in_order(tuned: Tuned, piece: Piece, pupil: Pupil, clock: Clock) -> frozenset[int]:
    """A round with no clock."""
    faults = pupil.play(tuned.notes(piece), OWN_PACE)
    clock.take(tuned.seconds(piece, OWN_PACE) + BREATH + SEEKING * len(faults))
    return faults


def by_lesson(tuned: Tuned, pupil: Pupil, rules: LessonRules) -> float:
    """Seconds that the lesson takes, with all that belongs to its sittings: what was learnt before, turns, endings."""
    clock = Clock(pupil)
    state = start(tuned.lesson, rules)
    whole = next(piece for piece in tuned.lesson.pieces if piece.kind is What.ROUND)
    streak = 0
    while clock.seconds < MOST:
        sitting, state = begin(state, DAY, rules)
        before = None
        while not sitting.over:
            asked, began = task(state, rules), clock.seconds
            faults = _one_round(tuned, asked, asked != before, pupil, clock)
            if asked.piece == whole and asked.step == IN_TIME and asked.share >= 1.0:
                streak = 0 if faults else streak + 1
                if streak == CLEAN:
                    return clock.seconds
            else:
                streak = 0
            before = asked
            state, news = after_round(state, Outcome(asked, not faults, faults), rules)
            notes = len(asked.piece.notes(tuned.lesson.count)) * asked.piece.times
            sitting, state, _ = after(sitting, state, clock.seconds - began, news, rules, notes)
        clock.night()
    return clock.seconds


def _one_round(tuned: Tuned, asked: RoundTask, fresh: bool, pupil: Pupil, clock: Clock) -> frozenset[int]:
    """One round of the lesson; counted in where it is `fresh`. Gives the notes that went wrong."""
    if asked.step == IN_ORDER:
        return in_order(tuned, asked.piece, pupil, clock)
    clock.take(tuned.seconds(asked.piece, asked.share) * asked.piece.times + fresh * tuned.bar / asked.share)
    if asked.step == LISTEN:
        return frozenset()
    return frozenset().union(*(pupil.play(tuned.notes(asked.piece), asked.share) for _ in range(asked.piece.times)))


def whole_tune(tuned: Tuned, pupil: Pupil, rungs: Sequence[float], *, sought: bool) -> float:
    """Seconds that the whole tune takes, up the rungs, three clean rounds in a row at each."""
    clock = Clock(pupil)
    whole = next(piece for piece in tuned.lesson.pieces if piece.kind is What.ROUND)
    notes = tuned.notes(whole)
    clock.take(tuned.seconds(whole, rungs[0]))
    streak = 0
    while sought and streak < CLEAN and clock.seconds < MOST:
        clock.sleep_when_due()
        streak = streak + 1 if not in_order(tuned, whole, pupil, clock) else 0
    for share in rungs:
        streak = 0
        clock.take(tuned.bar / share)
        while streak < CLEAN and clock.seconds < MOST:
            clock.sleep_when_due()
            clock.take(tuned.seconds(whole, share))
            streak = streak + 1 if not pupil.play(notes, share) else 0
    return clock.seconds


def tunes(count: int, seed: int) -> Iterator[Tuned]:
    """Tunes of the big collection that a B/C box has all notes of, drawn by chance."""
    import music21

    folder = Path(music21.__file__).parent / "corpus" / "oneills1850"
    files = sorted(folder.glob("*.abc"))
    rng = random.Random(seed)
    rng.shuffle(files)
    box = load_box("bc-21")
    rules = read_tables().lesson
    found = 0
    for file in files:
        if found == count:
            return
        for tune in read_book(file).tunes[:1]:
            round_ = unfold(tune)
            fingering = finger_round(round_, box, tables=read_tables())
            if not fingering.playable or len(round_.notes) < 32:
                continue
            target, beat = target_of(tune.rhythm, tune.meter, read_tables().dances, tune.tempo)
            timeline = Timeline(target, beat)
            lesson = lesson_of(round_, fingering.notes, cut(round_, fingering.notes, rules))
            bar = float(tune.meter.bar or 4 * beat) * timeline.whole
            found += 1
            yield Tuned(tune.title, round_, fingering, lesson, timeline, bar, tune)


def minutes(tuned: Tuned, kind: Kind, seeds: Sequence[int]) -> tuple[float, float, float]:
    """The mean minutes of the three plans over some seeds."""
    rules = read_tables().lesson
    plans: list[list[float]] = [[], [], []]
    for seed in seeds:
        for number, one in enumerate(plans):
            pupil = Pupil(kind, tuned.fingering.notes, tuned.lesson.moves, seed)
            if number == 0:
                one.append(by_lesson(tuned, pupil, rules) / 60)
            else:
                one.append(whole_tune(tuned, pupil, TENS if number == 1 else TENS[-1:], sought=number == 1) / 60)
    return tuple(statistics.fmean(one) for one in plans)  # type: ignore[return-value]


def main(count: int = 30, seed: int = 4242) -> list[Row]:
    """Practise, and print a table by kinds of pupil."""
    seeds = range(seed * 1000, seed * 1000 + SEEDS)
    made = list(tunes(count, seed))
    print(f"{'pupil':<12}{'lesson':>8}{'fixed':>8}{'one':>8}{'saved':>8}{'worst':>8}")
    ours, theirs, worst = [], [], 0.0
    for kind in KINDS:
        rows = [minutes(tuned, kind, seeds) for tuned in made]
        means = [statistics.fmean(row[n] for row in rows) for n in range(3)]
        ratios = [row[0] / min(row[1:]) for row in rows]
        ours += [row[0] for row in rows]
        theirs += [min(row[1:]) for row in rows]
        worst = max(worst, *ratios)
        print(
            f"{kind.name:<12}{means[0]:8.1f}{means[1]:8.1f}{means[2]:8.1f}"
            f"{1 - means[0] / min(means[1:]):8.0%}{max(ratios):8.2f}",
            flush=True,
        )
    saved = 1 - statistics.fmean(mine / other for mine, other in zip(ours, theirs, strict=True))
    text = f"{LEAST:.0%} fewer on average, the slowest ≤ {SLOWEST}"
    print(f"all: {saved:.0%} fewer on average; slowest {worst:.2f}")
    limit = Limit(f"{text} ({saved:.0%}, {worst:.2f})", saved >= LEAST and worst <= SLOWEST)
    reference = "the better of two fixed plans"
    return [Row("a tune learnt (pupils of our own model)", "minutes", ours, reference, theirs, "tunes × kinds", limit)]


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]))
