"""Nobody plays: the session pauses and says so. Somebody plays all evening: rests come, over all tunes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from companion.marking.mark_values import Asked, Heard
from companion.practice.evening import Evening
from companion.practice.player_state import IN_TIME
from companion.practice.round_plan import RoundPlan
from companion.screen.actions import Action
from companion.screen.page_values import BreakPage
from companion.screen.words import load_words
from tests.session.fakes import Bench, exactly, play_every_round

WORDS = load_words()


def nothing(_going: RoundPlan, _asked: Asked) -> Heard | None:
    return None


def calm_pages(bench: Bench) -> list[BreakPage]:
    return [page for page in bench.window.pages if isinstance(page, BreakPage)]


def test_a_sitting_in_which_nobody_plays_pauses_and_says_so(tmp_path: Path) -> None:
    bench = Bench(tmp_path, length=1800.0)
    bench.player.standin_on = False
    bench.wind(1800, step=0.1)
    assert bench.window.shown[-1].paused
    assert "Paused: nothing heard for 2 minutes" in bench.window.shown[-1].sentence
    queued = len(bench.speaker.queued)
    bench.wind(60, step=0.1)
    assert len(bench.speaker.queued) == queued
    bench.player.come(69, bench.speaker.time)
    bench.wind(0.3)
    assert not bench.window.shown[-1].paused
    assert not bench.session.rounds


def test_it_pauses_in_time_as_well(tmp_path: Path) -> None:
    bench = Bench(tmp_path, length=1800.0)
    bench.player.choose = lambda going, asked: nothing(going, asked) if going.clocked else exactly(going, asked)
    bench.wind(40)
    bench.player.standin_on = False
    bench.wind(200, step=0.05)
    assert bench.window.shown[-1].paused


def test_where_nobody_can_be_heard_the_minutes_go_by_and_the_sitting_ends(tmp_path: Path) -> None:
    bench = Bench(tmp_path, length=120.0)
    bench.player.standin_on = False
    bench.player.can_hear = False  # type: ignore[misc]
    bench.wind(250, step=0.05)
    assert bench.session.over
    assert not any(shown.paused for shown in bench.window.shown)


def test_rounds_that_are_broken_off_count_towards_the_minutes(tmp_path: Path) -> None:
    bench = Bench(tmp_path, length=600.0)
    for _ in range(20):
        bench.wind(3.0)
        bench.window.wanted = [Action.AGAIN]
    assert 50.0 < bench.session.practised <= 60.0


@pytest.mark.parametrize("unseen", [False, True])
def test_the_clock_goes_over_to_the_next_tune(tmp_path: Path, unseen: bool) -> None:
    bench = Bench(tmp_path, length=1200.0)
    bench.put(evening=Evening(played=24.9 * 60, last=0.0))
    bench.window.missing = "No screen." if unseen else ""
    bench.wind(40)
    rests = [page for page in calm_pages(bench) if "Put the box down" in page.caution]
    assert bool(rests) is not unseen
    if unseen:  # there the caution is all that can be said
        assert bench.window.shown[-1].caution == WORDS("care_break")
    else:
        assert rests[0].caution == WORDS("rest_due", n=25)


def test_a_rest_that_was_passed_over_takes_its_caution_with_it(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    bench.put(evening=Evening(played=26 * 60, last=0.0))
    bench.wind(0.2)
    assert calm_pages(bench)
    bench.window.wanted = [Action.PAUSE]
    bench.wind(20)
    assert bench.window.shown[-1].caution == ""


def test_a_long_round_with_no_clock_shows_that_a_break_is_due(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    bench.wind(16)
    bench.player.standin_on = False
    bench.put(evening=replace(bench.session.state.evening, played=26 * 60))
    bench.wind(0.2)
    assert bench.window.shown[-1].caution == WORDS("care_break")


def test_a_stray_note_before_a_seam_is_no_mistake_of_the_next_round(tmp_path: Path) -> None:
    bench = Bench(tmp_path)

    def stray(going: RoundPlan) -> list[Heard]:
        if going.task.step != IN_TIME:
            return []
        return [Heard(going.ends - 0.1, 90, end=going.ends - 0.05)]

    play_every_round(bench, stray)
    bench.wind(60)
    in_time = [one for one in bench.session.rounds if one.step == IN_TIME]
    assert len(in_time) > 6
    assert all(one.marks.clean for one in in_time)


def test_a_wrong_first_note_that_came_early_is_still_a_mistake(tmp_path: Path) -> None:
    bench = Bench(tmp_path)

    def early_and_wrong(going: RoundPlan, asked: Asked) -> Heard | None:
        note = exactly(going, asked)
        if note is not None and going.task.step == IN_TIME and asked is going.asked[0]:
            return replace(note, pitch=note.pitch + 1, seconds=note.seconds - 0.1)
        return note

    bench.player.choose = early_and_wrong
    bench.wind(40)
    in_time = [one for one in bench.session.rounds if one.step == IN_TIME]
    assert in_time
    assert not any(one.marks.clean for one in in_time)


def test_what_is_played_on_another_page_or_in_a_pause_opens_no_round(tmp_path: Path) -> None:
    """Notes taken before a round opens are no one's."""
    bench = Bench(tmp_path)
    bench.wind(16)
    bench.player.standin_on = False
    bench.window.wanted = [Action.PAUSE]
    bench.wind(1)
    notes = bench.course.round.notes
    for n in range(3):
        bench.player.come(notes[n].pitch, bench.speaker.time + 0.1 * n)
    bench.wind(1)
    bench.window.wanted = [Action.PAUSE]
    bench.wind(0.5)
    assert all(step.verdict is None for step in bench.window.shown[-1].notes)
    assert all(one.standin for one in bench.session.rounds)
