"""What the page of a round says of each note, and the staff of every piece of a lesson."""

from __future__ import annotations

from fractions import Fraction

import pytest

from companion.box.layout import load_box
from companion.engraving.engraver import engrave
from companion.engraving.staff_musicxml import staff_musicxml
from companion.lesson.lesson_values import Piece
from companion.pages.practice_page import RoundContext, practice_page
from companion.practice.player_state import IN_TIME, RoundTask
from companion.practice.round_plan import TuneInHand, begin
from companion.screen.page_values import PracticePage
from companion.screen.words import load_words
from tests.session.fakes import a_tune_in_hand


def page_of(tune: TuneInHand, piece: Piece) -> PracticePage:
    plan = begin(tune, RoundTask(piece, IN_TIME, 0.5), 1, 0.0, 1)
    return practice_page(tune, plan, 0.0, {}, None, RoundContext(load_box("bc-21"), 0, 3), load_words())


def test_each_note_is_called_as_sentences_call_it() -> None:
    tune, lesson = a_tune_in_hand(3)
    for piece in lesson.pieces:
        page = page_of(tune, piece)
        assert [note.name for note in page.notes] == [tune.place(note.index)[1] for note in page.notes]
    assert "F#" in {note.name for note in page.notes}


@pytest.mark.parametrize("number", [1, 2, 3, 4, 5])
def test_every_piece_of_a_lesson_stands_on_the_staff_with_all_its_notes(number: int) -> None:
    """Pieces that begin with a pick-up, joins that go round the end, and several rounds among them."""
    tune, lesson = a_tune_in_hand(number)
    for piece in lesson.pieces:
        page = page_of(tune, piece)
        assert page.staff is not None
        engraved = engrave(staff_musicxml(page.staff, Fraction(0), page.staff.laid.length), 4000.0)
        assert engraved is not None, piece.name
        xs = [x for x, _ in engraved.heads]
        assert len(xs) == len(page.notes), piece.name
        assert xs == sorted(xs), piece.name
