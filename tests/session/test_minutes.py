"""A session by its minutes: what comes first, rests, an end, and what is said of all that."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from companion.lesson.lesson_values import Kind
from companion.marking.mark_values import Asked, Heard
from companion.practice.player_sitting import wished
from companion.practice.player_state import ENDING, IN_TIME, PieceState
from companion.practice.round_plan import RoundPlan
from companion.practice.sitting import largest_done
from companion.screen.actions import Action
from companion.screen.page_values import BreakPage, PracticePage
from companion.screen.words import load_words
from tests.session.fakes import Bench, exactly

WORDS = load_words()


def calm_pages(bench: Bench) -> list[BreakPage]:
    return [page for page in bench.window.pages if isinstance(page, BreakPage)]


def said(bench: Bench) -> list[str]:
    return list(dict.fromkeys(page.sentence for page in bench.window.shown if isinstance(page, PracticePage)))


def test_a_sitting_ends_on_something_that_goes_well_and_says_what_was_gained(tmp_path: Path) -> None:
    bench = Bench(tmp_path, length=150.0)
    bench.wind(160)
    ended = bench.session.rounds[-1]
    assert ended.marks.clean
    assert any(sentence.startswith("To finish, ") for sentence in said(bench))
    last = calm_pages(bench)[-1]
    assert last.caution == WORDS("sitting_over")
    assert last.ends
    assert not any(page.ends for page in calm_pages(bench) if page.caution != last.caution)
    assert "more pieces learnt" in last.gained[0]
    assert last.gained == bench.session.gains
    bench.wind(40)
    assert bench.session.over


def test_whoever_goes_on_after_the_end_has_as_long_again(tmp_path: Path) -> None:
    bench = Bench(tmp_path, length=60.0)
    while not calm_pages(bench):
        bench.wind(1)
    assert 50 <= bench.speaker.time <= 75
    rounds = len(bench.session.rounds)
    bench.window.wanted.append(Action.PAUSE)
    bench.wind(20)
    assert not bench.session.over
    assert len(bench.session.rounds) > rounds
    bench.wind(120)
    assert bench.session.over


def test_a_rest_comes_by_the_clock(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    rules = replace(bench.rules, break_minutes=0.5)
    bench.session.setting = replace(bench.session.setting, rules=rules)
    bench.wind(40)
    resting = calm_pages(bench)
    assert resting
    assert resting[0].caution == WORDS("rest_due", n=1)
    assert resting[0].wait == rules.rest_minutes * 60
    queued = len(bench.speaker.queued)
    bench.wind(60)
    assert len(bench.speaker.queued) == queued  # nothing sounds in a rest
    bench.wind(rules.rest_minutes * 60, step=0.1)
    assert len(bench.speaker.queued) > queued


def test_the_next_day_begins_with_what_was_learnt(tmp_path: Path) -> None:
    first = Bench(tmp_path)
    first.wind(120)
    well = largest_done(first.standing)
    assert well
    first.session.finish()
    second = Bench(tmp_path)
    second.wind(3)
    assert second.window.shown[-1].piece.startswith(first.standing.course[well[0]].name)
    assert second.window.shown[-1].step == IN_TIME


def test_one_place_that_fails_is_taken_out_and_said(tmp_path: Path) -> None:
    bench = Bench(tmp_path)

    def slips(going: RoundPlan, asked: Asked) -> Heard | None:
        note = exactly(going, asked)
        wrong = asked.index == 2 and going.task.piece.kind is Kind.BAR and going.task.step == IN_TIME
        return replace(note, pitch=note.pitch + 1) if note is not None and wrong else note

    bench.player.choose = slips
    bench.wind(60)
    moves = [one for one in bench.session.rounds if "around note" in one.piece]
    assert len(moves) >= 3
    assert WORDS("said_shrunk") in said(bench)
    assert any(sentence.startswith("Got it. Back to") for sentence in said(bench))


def test_three_rounds_without_a_stop_are_one_piece_with_marks_for_each_note(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    bench.wind(0.1)
    state = bench.standing
    at = next(i for i, piece in enumerate(state.course) if piece.times == 3)
    in_time = PieceState(step=bench.rules.steps.index(IN_TIME), rung=len(bench.rules.rungs) - 1)
    mine, other = bench.session.state.players
    there = replace(state, current=at).put_at(at, in_time)
    bench.put(players=(mine, wished(other, there, bench.rules)))
    bench.window.wanted = [Action.AGAIN]
    count = len(bench.course.round.notes)
    whole = 60 / bench.course.target / float(bench.course.beat)
    seconds = 3 * float(bench.course.round.length) * whole
    bench.wind(seconds * 0.5, step=0.05)
    late = bench.window.shown[-1]
    assert len(late.notes) == 3 * count
    played = [step.verdict for step in late.notes]
    assert played[:count] == [played[0]] * count
    assert played[-1] is None
    bench.wind(seconds * 0.6 + 5, step=0.05)
    three = next(one for one in bench.session.rounds if one.piece == "round, three times")
    assert three.marks.clean
    assert len(three.marks.notes) == 3 * count
    assert {note.written for note in three.marks.notes} == set(range(count))


def test_a_clean_round_says_what_the_next_ones_bring(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    bench.wind(45)
    sentences = said(bench)
    for key in ("said_clean_more", "said_clean_good"):
        assert [WORDS(key, n=n) for n in (2, 1)] == [s for s in sentences if s in {WORDS(key, n=1), WORDS(key, n=2)}]


@pytest.mark.parametrize("length", [45.0, 200.0])
def test_the_end_is_kept_and_the_next_start_goes_on(tmp_path: Path, length: float) -> None:
    bench = Bench(tmp_path, length=length)
    bench.wind(length + 60)
    assert bench.session.over
    state = bench.standing
    assert not any(one.why == ENDING for one in state.focus)
    bench.session.finish()
    again = Bench(tmp_path)
    assert again.session.state.players[True].first == state
