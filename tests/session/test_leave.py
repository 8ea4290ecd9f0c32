"""What is said at the end of a session: what is most worth working on, over what the player played."""

from __future__ import annotations

from dataclasses import replace

import pytest

from companion.cli.main import main
from companion.lesson.lesson_values import Piece
from companion.lesson.pieces import cut, piece_named
from companion.marking.asking import asked_of
from companion.marking.mark_values import Heard
from companion.marking.marks import mark
from companion.screen.words import load_words
from companion.session.session import Session
from companion.session.session_files import worth_working_on
from companion.store.record import RoundKept
from companion.timeline import Timeline
from tests.session.fakes import a_tune_in_hand
from tests.shipped_tables import TABLES

COURSE, _ = a_tune_in_hand()
PIECES: tuple[Piece, ...] = cut(COURSE.round, COURSE.fingering.notes, rules=TABLES.lesson)
LINE = Timeline(60.0, COURSE.beat)


def left(piece: str, *wrong: int, standin: bool = False) -> RoundKept:
    """A round of a piece in which these of its notes were far off."""
    asked = asked_of(COURSE.laid(piece_named(PIECES, piece)))
    heard = [
        Heard(LINE.seconds(one.at), one.pitch + (30 if k in wrong else 0), end=LINE.seconds(one.at + one.length))
        for k, one in enumerate(asked)
    ]
    marks = mark(asked, heard, timeline=LINE, fingering=COURSE.fingering, rules=TABLES.marks)
    return RoundKept(piece, "in time", 60.0, standin, marks)


def said(*rounds: RoundKept) -> tuple[str, ...]:
    return worth_working_on(rounds, COURSE.round, PIECES, load_words())


def test_the_three_worst_bars_the_habit_first() -> None:
    rounds = [left("A bar 1", 0), left("A bar 1"), left("A bar 2", 1), left("A bar 2", 0, 1), left("A bar 3", 0)]
    sentences = said(*rounds, left("A bar 4", 0, 1))
    assert len(sentences) == 3
    # How often: of the rounds that hold the bar, not of all.
    assert sentences[0].startswith("A bar 2: ")
    assert "in 2 of 2 rounds" in sentences[0]
    # Once each; two notes weigh more than one, and of one note each the first bar is the next.
    assert [sentence[:7] for sentence in sentences[1:]] == ["A bar 4", "A bar 1"]
    assert "in 1 of 2 rounds" in sentences[2]


def test_what_the_standin_did_is_not_the_players() -> None:
    assert said(left("A bar 1", 0, standin=True), left("A bar 2")) == ()
    assert said() == ()
    both = said(left("A bar 1", 0, 1, standin=True), left("A bar 2", 1))
    assert [sentence[:7] for sentence in both] == ["A bar 2"]


@pytest.mark.parametrize("standin", [True, False])
def test_it_is_printed_when_the_session_ends(
    standin: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing has to be waited for: the rounds are put where the session leaves them."""

    def played(session: Session, _seconds: float | None) -> None:
        kept = (left("A bar 1", 0, standin=standin), left("A bar 2", 1, standin=standin))
        session.state = replace(session.state, kept=kept)

    monkeypatch.setattr(Session, "run", played)
    monkeypatch.setenv("SDL_AUDIODRIVER", "dummy")
    monkeypatch.setenv("SDL_VIDEODRIVER", "dummy")
    assert main(["practise", "--seconds", "1"]) == 0
    out = capsys.readouterr().out
    assert ("Most worth working on:" in out) is not standin
    assert ("A bar 2: " in out) is not standin
