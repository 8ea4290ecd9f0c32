"""What the player changes while a round sounds: the tempo from the next round on, the click at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.playback.round_renderer import CLICKS
from companion.practice.player_state import IN_TIME
from companion.screen.actions import Action
from tests.session.fakes import RATE, Bench


def in_time(bench: Bench) -> None:
    """Wind until a round in time has begun to sound."""
    for _ in range(4000):
        bench.wind(0.05)
        if not bench.session.state.in_play:
            continue
        if bench.plan.task.step == IN_TIME and bench.speaker.time > bench.plan.begins + 1:
            return
    pytest.fail("no round in time")


def test_another_tempo_counts_from_the_next_round_on_and_nothing_stops(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    in_time(bench)
    cuts, queued = bench.speaker.cuts, len(bench.speaker.queued)
    going = bench.plan
    bench.window.wanted = [Action.FASTER]
    bench.wind(0.1)
    assert bench.plan is going
    while len(bench.speaker.queued) == queued:
        bench.wind(0.05)
    following = bench.plan
    assert following.timeline.bpm > going.timeline.bpm
    assert bench.speaker.cuts == cuts
    # On the very frame on which the round before ends; its count-in is in the new tempo.
    first, frames = bench.speaker.queued[-2]
    assert bench.speaker.queued[-1][0] == first + frames
    assert round(following.begins * RATE) == first + frames


def test_the_click_goes_and_comes_at_once(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    in_time(bench)
    count = len(bench.speaker.queued)
    bench.window.wanted = [Action.CLICK]
    bench.wind(0.05)
    assert bench.speaker.levels[f"click {(count - 1) % CLICKS}"] == 0.0
    while len(bench.speaker.queued) == count:
        bench.wind(0.05)
    assert bench.speaker.levels[f"click {count % CLICKS}"] == 0.0
    bench.window.wanted = [Action.CLICK]
    bench.wind(0.05)
    assert bench.speaker.levels[f"click {count % CLICKS}"] == 1.0
