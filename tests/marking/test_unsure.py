"""Notes that were not heard well enough to judge: they count neither way, wherever marks are counted."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from companion.marking.mark_values import Heard, Marks, Verdict
from companion.marking.marks import mark
from companion.marking.marks_json import note_report
from companion.marking.summary import (
    as_far_as_played,
    by_bar,
    evenness,
    is_another,
    steadiness,
    worst_three,
)
from companion.marking.take_in_tune import share_right
from companion.marking.take_marks import TakeMarks
from companion.timeline import Timeline
from companion.tune.part_bars import bars_of
from companion.tune.tune_values import BarSpan, OnceThrough
from tests.marking.small import fingered
from tests.marking.tunes import made_tune
from tests.shipped_tables import TABLES

LINE = Timeline(120.0, Fraction(1, 4))
ASKED = made_tune(31)
FINGERED = fingered(ASKED)
BAR = Fraction(3, 4)
SPANS = tuple(BarSpan(1 + k, "A", 1, k * BAR, BAR) for k in range(int(ASKED[-1].at / BAR) + 1))
ROUND = OnceThrough(tuple(one.note for one in FINGERED.notes), SPANS, len(SPANS) * BAR, Fraction(0), "A")
BARS = bars_of(ROUND)


def marked(*wrong: int, unsure: tuple[int, ...] = ()) -> Marks:
    """A take with some notes a semitone off, of which some were not heard well enough to say so."""
    heard = [Heard(LINE.seconds(a.at), a.pitch + (k in wrong)) for k, a in enumerate(ASKED)]
    marks = mark(ASKED, heard, timeline=LINE, fingering=FINGERED, rules=TABLES.marks)
    notes = (
        replace(n, verdict=Verdict.UNSURE, cause=None, sure=0.4) if n.written in unsure else n for n in marks.notes
    )
    return replace(marks, notes=tuple(notes))


def test_a_bar_has_so_many_notes_as_could_be_judged() -> None:
    before = by_bar(marked(), BARS)[BARS[5]]
    tally = by_bar(marked(5, 6, unsure=(5,)), BARS)[BARS[5]]
    assert BARS[6] == BARS[5]
    assert (tally.notes, tally.wrong, tally.right, tally.unsure) == (before.notes - 1, 1, before.notes - 2, 1)
    assert sum(one.unsure for one in by_bar(marked(5, 6), BARS).values()) == 0


def test_it_is_nothing_to_work_on() -> None:
    assert [one.at for one in worst_three([marked(5, 40)], ROUND)] == [5, 40]
    assert [one.at for one in worst_three([marked(5, 40, unsure=(5,))], ROUND)] == [40]
    # Not even where a cause was left in by mistake.
    marks = marked(5, unsure=(5,))
    notes = tuple(replace(n, cause="other-row") if n.written == 5 else n for n in marks.notes)
    assert worst_three([replace(marks, notes=notes)], ROUND) == ()


def test_it_says_nothing_of_time() -> None:
    marks = marked(unsure=(5, 9))
    odd = replace(marks, notes=tuple(replace(n, late_ms=190.0) if n.written in (5, 9) else n for n in marks.notes))
    assert evenness(odd, ASKED) == pytest.approx(0.0, abs=0.01)
    steady = steadiness(odd, ASKED, LINE.whole)
    assert steady is not None
    assert (steady.late_ms, steady.spread_ms) == pytest.approx((0.0, 0.0), abs=0.01)


def test_a_take_that_is_hard_to_hear_is_not_called_another_tune() -> None:
    marks = marked()
    for verdict in (Verdict.MISSED, Verdict.UNSURE):
        notes = (replace(n, verdict=verdict, heard=None) if k % 3 else n for k, n in enumerate(marks.notes))
        assert is_another(replace(marks, notes=tuple(notes)), ROUND) == (verdict is Verdict.MISSED)


def test_a_note_that_was_not_heard_at_all_is_not_taken_for_played() -> None:
    """Unsure whether it was missed: the take goes no further for it."""
    marks = marked()
    last = {n.written for n in marks.notes if n.written is not None and BARS[n.written] == BARS[-1]}
    for verdict in (Verdict.MISSED, Verdict.UNSURE):
        notes = (replace(n, verdict=verdict, heard=None) if n.written in last else n for n in marks.notes)
        _, played = as_far_as_played(replace(marks, notes=tuple(notes)), ROUND)
        assert played == (0, len(ASKED) - 1 - len(last))
    notes = (replace(n, verdict=Verdict.UNSURE) if n.written in last else n for n in marks.notes)
    assert as_far_as_played(replace(marks, notes=tuple(notes)), ROUND)[1] is None


def test_the_share_that_is_right_is_of_what_could_be_judged() -> None:
    assert share_right([TakeMarks(marked(5), LINE, 1)]) == pytest.approx((len(ASKED) - 1) / len(ASKED))
    assert share_right([TakeMarks(marked(5, unsure=(5,)), LINE, 1)]) == 1.0


def test_other_programs_are_told_how_sure_a_mark_is() -> None:
    notes = marked(5, unsure=(5,)).notes
    assert (note_report(notes[5])["verdict"], note_report(notes[5])["sure"]) == ("unsure", 0.4)
    assert note_report(notes[4])["sure"] == 1.0
    assert note_report(replace(notes[4], sure=0.98765))["sure"] == 0.988
