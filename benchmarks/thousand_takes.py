"""Marks against the truth: simulated takes over tunes of music21's corpus, scored with mir_eval's F1.

    python -m benchmarks.thousand_takes [TAKES] [FIRST_SEED]

For each take a tune of the `oneills1850` folder is drawn, fingered on a 21-button B/C box, and played by a learner
whose timing (bias, spread, drift), slips on the box, left-out, added and repeated notes, ornaments and, with no clock,
stops and restarts are drawn too. The truth of every note is kept; every figure is a mean over the takes.
"""

from __future__ import annotations

import random
import sys
from fractions import Fraction
from statistics import fmean

from companion.box.box_values import Fingering
from companion.box.fingering import finger_round
from companion.box.layout import load_box
from companion.marking.learner import Learner, simulate_take
from companion.marking.mark_values import Asked
from companion.marking.marks import mark
from companion.notation.abc_reader import read_abc
from companion.tables import read_tables
from companion.timeline import Timeline
from companion.tune.unfold import unfold
from tests.marking.scoring import Score, score
from tests.notation.music21_reading import FOLDER, tunes_of

LONGEST = 400  # notes of a round


def main(takes: int = 1000, first_seed: int = 70_000) -> None:
    """Print the figures."""
    texts = [text for path in sorted(FOLDER.glob("*.abc")) for text in tunes_of(path)]
    for clock in (True, False):
        scores = [_one(texts, first_seed + k, clock) for k in range(takes)]
        caught, slips = sum(s.causes for s in scores), sum(s.with_cause for s in scores)
        matches, verdicts = fmean(s.matches for s in scores), fmean(s.verdicts for s in scores)
        f1 = f"F1 of matches {matches:.4f}, of verdicts {verdicts:.4f}"
        print(f"{'in time' if clock else 'no clock'}: {f1}; causes said {caught} of {slips} ({caught / slips:.4f})")


def _one(texts: list[str], seed: int, clock: bool) -> Score:
    rng = random.Random(seed)
    asked, fingering = _drawn(texts, rng)
    learner = Learner(
        bias_ms=rng.uniform(-80, 80),
        spread_ms=rng.uniform(8, 35),
        drift=rng.uniform(-0.03, 0.03) if clock else rng.uniform(-0.3, 0.3),
        wrong=rng.uniform(0, 0.07),
        missed=rng.uniform(0, 0.04),
        extra=rng.uniform(0, 0.03),
        repeated=rng.uniform(0, 0.02),
        ornament=rng.uniform(0, 0.08),
        restart=0.0 if clock else rng.uniform(0, 0.01),
        ends=rng.random() < 0.8,
    )
    timeline = Timeline(rng.uniform(50, 110), Fraction(1, 4), Fraction(0), rng.uniform(0, 20))
    heard, truth = simulate_take(asked, timeline, learner, rng, fingering)
    marks = mark(
        asked,
        heard,
        timeline=timeline if clock else None,
        fingering=fingering,
        beat=Fraction(1, 4),
        rules=read_tables().marks,
    )
    return score(marks, truth)


def _drawn(texts: list[str], rng: random.Random) -> tuple[tuple[Asked, ...], Fingering]:
    """A tune that can be played on the box."""
    box = load_box("bc-21")
    while True:
        tune = read_abc(rng.choice(texts)).tunes[0]
        if tune.errors:
            continue
        round_ = unfold(tune)
        fingering = finger_round(round_, box, tables=read_tables())
        if len(round_.notes) <= LONGEST and fingering.playable:
            asked = (Asked(k, n.at, n.length, n.pitch, n.ornaments, n.grace) for k, n in enumerate(round_.notes))
            return tuple(asked), fingering


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]))
