"""Matching: F1 and time beside a general note matcher from the literature, on the same takes; the live cost of a note.

The other matcher (parangonar) is a reference for this bench only: `pip install parangonar tqdm`. Takes are simulated.
"""

from __future__ import annotations

import contextlib
import io
import random
import sys
import time
from fractions import Fraction
from statistics import fmean, quantiles
from typing import Any

from companion.hearing.learner import Learner, simulate_take
from companion.hearing.live import LiveMarker
from companion.hearing.match import match_in_time
from companion.hearing.model import Asked, Heard
from companion.timeline import Timeline
from tests.hearing.tunes import made_tune

LINE = Timeline(100.0, Fraction(1, 4))
LEARNER = Learner(bias_ms=-20, spread_ms=20, wrong=0.05, missed=0.03, extra=0.03)
TAKES, NOTES = 8, 128


def main() -> None:
    """Print the table."""
    takes = []
    for seed in range(TAKES):
        asked = made_tune(4000 + seed, bars=16)[:NOTES]
        heard, truth = simulate_take(asked, LINE, LEARNER, random.Random(seed))
        takes.append((asked, heard, {(t.written, t.heard) for t in truth if None not in (t.written, t.heard)}))
    ours = [_timed(lambda a, h: set(match_in_time(a, h, LINE)), *take) for take in takes]
    print(f"{TAKES} takes of {NOTES} notes, 5 % wrong, 3 % missed, 3 % extra; F1 over the pairs of like pitch")
    _row("this project", ours)
    other = _other()
    if other is None:
        print("  parangonar       not installed")
    else:
        theirs = [_timed(other, *take) for take in takes]
        _row("parangonar", theirs)
        ratio = fmean(t for _, t in theirs) / fmean(t for _, t in ours)
        print(f"  this project takes 1/{ratio:.0f} of the time")
    short, long = _live(64), _live(1024)
    print(f"  live, 99th percentile a note: {short:.1f} us at 64 notes, {long:.1f} us at 1024")


def _row(name: str, found: list[tuple[float, float]]) -> None:
    print(f"  {name:16} F1 {fmean(f for f, _ in found):.4f} {1e3 * fmean(t for _, t in found):9.1f} ms a take")


def _timed(match: Any, asked: tuple[Asked, ...], heard: tuple[Heard, ...], true: set[Any]) -> tuple[float, float]:
    """F1 of the pairs, and seconds (the better of two runs)."""
    best = float("inf")
    pairs: set[Any] = set()
    for _ in range(2):
        start = time.perf_counter()
        # The other matcher tells its progress on standard output.
        with contextlib.redirect_stdout(io.StringIO()):
            pairs = match(asked, heard)
        best = min(best, time.perf_counter() - start)
    # The other matcher pairs like pitches only, so only those are compared.
    pairs, true = ({(i, j) for i, j in one if asked[i].pitch == heard[j].pitch} for one in (pairs, true))
    return 2 * len(pairs & true) / (len(pairs) + len(true)), best


def _other() -> Any:
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


def _live(notes: int) -> float:
    """Microseconds a heard note at the 99th percentile."""
    asked: tuple[Asked, ...] = made_tune(1, bars=notes // 4)[:notes]
    heard, _ = simulate_take(asked, LINE, LEARNER, random.Random(1))
    took = []
    for _ in range(max(1, 2048 // notes)):
        live = LiveMarker(asked, LINE)
        for note in heard:
            start = time.perf_counter()
            live.hear(note)
            took.append(1e6 * (time.perf_counter() - start))
    return quantiles(took, n=100)[98]


if __name__ == "__main__":
    main()
