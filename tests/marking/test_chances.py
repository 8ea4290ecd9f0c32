"""The chances of pitches, and the estimates of time that must not be led astray by a few odd notes."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest

from companion.marking.chances import flicks, pitch_costs, robust_line, running_median, sounding, usual_step
from companion.marking.mark_values import Asked, Heard
from tests.shipped_tables import TABLES

RULES = TABLES.marks
CUT = RULES.ornament.longest_ms / 1000.0


def likelihood(asked: int, heard: int) -> float:
    """The chance that a note stands for another."""
    costs = pitch_costs([Asked(0, Fraction(0), Fraction(1, 8), asked)], [Heard(0.0, heard)], RULES)
    return math.exp(-float(costs[0, 0]))


def test_a_right_pitch_is_likelier_than_any_wrong_one_and_a_near_one_than_a_far_one() -> None:
    assert likelihood(62, 62) == pytest.approx(RULES.match.right)
    steps = {by: likelihood(62, 62 + by) for by in (1, 4, 5, 7, 8, 12, 13, 40)}
    # Up to a third (the buttons round it), up to a fifth, up to an octave, and beyond: equal within each.
    assert steps[1] == steps[4] > steps[5] == steps[7] > steps[8] == steps[12] > steps[13] == steps[40] > 0.0
    assert likelihood(62, 62) > steps[1]
    assert all(likelihood(62, 62 - by) == chance for by, chance in steps.items())


def test_all_wrong_pitches_together_are_as_likely_as_a_wrong_note() -> None:
    """Within two octaves each way, where nearly all wrong notes lie."""
    every = sum(likelihood(62, pitch) for pitch in range(62 - 24, 62 + 25) if pitch != 62)
    assert every == pytest.approx(RULES.match.wrong, rel=0.5)


def test_pitches_as_far_apart_as_can_be_are_wrong_like_others() -> None:
    assert likelihood(0, 127) == likelihood(62, 90) == likelihood(127, 0)


def test_what_one_slip_gives_is_the_likeliest_of_wrong_notes() -> None:
    """On a box 90 in a hundred wrong notes are one slip; the rest is shared by the others as before."""
    asked = [Asked(0, Fraction(0), Fraction(1, 8), 62), Asked(1, Fraction(1, 8), Fraction(1, 8), 62)]
    heard = [Heard(0.0, 62), Heard(1.0, 60), Heard(2.0, 90), Heard(3.0, 65), Heard(4.0, 91)]
    chance = np.exp(-pitch_costs(asked, heard, RULES, [frozenset({60, 90}), frozenset()]))
    plain = np.exp(-pitch_costs(asked, heard, RULES))
    assert chance[0, 1] == pytest.approx(chance[0, 2])
    assert chance[0, 1] + chance[0, 2] == pytest.approx(0.9 * RULES.match.wrong)
    assert chance[0, 3] / plain[0, 3] == pytest.approx(0.1)
    assert chance[0, 4] / plain[0, 4] == pytest.approx(0.1)
    assert chance[:, 0] == pytest.approx(plain[:, 0])
    assert chance[1, 1] == pytest.approx(0.1 * plain[1, 1])


def test_a_note_as_short_as_a_cut_is_less_likely_to_be_a_written_one() -> None:
    asked = [Asked(0, Fraction(0), Fraction(1, 8), 62)]
    costs = pitch_costs(asked, [Heard(0.0, 62, end=0.05), Heard(0.05, 62, end=0.3)], RULES)
    assert costs[0, 0] > costs[0, 1]


def test_a_cut_is_short_and_another_note_comes_at_once() -> None:
    heard = [
        Heard(0.0, 69, end=CUT),  # as long as a cut may be, and followed then
        Heard(CUT, 67, end=CUT + 0.01),  # short, but nothing comes at once: a written note played short
        Heard(1.0, 69, end=1.5),  # another comes at once, but it sounds on
        Heard(1.05, 67),  # ended by the next one, for all that is known
        Heard(1.1, 66, end=1.11),  # the last of all
    ]
    assert flicks(heard, RULES.ornament).tolist() == [True, False, False, True, False]
    assert flicks([Heard(0.0, 69, end=CUT + 1e-6), Heard(CUT, 67)], RULES.ornament).tolist() == [False, False]


def test_a_note_sounds_to_its_end_or_to_the_next_one() -> None:
    heard = [Heard(1.0, 62, end=1.4), Heard(2.0, 64), Heard(2.5, 66, end=2.5), Heard(3.25, 67)]
    assert [sounding(heard, j) for j in range(4)] == pytest.approx([0.4, 0.5, 0.75, math.inf])


@pytest.mark.parametrize("n", [2, 3, 5, 8, 21, 60])
def test_a_line_is_found_through_most_of_the_points(n: int) -> None:
    x = np.arange(n) * 0.25
    y = 3.0 + 1.1 * x
    assert robust_line(x, y) == pytest.approx((1.1, 3.0))
    for k in range(3, n, 7):  # one in seven is far off
        y[k] += 2.0
    slope, start = robust_line(x, y)
    assert slope == pytest.approx(1.1, abs=0.02)
    assert start == pytest.approx(3.0, abs=0.05)


def test_a_line_through_one_point_or_through_notes_at_one_place_is_level() -> None:
    assert robust_line(np.array([2.0]), np.array([5.0])) == (0.0, 5.0)
    assert robust_line(np.full(4, 2.0), np.array([5.0, 5.0, 6.0, 5.0])) == (0.0, 5.0)


def test_notes_that_begin_together_give_no_slope_but_the_others_do() -> None:
    slope, start = robust_line(np.array([0.0, 0.0, 1.0, 2.0, 3.0]), np.array([1.0, 1.0, 3.0, 5.0, 7.0]))
    assert (slope, start) == pytest.approx((2.0, 1.0))


def test_a_running_median_follows_what_lasts_and_passes_over_what_does_not() -> None:
    values = np.zeros(20)
    values[4] = 9.0
    assert running_median(values, 5).tolist() == [0.0] * 20
    values[10:] = 3.0
    assert running_median(values, 5).tolist() == [0.0] * 10 + [3.0] * 10
    assert running_median(np.array([9.0, 0.0, 0.0, 0.0]), 3).tolist() == [9.0, 0.0, 0.0, 0.0]


@pytest.mark.parametrize(("values", "medians"), [([], []), ([4.0], [4.0]), ([1.0, 3.0], [2.0, 2.0])])
def test_where_there_is_little_the_running_median_is_the_median(values: list[float], medians: list[float]) -> None:
    assert running_median(np.array(values), 9).tolist() == medians


def test_a_window_wider_than_the_values_takes_what_there_is() -> None:
    assert len(running_median(np.arange(6.0), 99)) == 6
    assert running_median(np.array([1.0, 5.0, 2.0]), 99).tolist() == [1.0, 2.0, 2.0]


def test_the_usual_step_is_the_middle_one_of_those_that_go_on() -> None:
    assert usual_step(np.array([0.0, 0.25, 0.25, 0.5, 1.5])) == 0.25
    assert usual_step(np.array([0.0, 0.5, 1.0, 4.0])) == 0.5
    assert usual_step(np.array([1.0])) == usual_step(np.array([1.0, 1.0])) == 0.25
