"""Matching: F1 and time beside other matchers, on the same takes; the live cost of a note.

The others: mir_eval's matching of events (here: of like pitch, within a quarter of a second; it is told the tempo),
and a general note matcher from the literature, parangonar, where it is installed (`pip install parangonar
tqdm`). The live cost stands beside difflib's, which matches the pitches heard so far anew. Takes are simulated.

    python -m benchmarks hearing
"""

from __future__ import annotations

import contextlib
import difflib
import io
import platform
import random
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from statistics import quantiles
from typing import Any

import numpy as np
from mir_eval.util import match_events

from benchmarks.table import Limit, Row, at_most, named
from companion.marking.learner import Learner, simulate_take
from companion.marking.live import LiveMarker
from companion.marking.mark_values import Asked, Heard
from companion.marking.match import match_in_time
from companion.marking.two_hands import TwoHands
from companion.tables import read_tables
from companion.timeline import Timeline
from tests.marking.tunes import made_tune

LINE = Timeline(100.0, Fraction(1, 4))
LEARNER = Learner(bias_ms=-20, spread_ms=20, wrong=0.05, missed=0.03, extra=0.03)
TAKES, NOTES = 8, 128
NEAR = 0.25
Match = Callable[[tuple[Asked, ...], tuple[Heard, ...]], set[Any]]


def main() -> list[Row]:
    """Measure."""
    takes = []
    for seed in range(TAKES):
        asked = made_tune(4000 + seed, bars=16)[:NOTES]
        heard, truth = simulate_take(asked, LINE, LEARNER, random.Random(seed))
        takes.append((asked, heard, {(t.written, t.heard) for t in truth if None not in (t.written, t.heard)}))
    ours = [_timed(lambda a, h: set(match_in_time(a, h, LINE, rules=read_tables().marks)), *take) for take in takes]
    others: list[tuple[str, Match]] = [(named("mir_eval"), by_mir_eval)]
    other = _other()
    if other is None:
        print("parangonar is not installed")
    else:
        others.append((named("parangonar"), other))
    rows = []
    for name, match in others:
        theirs = [_timed(match, *take) for take in takes]
        what = f"a take of {NOTES} notes matched"
        f1 = Row(f"{what}, F1", "", [f for f, _ in ours], name, [f for f, _ in theirs], "takes")
        time_ = Row(what, "ms", [1000 * t for _, t in ours], name, [1000 * t for _, t in theirs], "takes")
        limit = Limit("no worse", f1.ratio >= 1)
        rows.append(replace(f1, limit=limit))
        times = name.startswith("parangonar")
        rows.append(replace(time_, limit=Limit("≤ 1/100 of it", time_.ratio <= 1 / 100)) if times else time_)
    live, anew = _live(1024), _anew(1024)
    limit = at_most(1000, quantiles(live, n=100)[98], "99%")
    print(f"live, 99%: {quantiles(_live(64), n=100)[98]:.1f} µs at 64 notes, {quantiles(live, n=100)[98]:.1f} at 1024")
    reference = f"difflib, Python {platform.python_version()}"
    rows.append(Row("a note marked live, in 1,024", "µs", live, reference, anew, "notes", limit))
    return rows


def by_mir_eval(asked: tuple[Asked, ...], heard: tuple[Heard, ...]) -> set[Any]:
    """The pairs of mir_eval's matching: as many as there can be of like pitch, `NEAR` seconds apart at most."""
    due = np.array([(LINE.seconds(a.at), a.pitch) for a in asked])
    came = np.array([(h.seconds, h.pitch) for h in heard])

    def apart(one: Any, other: Any) -> Any:
        away = np.abs(np.subtract.outer(one[:, 0], other[:, 0]))
        return np.where(np.equal.outer(one[:, 1], other[:, 1]), away, np.inf)

    return set(match_events(due, came, NEAR, apart))


def _timed(match: Match, asked: tuple[Asked, ...], heard: tuple[Heard, ...], true: set[Any]) -> tuple[float, float]:
    """F1 of the pairs, and seconds (the better of two runs)."""
    best = float("inf")
    pairs: set[Any] = set()
    for _ in range(2):
        start = time.thread_time()
        # The other matcher tells its progress on standard output.
        with contextlib.redirect_stdout(io.StringIO()):
            pairs = match(asked, heard)
        best = min(best, time.thread_time() - start)
    # The other matcher pairs like pitches only, so only those are compared.
    pairs, true = ({(i, j) for i, j in one if asked[i].pitch == heard[j].pitch} for one in (pairs, true))
    return 2 * len(pairs & true) / (len(pairs) + len(true)), best


def _other() -> Match | None:
    """The reference matcher as a function of asked and heard, None where it is not installed."""
    # Its partitura downloads a soundfont at import where pyfluidsynth is there.
    sys.modules.setdefault("fluidsynth", None)  # type: ignore[arg-type]
    try:
        import numpy as np
        from parangonar.match import AutomaticNoteMatcher
    except ImportError:
        return None
    matcher = AutomaticNoteMatcher()
    score = [("onset_beat", "f4"), ("duration_beat", "f4"), ("pitch", "i4"), ("id", "U16")]
    played = [("onset_sec", "f4"), ("duration_sec", "f4"), ("pitch", "i4"), ("velocity", "i4"), ("id", "U16")]

    def match(asked: tuple[Asked, ...], heard: tuple[Heard, ...]) -> set[Any]:
        s = np.array([(float(a.at) * 4, float(a.length) * 4, a.pitch, f"s{k}") for k, a in enumerate(asked)], score)
        p = np.array(
            [(h.seconds, (h.end or h.seconds) - h.seconds, h.pitch, 64, f"p{j}") for j, h in enumerate(heard)], played
        )
        found = matcher(s, p)
        return {(int(m["score_id"][1:]), int(m["performance_id"][1:])) for m in found if m["label"] == "match"}

    return match


def _live(notes: int) -> list[float]:
    """Microseconds of each heard note."""
    asked: tuple[Asked, ...] = made_tune(1, bars=notes // 4)[:notes]
    heard, _ = simulate_take(asked, LINE, LEARNER, random.Random(1))
    took = []
    for _ in range(max(1, 2048 // notes)):
        hands = TwoHands(LiveMarker(asked, LINE, rules=read_tables().marks), asked)
        for note in heard:
            start = time.thread_time()  # the processor's: other work does not add to it
            hands.hear(note)
            hands.until(note.seconds)
            took.append(1e6 * (time.thread_time() - start))
    return took


def _anew(notes: int, every: int = 16) -> list[float]:
    """Microseconds of some heard notes, where what was heard so far is matched anew by difflib."""
    asked: tuple[Asked, ...] = made_tune(1, bars=notes // 4)[:notes]
    heard, _ = simulate_take(asked, LINE, LEARNER, random.Random(1))
    written, came = [a.pitch for a in asked], [h.pitch for h in heard]
    took = []
    for until in range(every, len(came), every):
        start = time.thread_time()
        difflib.SequenceMatcher(None, written[:until], came[:until], autojunk=False).get_matching_blocks()
        took.append(1e6 * (time.thread_time() - start))
    return took
