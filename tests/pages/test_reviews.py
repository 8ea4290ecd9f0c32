"""Tunes that come back before they are forgotten."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from companion.lesson.review import WholeRound
from companion.marking.mark_values import Asked, Heard, Marks, NoteMark, Verdict
from companion.pages.choosing import NextTune
from companion.pages.due_tunes import due_first, tries
from companion.pages.shelf import Shelf, TunePlace
from companion.practice.player_state import IN_ORDER, IN_TIME
from companion.practice.round_plan import RoundPlan
from companion.screen.actions import Action
from companion.store.practice_history import Due
from companion.store.record import RoundKept
from tests.session.fakes import Bench, exactly
from tests.shipped_tables import TABLES

RULES = TABLES.lesson
MADE = (Verdict.RIGHT, Verdict.UNSURE, Verdict.WRONG)
NOW = datetime(2026, 5, 1, 18, 0, tzinfo=UTC)


def left(piece: str, bpm: float | None, *, clean: bool = True, standin: bool = False) -> RoundKept:
    return RoundKept(piece, IN_TIME if bpm else IN_ORDER, bpm, standin, Marks(clean, bpm, bpm, ()))


def test_only_the_players_whole_rounds_in_time_are_tries() -> None:
    rounds = [
        left("A part", 100.0),
        left("round", None),
        left("round", 90.0, clean=False),
        left("round", 100.0, standin=True),
        left("round", 100.0),
        left("round, twice", 110.0),
    ]
    played = (WholeRound(0.9, False), WholeRound(1.0, True), WholeRound(1.1, True))
    assert tries(rounds, 100.0, TABLES.marks) == played


def test_a_round_that_was_hardly_heard_rates_nothing() -> None:
    """Not clean, but for sure wrong nowhere: it is no failed review."""
    right, unsure, wrong = (NoteMark(k, k, verdict, 62, 62, 0.0) for k, verdict in enumerate(MADE))
    dim, failed = (Marks(False, 100.0, 100.0, notes) for notes in ((right, unsure), (right, unsure, wrong)))
    rounds = [RoundKept("round", IN_TIME, 100.0, False, marks) for marks in (dim, failed)]
    assert tries(rounds, 100.0, TABLES.marks) == (WholeRound(1.0, False),)


class Books(Shelf):
    """A shelf on which the first three tunes of one book are known."""

    def __init__(self) -> None:
        self.box = "bc-21"

    def placed(self, fingerprint: str) -> TunePlace | None:
        return TunePlace(Path("reels.abc"), fingerprint) if fingerprint in "123" else None


def due(*days: int) -> list[Due]:
    return [Due(n, f"tune {n}", "reel", str(n), NOW + timedelta(d), d) for n, d in enumerate(days, 1)]


def test_what_is_due_comes_first_as_far_as_its_share_of_the_minutes_goes() -> None:
    wanted = NextTune(Path("other.abc"), "1", "bc-21")
    minutes = 2 * RULES.due_minutes / RULES.due_share
    found = due_first(due(-9, -1, 0), Books(), wanted, 60 * minutes, RULES)
    assert [(one.tune, one.review) for one in found] == [("1", True), ("2", True)]
    assert due_first(due(-9), Books(), wanted, 60.0, RULES) == []


def test_what_is_not_due_or_not_at_hand_or_wanted_anyway_does_not() -> None:
    found = due_first(due(-9, 3, -2, -1), Books(), NextTune(Path("reels.abc"), "1", "bc-21"), 3600.0, RULES)
    assert [one.tune for one in found] == ["3"]


def test_a_tune_that_comes_back_is_played_once_round_and_no_more(tmp_path: Path) -> None:
    bench = Bench(tmp_path, length=1200.0, review=True)
    whole = float(bench.course.round.length) * 60 / bench.course.target / float(bench.course.beat)
    bench.wind(whole * 1.4 + 5, step=0.05)
    assert bench.session.over
    (only,) = bench.session.rounds
    assert (only.piece, only.bpm) == ("round", pytest.approx(bench.course.target))
    assert only.marks.clean


def test_the_player_may_leave_it_out(tmp_path: Path) -> None:
    bench = Bench(tmp_path, length=1200.0, review=True)
    bench.wind(2)
    bench.window.wanted.append(Action.ON)
    bench.wind(0.1)
    assert bench.session.over
    assert not bench.session.quitted  # the next tune comes


def test_one_that_does_not_go_any_more_is_to_be_worked_on_again(tmp_path: Path) -> None:
    bench = Bench(tmp_path, length=1200.0, review=True)

    def slips(going: RoundPlan, asked: Asked) -> Heard | None:
        note = exactly(going, asked)
        return replace(note, pitch=note.pitch + 1) if note is not None and asked.index == 5 else note

    bench.player.choose = slips
    whole = float(bench.course.round.length) * 60 / bench.course.target / float(bench.course.beat)
    bench.wind(whole * (RULES.again_tries + 0.4) + 8, step=0.05)
    assert bench.session.over
    assert [one.piece for one in bench.session.rounds] == ["round"] * RULES.again_tries
    state = bench.standing
    assert state.piece.name == "round"
    assert not state.standing.done
