"""Lessons for the tests: a demo tune on a B/C box, and one of four bars by hand."""

from __future__ import annotations

from functools import cache

from companion.box.fingering import finger_round
from companion.box.layout import load_box
from companion.lesson.learning_order import lesson_of
from companion.lesson.lesson_values import Lesson
from companion.lesson.pieces import cut
from companion.notation import read_book
from companion.places import shipped
from companion.tune.unfold import unfold
from tests.melody import make_round
from tests.shipped_tables import TABLES

RULES = TABLES.lesson


@cache
def demo(number: int = 1) -> Lesson:
    """A tune of the demo book."""
    round_ = unfold(read_book(shipped("demo_tunes", "tanners_quay.abc")).tune(number))
    fingered = finger_round(round_, load_box("bc-21"), tables=TABLES).notes
    return lesson_of(round_, fingered, cut(round_, fingered, rules=TABLES.lesson))


@cache
def four_bars() -> Lesson:
    """Four bars of four different notes each, played once: no move comes twice."""
    bars = [[(60 + 4 * bar + step, "1/8") for step in range(4)] for bar in range(4)]
    round_ = make_round([("A", 1, bars)])
    return lesson_of(round_, (), cut(round_, (), rules=TABLES.lesson))
