"""The marks as a whole: tables, steadiness, and what to work on most."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from companion.lesson.lesson_values import Kind, Piece
from companion.marking.cause_table import CAUSES
from companion.marking.mark_values import Asked, Heard
from companion.marking.marks import mark
from companion.marking.summary import by_bar, by_button, by_join, evenness, practised_by, steadiness, worst_three
from companion.screen.words import load_words
from companion.timeline import Timeline
from companion.tune.part_bars import bars_of
from companion.tune.tune_values import BarSpan, OnceThrough
from tests.marking.small import fingered
from tests.marking.tunes import made_tune
from tests.melody import make_round
from tests.shipped_tables import TABLES

LINE = Timeline(120.0, Fraction(1, 4))
ASKED = made_tune(31)
FINGERED = fingered(ASKED)
BAR = Fraction(3, 4)
SPANS = tuple(BarSpan(1 + k, "A", 1, k * BAR, BAR) for k in range(int(ASKED[-1].at / BAR) + 1))
ROUND = OnceThrough(tuple(one.note for one in FINGERED.notes), SPANS, len(SPANS) * BAR, Fraction(0), "A")
BARS = bars_of(ROUND)


def played(wrong: tuple[int, ...] = (), late: float = 0.0, slower: float = 0.0) -> list[Heard]:
    return [
        Heard(LINE.seconds(a.at) * (1.0 + slower) + late, a.pitch + (1 if k in wrong else 0))
        for k, a in enumerate(ASKED)
    ]


def test_tables_count_every_written_note_once() -> None:
    marks = mark(ASKED, played(wrong=(5, 6)), timeline=LINE, fingering=FINGERED, rules=TABLES.marks)
    for table in (by_bar(marks, BARS), by_button(marks, FINGERED)):
        assert sum(tally.notes for tally in table.values()) == len(ASKED)
        assert sum(tally.at_fault for tally in table.values()) == 2
    assert by_bar(marks, BARS)[BARS[5]].wrong >= 1


def test_steadiness_tells_lag_and_trend() -> None:
    steady = steadiness(mark(ASKED, played(late=0.02), timeline=LINE, rules=TABLES.marks), ASKED, LINE.whole)
    assert steady is not None
    assert (steady.late_ms, steady.spread_ms, steady.trend) == pytest.approx((20.0, 0.0, 0.0), abs=0.01)
    slower = steadiness(mark(ASKED, played(slower=0.01), timeline=LINE, rules=TABLES.marks), ASKED, LINE.whole)
    assert slower is not None
    assert slower.trend == pytest.approx(0.01, abs=0.001)
    assert evenness(mark(ASKED, played(late=0.02), timeline=LINE, rules=TABLES.marks), ASKED) == pytest.approx(
        0.0, abs=0.01
    )


def test_what_goes_wrong_each_time_comes_first() -> None:
    often, once = 10, 40
    rounds = [
        mark(
            ASKED,
            played(wrong=(often, once, once + 1) if k == 0 else (often,)),
            timeline=LINE,
            fingering=FINGERED,
            rules=TABLES.marks,
        )
        for k in range(3)
    ]
    worst = worst_three(rounds, ROUND)
    assert (worst[0].bar, worst[0].in_rounds, worst[0].rounds) == (BARS[often], 3, 3)
    assert worst[0].first <= often <= worst[0].last
    assert 2 <= len(worst) <= 3
    assert worst_three([mark(ASKED, played(), timeline=LINE, rules=TABLES.marks)], ROUND) == ()


def test_a_note_of_a_pick_up_is_told_with_the_bar_that_it_leads_into() -> None:
    """Of the second part too, whose pick-up is written at the end of a bar of the first."""
    first = [[(62, "1/8")], [(62, "1/2"), (64, "1/2")], [(66, "1/2"), (67, "3/8")]]
    round_ = make_round([("A", 1, first), ("B", 1, first)], pickup="1/8")
    asked = tuple(Asked(k, n.at, n.length, n.pitch) for k, n in enumerate(round_.notes))
    heard = [Heard(LINE.seconds(a.at), a.pitch + (1 if k == 5 else 0)) for k, a in enumerate(asked)]
    (trouble,) = worst_three([mark(asked, heard, timeline=LINE, rules=TABLES.marks)], round_)
    assert trouble.bar.name == "B bar 1"
    assert (trouble.first, trouble.last) == (5, 7)


def test_the_piece_that_practises_it() -> None:
    """A wrong note is practised in its bar, also where it went wrong the second time only; a hesitation in its join."""
    pieces = (
        Piece("A bar 1", Kind.BAR, 0, 5, None, 0.0),
        Piece("A bar 2", Kind.BAR, 6, 11, None, 0.0),
        Piece("join", Kind.JOIN, 4, 8, None, 0.0),
        Piece("back", Kind.JOIN, 10, 1, None, 0.0),
        Piece("round", Kind.ROUND, 0, 11, None, 0.0),
    )
    trouble = worst_three(
        [mark(ASKED, played(wrong=(6,)), timeline=LINE, fingering=FINGERED, rules=TABLES.marks)], ROUND
    )[0]
    assert trouble.at == 6
    assert practised_by(trouble, pieces).name == "A bar 2"
    assert practised_by(replace(trouble, cause="hesitation"), pieces).name == "join"
    assert practised_by(replace(trouble, cause="hesitation", at=0), pieces).name == "back"
    marks = mark(ASKED, played(wrong=(6,)), timeline=LINE, fingering=FINGERED, rules=TABLES.marks)
    tallies = by_join(marks, pieces)
    assert (tallies["join"].notes, tallies["join"].wrong) == (5, 1)
    assert tallies["back"].wrong == 0


def test_every_cause_has_its_sentences() -> None:
    words = load_words()
    for cause in CAUSES.values():
        assert "{" not in words(cause.said, bar="A bar 3", note="D", row="C", button=3, bellows="PUSH")
        assert "{" not in words(cause.work, place="A bar 1", often="once", piece="A into B")
