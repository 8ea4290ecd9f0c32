"""What is said when something changes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from companion.lesson.lesson_values import Kind, Piece
from companion.practice.player_state import ENDING, start
from companion.practice.sitting import Change
from companion.screen.words import load_words
from companion.session.change_sentences import about, note_words, of_change
from tests.melody import make_round
from tests.practice.lessons import RULES, demo

WORDS = load_words()
ROUND = make_round([("A", 1, [[(62, "1/8"), (66, "1/8"), (69, "1/8"), (74, "1/8")]] * 2)])


@pytest.mark.parametrize(
    ("differs", "said"),
    [
        (4, "A bar 2 is the same as A bar 1, but starts on the low D."),
        (5, "A bar 2 is the same as A bar 1, but note 2 is F#."),
        (7, "A bar 2 is the same as A bar 1, but ends on the high D."),
    ],
)
def test_what_is_nearly_the_same_is_said(differs: int, said: str) -> None:
    state = start(replace(demo(), moves=tuple(range(8))), RULES)
    piece = Piece("A bar 2", Kind.BAR, 4, 7, None, 1.0, like="A bar 1", differs=differs)
    assert about(piece, state, ROUND, WORDS) == said


def test_a_tutors_sentence_goes_before_it() -> None:
    state = start(replace(demo(), sentences={"A bar 2": "slide the thumb"}), RULES)
    piece = Piece("A bar 2", Kind.BAR, 4, 7, None, 1.0, like="A bar 1", differs=7)
    assert about(piece, state, ROUND, WORDS) == "slide the thumb"


def test_a_note_that_the_tune_has_once_is_called_by_its_name() -> None:
    assert note_words(69, ROUND, WORDS) == "A"
    three = make_round([("A", 1, [[(50, "1/4"), (62, "1/4"), (74, "1/4")]])])
    assert [note_words(pitch, three, WORDS) for pitch in (50, 62, 74)] == ["the low D", "the middle D", "the high D"]


@pytest.mark.parametrize("news", ["step", "faster", "slower", "next", "shrunk", "smaller", "grown", "again", "lost"])
def test_every_change_has_its_sentence(news: str) -> None:
    state = start(demo(), RULES)
    after = replace(state, current=1)
    said = of_change(Change(state, after, news, ""), ROUND, RULES, WORDS)
    assert said
    assert "{" not in said


def test_nothing_new_is_not_said() -> None:
    state = start(demo(), RULES)
    assert of_change(Change(state, state, "", ""), ROUND, RULES, WORDS) == ""


@pytest.mark.parametrize("what", ["turn", ENDING])
def test_what_the_minutes_bring_is_said_first(what: str) -> None:
    state = start(demo(), RULES)
    after = replace(state, current=2)
    assert after.piece.name in of_change(Change(state, after, "faster", what), ROUND, RULES, WORDS)
