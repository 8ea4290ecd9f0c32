"""How near marks come to the truth of a simulated take: F1 over pairs and over verdicts.

mir_eval scores matches by nearness in time and pitch; here the pairs themselves are known, so sets are compared and
mir_eval's own formula (`mir_eval.util.f_measure`) makes one figure of precision and recall.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from mir_eval.util import f_measure

from companion.marking.learner import Truth
from companion.marking.mark_values import Marks


@dataclass(frozen=True, slots=True)
class Score:
    """F1 of the pairs and of the verdicts; how many wrong notes with a true cause have it said, and of how many."""

    matches: float
    verdicts: float
    causes: int
    with_cause: int


def score(marks: Marks, truth: Sequence[Truth]) -> Score:
    """Compare marks with the truth."""
    said = {(n.written, n.heard, n.verdict) for n in marks.notes}
    true = {(t.written, t.heard, t.verdict) for t in truth}
    causes = {n.heard: n.cause or "" for n in marks.notes}
    slipped = [t for t in truth if t.slip is not None]
    caught = sum(t.slip in causes.get(t.heard, "").split("+") for t in slipped)
    return Score(_f1(_pairs(said), _pairs(true)), _f1(said, true), caught, len(slipped))


def _pairs(notes: set) -> set:
    return {(w, h) for w, h, _ in notes if w is not None and h is not None}


def _f1(said: set, true: set) -> float:
    if not said or not true:
        return float(said == true)
    both = len(said & true)
    return float(f_measure(both / len(said), both / len(true)))
