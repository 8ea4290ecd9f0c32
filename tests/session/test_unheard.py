"""What is said of a round in which some notes were not heard well enough to judge, and what own rounds make of it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from companion.marking.mark_values import Asked, Heard, Marks, NoteMark, Verdict
from companion.practice.round_plan import RoundPlan
from companion.screen.words import load_words
from companion.session import round_in_play
from companion.session.read_session import rounds_left
from companion.session.round_sentences import sentence
from companion.session.session_files import write_marks
from companion.store.record import RoundKept
from tests.session.fakes import Bench, a_tune_in_hand, exactly, play_every_round

WORDS = load_words()
RIGHT, WRONG, EXTRA, UNSURE = Verdict.RIGHT, Verdict.WRONG, Verdict.EXTRA, Verdict.UNSURE


def said(*notes: Verdict, clean: bool = False, late: float = 0.0) -> str:
    course, _ = a_tune_in_hand()
    marks = tuple(
        NoteMark(k if one is not EXTRA else None, k, one, 62, 62, 400.0 if one is UNSURE else late)
        for k, one in enumerate(notes)
    )
    return sentence(Marks(clean, 120.0, 120.0, marks), course, WORDS)


def test_it_is_said_that_too_much_was_hard_to_hear() -> None:
    assert said(RIGHT, UNSURE, RIGHT) == WORDS("said_unsure")
    assert said(UNSURE, UNSURE) == WORDS("said_unsure")


def test_what_is_sure_is_said_first() -> None:
    assert "bar 1" in said(RIGHT, UNSURE, WRONG)
    assert said(RIGHT, UNSURE, EXTRA) == WORDS("said_extra")
    assert said(RIGHT, RIGHT, clean=True) == WORDS("said_clean")


def test_an_unsure_note_says_nothing_of_the_time_of_a_round() -> None:
    assert said(*[RIGHT] * 20, UNSURE, UNSURE, late=-90.0) == WORDS("said_early")


def test_a_sessions_marks_keep_how_sure_they_are(tmp_path: Path) -> None:
    notes = (NoteMark(0, 0, RIGHT, 62, 62, 3.0, sure=0.97), NoteMark(1, None, UNSURE, 64, None, None, sure=0.41))
    left = RoundKept("A bar 1", "in time", 60.0, False, Marks(False, 60.0, None, notes))
    write_marks(tmp_path / "marks.json", "The Net Loft", "bc-21", Fraction(1, 4), [left])
    assert rounds_left(tmp_path / "marks.json", "The Net Loft", [Heard(0.0, 62)]) == (left,)


def test_rounds_that_were_hardly_heard_are_held_against_nobody(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Played as many times as would have shrunk the piece, had they failed."""
    marked = round_in_play.mark_melody

    def hardly_heard(*given: Any, **more: Any) -> Marks:
        marks = marked(*given, **more)
        notes = tuple(n if n.written is None else replace(n, verdict=UNSURE, sure=0.5) for n in marks.notes)
        return replace(marks, notes=notes, clean=False)

    monkeypatch.setattr(round_in_play, "mark_melody", hardly_heard)
    bench = Bench(tmp_path)
    play_every_round(bench)
    bench.wind(60.0)
    assert len([one for one in bench.session.rounds if not one.standin]) > 5
    assert bench.sentence == WORDS("said_unsure")
    assert not bench.standing.focus
    assert (bench.standing.standing.failed, bench.standing.standing.slips) == (0, 0)
    assert not any(known.wrong or known.right for known in bench.standing.known)


@pytest.mark.parametrize("sure", [0.3, 0.95])
def test_a_wrong_note_through_a_microphone_is_held_against_a_player_only_where_it_is_sure(
    tmp_path: Path, sure: float
) -> None:
    bench = Bench(tmp_path)
    bench.player.standin_on = False
    bench.player.sounded = lambda _pitch, _first, _last: (0.0, 0.0)

    def second_wrong(plan: RoundPlan, asked: Asked) -> Heard:
        note, first = exactly(plan, asked), plan.asked[0].index
        assert note is not None
        if not plan.clocked or asked.index != first + 1:
            return note
        return replace(note, pitch=note.pitch + 1, sure=sure)

    bench.player.choose = second_wrong
    play_every_round(bench)
    bench.wind(60.0)
    verdicts = [note.verdict for one in bench.session.rounds for note in one.marks.notes if note.written is not None]
    assert verdicts
    assert (WRONG in verdicts) == (sure > 0.9)
    assert (UNSURE in verdicts) == (sure < 0.9)
