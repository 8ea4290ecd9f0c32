"""When a tune comes back for review: how a sitting went, as a rating, and the card that follows from it.

Pure: every time is handed in. The dates are those of FSRS, an open spaced-repetition scheduler (the package `fsrs`,
https://github.com/open-spaced-repetition/py-fsrs), without its steps of minutes within a day: a tune is reviewed once
a sitting, so every interval is of whole days. Nothing is left to chance (its "fuzzing" is off), so that a card is
wholly told by its reviews.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

import fsrs
from fsrs import Rating

from companion.toml_file import read_toml

_ROUNDING = 1e-9  # a tempo that was worked out may miss the share it stands for by this much


@dataclass(frozen=True, slots=True)
class MemoryRules:
    """When a tune comes back; the meaning of each number stands beside it in `config/memory.toml`."""

    retention: float
    longest_days: int
    near: float
    easy: float


@dataclass(frozen=True, slots=True)
class WholeRound:
    """One whole round as it was played: its tempo as a share of the target, and whether it was clean."""

    share: float
    clean: bool


@dataclass(frozen=True, slots=True)
class Card:
    """How well a tune is kept in memory.

    `stability` is in days (those in which the chance to play it clean falls from 1 to 0.9), `difficulty` goes from 1 to
    10; `reviewed` and `due` are in UTC.
    """

    stability: float
    difficulty: float
    reviewed: datetime
    due: datetime


def rate(tries: Iterable[WholeRound], rules: MemoryRules) -> Rating | None:
    """How a sitting's whole rounds, in the order of playing, are rated; None where they say nothing.

    Clean rounds far below the target say nothing; one that failed does, however slow it was.
    """
    telling = [one for one in tries if not one.clean or one.share >= rules.near - _ROUNDING]
    if not telling:
        return None
    first_clean = next((number for number, one in enumerate(telling) if one.clean), None)
    if first_clean is None:
        return Rating.Again
    if first_clean > 0:
        return Rating.Hard
    return Rating.Easy if telling[0].share >= rules.easy - _ROUNDING else Rating.Good


def after_review(card: Card | None, rating: Rating, when: datetime, rules: MemoryRules) -> Card | None:
    """The card after a review; None where there was no card, and the tune was not played clean either.

    Parameters
    ----------
    card : the card so far, None before the first review.
    rating : what `rate` says.
    when : the time of the review, of any time zone.
    rules : the rules of `config/memory.toml`.

    Raises
    ------
    ValueError
        Where `when` has no time zone.
    """
    if when.tzinfo is None:
        raise ValueError("the time of a review needs a time zone")
    if card is None and rating is Rating.Again:
        return None
    when = when.astimezone(UTC)
    done, _ = _scheduler(rules).review_card(_theirs(card, when), rating, review_datetime=when)
    assert done.stability is not None
    assert done.difficulty is not None
    return Card(done.stability, done.difficulty, when, done.due)


def card_of(reviews: Iterable[tuple[datetime, Rating]], rules: MemoryRules) -> Card | None:
    """The card that a run of reviews, in the order of time, leads to; None where none of them was clean."""
    card = None
    for when, rating in reviews:
        card = after_review(card, rating, when, rules)
    return card


def chance(card: Card, now: datetime, rules: MemoryRules) -> float:
    """How likely the tune can still be played clean, 0 to 1, as the scheduler has it."""
    return float(_scheduler(rules).get_card_retrievability(_theirs(card, now), now.astimezone(UTC)))


def days_until(due: datetime, now: datetime) -> int:
    """Days until a tune is due, by the calendar of `now`'s time zone; 0 today, less where it is overdue."""
    return (due.astimezone(now.tzinfo).date() - now.date()).days


def to_plain(card: Card) -> dict[str, Any]:
    """The card as plain values for the record."""
    return {
        "stability": card.stability,
        "difficulty": card.difficulty,
        "reviewed": card.reviewed.isoformat(),
        "due": card.due.isoformat(),
    }


def from_plain(plain: Mapping[str, Any]) -> Card:
    """The card that `to_plain` wrote. Raises KeyError, TypeError or ValueError where it is none."""
    reviewed, due = (datetime.fromisoformat(plain[name]).astimezone(UTC) for name in ("reviewed", "due"))
    return Card(float(plain["stability"]), float(plain["difficulty"]), reviewed, due)


def _theirs(card: Card | None, when: datetime) -> fsrs.Card:
    """The scheduler's own card. Its number is never used, and a due date is set: else it would look at the clock."""
    if card is None:
        return fsrs.Card(card_id=0, due=when)
    return fsrs.Card(
        card_id=0,
        state=fsrs.State.Review,
        stability=card.stability,
        difficulty=card.difficulty,
        due=card.due,
        last_review=card.reviewed,
    )


@cache
def _scheduler(rules: MemoryRules) -> fsrs.Scheduler:
    return fsrs.Scheduler(
        desired_retention=rules.retention,
        learning_steps=(),
        relearning_steps=(),
        maximum_interval=rules.longest_days,
        enable_fuzzing=False,
    )


def read_memory_rules(path: Path) -> MemoryRules:
    """Read the table. Raises `UserError` with the file and line where something is missing or out of range."""
    file = read_toml(path)
    near = file.number("rating", "near", least=0.2, most=1.5)
    return MemoryRules(
        retention=file.number("review", "retention", least=0.7, most=0.99),
        longest_days=file.count("review", "longest_days", least=1, most=36500),
        near=near,
        easy=file.number("rating", "easy", least=near, most=1.5),
    )
