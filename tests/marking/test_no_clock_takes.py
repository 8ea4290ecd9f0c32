"""Marking with no clock on simulated takes at an uneven pace, with cuts of the player's own, by mir_eval's F1.

5% of the notes wrong, 3% left out, 3% too many, a cut or tap of the player's own on one note in twenty. The numbers of
`config/marks.toml` and of the matcher were chosen on other seeds.
"""

from __future__ import annotations

import random
from statistics import fmean

import pytest

from companion.box.fingering import finger_round
from companion.box.layout import load_box
from companion.lesson.stretch import stretch_of
from companion.marking.asking import asked_of
from companion.marking.learner import Learner, simulate_take
from companion.marking.marks import mark
from companion.notation import read_book
from companion.places import shipped
from companion.timeline import Timeline
from companion.tune.unfold import unfold
from tests.marking.scoring import Score, score
from tests.shipped_tables import TABLES


def _take(number: int, wander: float, seed: int) -> Score:
    tune = read_book(shipped("demo_tunes", "tanners_quay.abc")).tune(number)
    round_ = unfold(tune)
    fingering = finger_round(round_, load_box("bc-21"), tables=TABLES)
    beat = tune.meter.beats[0]
    asked = asked_of(stretch_of(round_, 0, len(round_.notes) - 1, tune.meter, beat))
    rng = random.Random(seed)
    learner = Learner(
        spread_ms=rng.uniform(10, 30), wrong=0.05, missed=0.03, extra=0.03, ornament=0.05, wander=wander,
        ends=rng.random() < 0.85,
    )  # fmt: skip
    heard, truth = simulate_take(asked, Timeline(rng.uniform(50, 100), beat), learner, rng, fingering)
    return score(mark(asked, heard, timeline=None, fingering=fingering, beat=beat, rules=TABLES.marks), truth)


@pytest.mark.parametrize(
    ("wander", "pairs", "verdicts"), [(0.0, 0.998, 0.996), (0.05, 0.9955, 0.9905), (0.1, 0.995, 0.99)]
)
def test_pairs_and_verdicts_at_an_uneven_pace(wander: float, pairs: float, verdicts: float) -> None:
    scores = [_take(1 + seed % 5, wander, 770_000 + seed) for seed in range(60)]
    found = fmean(one.matches for one in scores), fmean(one.verdicts for one in scores)
    assert found[0] >= pairs, found
    assert found[1] >= verdicts, found
