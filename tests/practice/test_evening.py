"""One clock for the evening: it runs from note to note, over tunes and sittings, and a rest sets it back."""

from __future__ import annotations

from dataclasses import replace

import pytest

from companion.practice.evening import MINUTE, Evening, heard, offered, rest_due, unheard
from tests.shipped_tables import TABLES

RULES = TABLES.lesson
BREAK = RULES.break_minutes * MINUTE


def played(evening: Evening, begin: float, seconds: float, every: float = 1.0) -> Evening:
    """A note `every` so many seconds."""
    for n in range(round(seconds / every) + 1):
        evening = heard(evening, begin + n * every, RULES)
    return evening


@pytest.mark.parametrize("sitting", [20.0, 25.0, 26.0, 7.0])
def test_three_hours_in_sittings_of_any_length_bring_a_rest_each_time_it_is_due(sitting: float) -> None:
    """A minute lies between two sittings; whoever is told to rest, rests."""
    evening, now, rests = Evening(), 0.0, 0
    while now < 3 * 60 * MINUTE:
        until = now + sitting * MINUTE
        while now < until:
            evening, now = heard(evening, now, RULES), now + 1.0
            if rest_due(evening, RULES):
                evening, now, rests = offered(evening), now + RULES.rest_minutes * MINUTE, rests + 1
        now += MINUTE
    assert 4 <= rests <= 6


def test_it_stands_still_while_nobody_plays() -> None:
    evening = played(Evening(), 0.0, 600.0)
    later = heard(evening, 600.0 + RULES.still_seconds + 1.0, RULES)
    assert later.played == evening.played == 600.0
    assert heard(evening, 600.0 + RULES.still_seconds, RULES).played == 600.0 + RULES.still_seconds


def test_a_rest_sets_it_back_wherever_it_was_taken() -> None:
    evening = played(Evening(), 0.0, BREAK - 10.0)
    assert not rest_due(evening, RULES)
    assert rest_due(played(evening, BREAK - 10.0, 10.0), RULES)
    rested = heard(evening, BREAK + RULES.rest_minutes * MINUTE, RULES)
    assert rested.played == 0.0
    assert not rest_due(played(rested, rested.last or 0.0, BREAK - 1.0), RULES)


def test_a_rest_that_is_passed_over_is_offered_again_after_some_minutes_and_not_before() -> None:
    evening = offered(played(Evening(), 0.0, BREAK))
    assert not rest_due(evening, RULES)
    remind = RULES.remind_minutes * MINUTE
    assert not rest_due(played(evening, BREAK, remind - 1.0), RULES)
    assert rest_due(played(evening, BREAK, remind), RULES)


def test_rounds_that_nobody_can_hear_count_from_beginning_to_end() -> None:
    evening = Evening()
    for n in range(30):
        evening = unheard(evening, 60.0 * n, 60.0 * n + 60.0, RULES)
    assert evening.played == 30 * 60.0
    assert rest_due(evening, RULES)


def test_a_clock_that_goes_back_takes_nothing_away() -> None:
    evening = played(Evening(), 100.0, 50.0)
    assert heard(evening, 90.0, RULES).played == evening.played


def test_the_numbers_are_those_of_the_table() -> None:
    short = replace(RULES, break_minutes=1.0)
    assert rest_due(played(Evening(), 0.0, 60.0), short)
    assert not rest_due(played(Evening(), 0.0, 60.0), RULES)
