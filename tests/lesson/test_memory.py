"""When a tune comes back: the rating of a sitting, and the scheduler's own published figures."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from fsrs import Rating
from hypothesis import given
from hypothesis import strategies as st

from companion.errors import UserError
from companion.lesson.review import (
    Card,
    MemoryRules,
    WholeRound,
    after_review,
    card_of,
    chance,
    days_until,
    from_plain,
    rate,
    read_memory_rules,
    to_plain,
)
from companion.places import shipped

RULES = read_memory_rules(shipped("config", "memory.toml"))
WHEN = datetime(2022, 11, 29, 12, 30, tzinfo=UTC)

ratings = st.sampled_from(list(Rating))
tries = st.lists(st.builds(WholeRound, st.sampled_from([0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1]), st.booleans()), max_size=8)
moments = st.datetimes(datetime(2020, 1, 1), datetime(2040, 1, 1), timezones=st.just(UTC))
reviews = st.lists(st.tuples(moments, ratings), max_size=8, unique_by=lambda one: one[0]).map(sorted)


@pytest.mark.parametrize(
    ("played", "rating"),
    [
        ([], None),
        ([(0.6, True), (0.8, True)], None),  # clean, but far below the target: it says nothing
        ([(1.0, True)], Rating.Easy),
        ([(0.6, True), (1.0, True)], Rating.Easy),  # warmed up, then at the first try
        ([(0.9, True), (1.0, True)], Rating.Good),
        ([(0.9, False), (0.9, True)], Rating.Hard),
        ([(0.6, False), (1.0, True)], Rating.Hard),
        ([(0.9, False), (1.0, False)], Rating.Again),
        ([(0.5, False)], Rating.Again),
        ([(0.5, False), (0.6, True)], Rating.Again),
        ([(0.7 + 0.2, True)], Rating.Good),  # a share that was worked out
    ],
)
def test_a_sitting_is_rated_by_its_first_clean_round_near_the_target(
    played: list[tuple[float, bool]], rating: Rating | None
) -> None:
    assert rate([WholeRound(*one) for one in played], RULES) == rating


def test_the_intervals_are_those_that_the_scheduler_publishes() -> None:
    # py-fsrs, tests/test_basic.py, test_review_card: [0, 2, 11, 46, 163, 497, …] days for a card rated good on each
    # due date; the 0 is its step of ten minutes, which we leave out.
    rules = MemoryRules(0.9, 36500, 0.9, 1.0)
    card, when, days = None, WHEN, []
    for _ in range(5):
        card = after_review(card, Rating.Good, when, rules)
        assert card is not None
        days.append((card.due - card.reviewed).days)
        when = card.due
    assert days == [2, 11, 46, 163, 497]


def test_the_first_stability_is_the_parameter_of_its_rating() -> None:
    # FSRS 6's default parameters w1 to w3 (py-fsrs's README): hard, good, easy, in days.
    for rating, days in ((Rating.Hard, 1.2931), (Rating.Good, 2.3065), (Rating.Easy, 8.2956)):
        card = after_review(None, rating, WHEN, RULES)
        assert card is not None
        assert card.stability == pytest.approx(days)


def test_at_its_stability_the_chance_is_nine_in_ten() -> None:
    # The definition of stability in FSRS's ALGORITHM.md; whole days are what its forgetting curve counts.
    card = Card(20.0, 5.0, WHEN, WHEN + timedelta(days=20))
    assert chance(card, WHEN + timedelta(days=20), RULES) == pytest.approx(0.9)
    assert chance(card, WHEN, RULES) == 1.0


def test_more_retention_asks_sooner_and_none_stays_away_for_longer_than_allowed() -> None:
    wanted = [MemoryRules(share, 60, 0.9, 1.0) for share in (0.8, 0.9, 0.97)]
    dues = []
    for rules in wanted:
        card, when = None, WHEN
        for _ in range(3):
            card = after_review(card, Rating.Good, when, rules)
            assert card is not None
            when = card.due
        dues.append((card.due - card.reviewed).days if card is not None else 0)
    assert dues == sorted(dues, reverse=True)
    assert dues[0] == 60
    assert dues[-1] < dues[0]


def test_a_tune_enters_review_only_once_it_was_clean() -> None:
    assert after_review(None, Rating.Again, WHEN, RULES) is None
    entered = card_of([(WHEN, Rating.Again), (WHEN + timedelta(days=1), Rating.Hard)], RULES)
    assert entered is not None
    assert entered.reviewed == WHEN + timedelta(days=1)


@given(reviews)
def test_a_card_is_told_by_its_reviews_and_goes_through_json(kept: list[tuple[datetime, Rating]]) -> None:
    card = card_of(kept, RULES)
    clean = [rating for _, rating in kept if rating is not Rating.Again]
    assert (card is None) == (not clean)
    if card is not None:
        assert from_plain(json.loads(json.dumps(to_plain(card)))) == card
        assert card.due - card.reviewed >= timedelta(days=1)
        assert card.due - card.reviewed <= timedelta(days=RULES.longest_days)
        assert 1 <= card.difficulty <= 10
        again = after_review(card, Rating.Again, card.due, RULES)
        good = after_review(card, Rating.Good, card.due, RULES)
        assert again is not None
        assert good is not None
        assert again.due <= good.due


@given(tries, tries)
def test_what_comes_after_the_first_clean_round_changes_nothing(
    first: list[WholeRound], more: list[WholeRound]
) -> None:
    rating = rate(first, RULES)
    if rating not in (None, Rating.Again):
        assert rate([*first, *more], RULES) == rating


def test_days_are_counted_by_the_calendar_of_whoever_asks() -> None:
    here = timezone(timedelta(hours=-5))
    due = datetime(2026, 3, 10, 1, 0, tzinfo=UTC)  # the evening of the 9th there
    assert days_until(due, datetime(2026, 3, 9, 8, 0, tzinfo=here)) == 0
    assert days_until(due, datetime(2026, 3, 9, 23, 0, tzinfo=here)) == 0
    assert days_until(due, datetime(2026, 3, 7, 23, 59, tzinfo=here)) == 2
    assert days_until(due, datetime(2026, 3, 11, 0, 1, tzinfo=here)) == -2


def test_a_time_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="zone"):
        after_review(None, Rating.Good, datetime(2026, 1, 1), RULES)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("retention = 0.9", "retention = 1.0", "retention"),
        ("retention = 0.9", "", "retention"),
        ("longest_days = 365", "longest_days = 0", "longest_days"),
        ("near = 0.9", "near = 9", "near"),
        ("easy = 1.0", "easy = 0.5", "easy"),
        ("easy = 1.0", 'easy = "fast"', "number from 0.9 to 1.5"),
        ("[review]", "[review", "TOML"),
    ],
)
def test_a_bad_table_is_said(tmp_path: Path, old: str, new: str, said: str) -> None:
    text = shipped("config", "memory.toml").read_text(encoding="utf-8")
    assert old in text
    file = tmp_path / "memory.toml"
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(UserError, match=said) as caught:
        read_memory_rules(file)
    assert caught.value.place is not None
    assert caught.value.place.file == file
