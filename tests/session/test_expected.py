"""What the session says is asked for, so that a microphone hears better: each round's notes, from where it waits."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.practice.player_state import IN_ORDER, IN_TIME, LISTEN
from companion.practice.round_plan import RoundPlan
from companion.screen.actions import Action
from tests.session.fakes import Bench, play_every_round


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


def pitches(plan: RoundPlan) -> tuple[int, ...]:
    return tuple(note.pitch for note in plan.asked)


def test_each_round_that_is_to_be_played_is_told_and_one_that_is_listened_to_is_not(bench: Bench) -> None:
    begun: list[RoundPlan] = []
    play_every_round(bench)
    play = bench.begun

    def also(plan: RoundPlan) -> None:
        begun.append(plan)
        play(plan)

    bench.begun = also
    bench.wind(90)
    told = bench.player.expected
    steps = {plan.task.step for plan in begun}
    assert {LISTEN, IN_ORDER, IN_TIME} <= steps
    for plan in begun[:-1]:
        if plan.task.step != LISTEN:
            whole = pitches(plan)
            assert any(one[-len(whole) :] == whole for one in told)


def test_with_no_beat_it_is_told_from_the_note_that_is_waited_for(bench: Bench) -> None:
    plans: list[RoundPlan] = []
    bench.player.standin_on = False
    bench.begun = plans.append
    while not plans or plans[-1].task.step != IN_ORDER:
        bench.wind(0.5)
    whole = pitches(plans[-1])
    bench.wind(0.2)
    assert bench.player.expected[-1] == whole
    bench.player.come(whole[0], bench.speaker.time + 0.1)
    bench.wind(0.5)
    assert bench.player.expected[-1] == whole[1:]
    count = len(bench.player.expected)
    bench.player.come(whole[1] + 1, bench.speaker.time + 0.1)  # a wrong note: it waits on, and says so anew
    bench.wind(0.5)
    assert bench.player.expected[-1] == whole[1:]
    assert len(bench.player.expected) > count


def test_nothing_is_expected_while_it_is_paused_or_the_demonstration_plays(bench: Bench) -> None:
    bench.wind(8)  # the demonstration plays
    assert bench.player.expected in ([], [()])
    bench.player.standin_on = False
    bench.wind(8)
    assert bench.player.expected[-1]
    bench.window.wanted = [Action.PAUSE]
    bench.wind(0.5)
    assert bench.player.expected[-1] == ()
