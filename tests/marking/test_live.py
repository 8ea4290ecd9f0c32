"""Verdicts while the round is played."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import pytest

from companion.marking.learner import Learner, simulate_take
from companion.marking.live import LiveMarker
from companion.marking.mark_values import Asked, Heard, Verdict
from companion.timeline import Timeline
from tests.marking.tunes import made_tune
from tests.shipped_tables import TABLES

LINE = Timeline(100.0, Fraction(1, 4), Fraction(0), 3.0)


def test_each_note_has_its_verdict_when_it_comes() -> None:
    asked = made_tune(5)
    live = LiveMarker(asked, LINE, rules=TABLES.marks)
    for k, note in enumerate(asked):
        pitch = note.pitch + (1 if k == 7 else 0)
        if k == 12:
            continue
        marks = live.hear(Heard(LINE.seconds(note.at) + 0.02, pitch))
        expected = Verdict.WRONG if k == 7 else Verdict.RIGHT
        assert marks[-1].written == note.index
        assert marks[-1].verdict is expected
    assert [m.verdict for m in live.marks if m is not None and m.written == 12] == [Verdict.MISSED]
    assert live.until(LINE.seconds(asked[-1].at) + 5.0) == ()
    assert live.done


def test_a_cut_before_its_note_is_an_ornament_once_the_note_comes() -> None:
    asked = made_tune(5)
    live = LiveMarker(asked, LINE, rules=TABLES.marks)
    at = LINE.seconds(asked[0].at)
    assert live.hear(Heard(at - 0.05, asked[0].pitch + 3))[-1].verdict is Verdict.WRONG
    cut, note = live.hear(Heard(at, asked[0].pitch))
    assert (cut.heard, cut.verdict) == (0, Verdict.ORNAMENT)
    assert (note.heard, note.verdict) == (1, Verdict.RIGHT)
    assert live.verdicts == {0: Verdict.RIGHT}


@pytest.mark.parametrize("way", [1, -1], ids=["late", "early"])
def test_how_late_a_player_is_on_the_whole_is_learnt(way: int) -> None:
    """Quick even notes, each looked for within 90 ms of where it is due: someone who falls back by 4 ms a note, up to
    100 ms, is still followed, and no note of theirs is missed or taken for its neighbour.
    """
    quick = Timeline(500.0, Fraction(1, 4), Fraction(0), 3.0)  # 120 ms a note
    asked = [Asked(k, Fraction(k, 4), Fraction(1, 4), 60 + k % 7) for k in range(80)]
    off = [way * min(0.004 * k, 0.1) for k in range(80)]
    live = LiveMarker(asked, quick, rules=TABLES.marks)
    for k, note in enumerate(asked):
        made = live.hear(Heard(quick.seconds(note.at) + off[k], note.pitch))
        assert [(mark.written, mark.verdict) for mark in made] == [(k, Verdict.RIGHT)]
        # Just before it comes, nothing is missed yet.
        if k + 1 < len(asked):
            assert live.until(quick.seconds(asked[k + 1].at) + off[k + 1] - 0.001) == ()
    assert set(live.verdicts.values()) == {Verdict.RIGHT}


def test_live_verdicts_agree_with_the_truth_for_most_notes() -> None:
    agree = total = 0
    for seed in range(10):
        asked = made_tune(50 + seed)
        learner = Learner(bias_ms=-30, spread_ms=20, wrong=0.05, missed=0.03, extra=0.02, ornament=0.03)
        heard, truth = simulate_take(asked, LINE, learner, random.Random(seed))
        live = LiveMarker(asked, LINE, rules=TABLES.marks)
        for note in heard:
            live.hear(note)
        live.until(1e9)
        agree += sum(live.verdicts[t.written] is t.verdict for t in truth if t.written is not None)
        total += len(asked)
    assert agree / total > 0.97


def test_with_no_clock_the_cursor_waits_for_the_right_note() -> None:
    asked = made_tune(6)
    live = LiveMarker(asked, None, rules=TABLES.marks)
    live.hear(Heard(0.0, asked[0].pitch))
    wrong = live.hear(Heard(9.0, asked[1].pitch + 1))
    assert (wrong[0].written, wrong[0].verdict) == (1, Verdict.WRONG)
    assert live.cursor == 1
    right = live.hear(Heard(30.0, asked[1].pitch))
    # It came in the end, and is wrong all the same: by what was tried first.
    assert (right[0].written, right[0].verdict, right[0].tries) == (1, Verdict.WRONG, (1,))
    assert right[0].heard_pitch == asked[1].pitch + 1
    assert live.cursor == 2
    assert live.until(1e9) == ()


def test_with_no_clock_a_player_who_goes_back_is_followed() -> None:
    asked = tuple(replace(note, pitch=60 + k) for k, note in enumerate(made_tune(6)))
    live = LiveMarker(asked, None, rules=TABLES.marks)
    for note in asked[:10]:
        live.hear(Heard(0.0, note.pitch))
    for note in asked[4:7]:
        live.hear(Heard(0.0, note.pitch))
    assert live.cursor == 7
    for note in asked[7:]:
        live.hear(Heard(0.0, note.pitch))
    assert live.done
    assert set(live.verdicts.values()) == {Verdict.RIGHT}
    assert live.hear(Heard(0.0, 60))[0].verdict is Verdict.EXTRA
