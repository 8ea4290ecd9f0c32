"""Where phrases begin and where the air button is used, in the round and in a piece of it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from companion.box.fingering import bellows_of
from companion.lesson.lesson_values import Kind
from companion.lesson.pieces import cut
from companion.lesson.signposts import signposts
from tests.session.fakes import a_tune_in_hand
from tests.shipped_tables import TABLES


def test_phrases_begin_on_every_second_bar_line_of_a_part() -> None:
    """Against the phrases that the lesson cuts, where they open on a bar line."""
    course, _ = a_tune_in_hand(1)
    pieces = cut(course.round, course.fingering.notes, rules=TABLES.lesson)
    whole = next(piece for piece in pieces if piece.kind is Kind.ROUND)
    laid = course.laid(whole)
    shown = signposts(course.round, course.fingering, tables=TABLES).phrases_in(laid)
    cuts = {float(laid.notes[piece.first].at) for piece in pieces if piece.kind is Kind.PHRASE}
    assert len(cuts) > 4
    assert cuts <= set(shown)
    assert set(shown) <= {0.0, *(float(bar) for bar in laid.bars)}


def test_after_a_pick_up_the_phrase_begins_behind_its_bar_line() -> None:
    course, _ = a_tune_in_hand(2)
    first = course.round.notes
    assert first[0].bar == 0
    shown = signposts(course.round, course.fingering, tables=TABLES).phrases
    assert 0 not in shown
    assert min(shown) == next(index for index, note in enumerate(first) if note.bar == 1)


@pytest.mark.parametrize("number", [1, 2, 3, 4, 5])
def test_the_air_button_is_where_the_plan_of_the_bellows_has_it(number: int) -> None:
    course, steps = a_tune_in_hand(number)
    posts = signposts(course.round, course.fingering, tables=TABLES)
    plan = bellows_of(course.round, course.fingering, tables=TABLES)
    laid = course.laid(
        next(
            piece
            for piece in cut(course.round, course.fingering.notes, rules=TABLES.lesson)
            if piece.kind is Kind.ROUND
        )
    )
    wanted = [
        float(laid.notes[use.index].at + (course.round.notes[use.index].length if use.in_rest else 0))
        for use in plan.air
    ]
    assert list(posts.air_in(laid)) == wanted
    # A piece shows those of the round that fall into it, from its own beginning.
    in_piece = replace(course, signposts=posts).laid(steps.pieces[0])
    assert set(posts.air_in(in_piece)) <= {float(one.at) for one in in_piece.notes} | {float(in_piece.length)}


def test_some_demo_tune_needs_air() -> None:
    assert any(signposts(c.round, c.fingering, tables=TABLES).air for c in (a_tune_in_hand(n)[0] for n in range(1, 6)))
