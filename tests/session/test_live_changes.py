"""What the player changes while a round sounds: the tempo from the next beat on, the click at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.marking.mark_values import Verdict
from companion.playback.round_renderer import CLICKS
from companion.practice.player_state import IN_TIME
from companion.screen.actions import Action, ChosenBar
from tests.session.fakes import RATE, Bench, play_every_round


def in_time(bench: Bench) -> None:
    """Wind until a round in time has begun to sound."""
    for _ in range(4000):
        bench.wind(0.05)
        if not bench.session.state.in_play:
            continue
        if bench.plan.task.step == IN_TIME and bench.speaker.time > bench.plan.timeline.seconds(0) + 0.3:
            return
    pytest.fail("no round in time")


@pytest.mark.parametrize("own", [False, True])
def test_another_tempo_is_heard_within_a_beat_and_the_pulse_goes_on(tmp_path: Path, own: bool) -> None:
    bench = Bench(tmp_path)
    play_every_round(bench)
    in_time(bench)
    if own:
        bench.window.wanted = [ChosenBar(3)]
        bench.wind(0.1)
        in_time(bench)
    before, asked_at = bench.plan.timeline, bench.speaker.time
    bench.window.wanted = [Action.FASTER]
    bench.wind(0.02)
    after = bench.plan.timeline
    assert after.bpm > before.bpm
    assert round(bench.window.shown[-1].bpm) == round(after.bpm)  # said at once
    since = after.origin_at
    assert after.before == before
    assert abs(after.seconds(since) - before.seconds(since)) < 1 / RATE
    assert asked_at < after.origin <= asked_at + 60 / before.bpm + 0.1
    assert any(beat.at == since for beat in bench.plan.laid.beats) or since == bench.plan.laid.length
    # What sounds from there on begins on the very frame, and lasts as long as what is left of the round.
    first, frames = bench.speaker.queued[-1]
    assert first == round(after.origin * RATE)
    assert abs(frames - (bench.plan.ends - after.origin) * RATE) <= 2
    # The next round follows at the same tempo, on the frame on which this one ends, with nothing counted in.
    going = bench.plan
    while bench.plan is going:
        bench.wind(0.02)
    assert bench.plan.timeline.bpm == after.bpm
    assert bench.plan.bars_in == 0
    assert bench.speaker.queued[-1][0] == first + frames


def test_notes_played_round_a_change_of_tempo_are_right_and_in_time(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    bench.window.wanted = [Action.WHOLE, Action.COUNT_IN, Action.COUNT_IN]
    bench.player.standin_on = False
    bench.wind(1.5)
    bench.window.wanted = [Action.SLOWER]
    bench.wind(0.02)
    plan = bench.plan
    assert plan.timeline.before is not None
    bench.player.play(plan, 0.0)  # each note where it is due now, those before the change too
    bench.wind(plan.ends - bench.speaker.time + 1)
    (kept,) = bench.session.rounds
    asked = {note.index: note for note in plan.asked}
    late = [mark for mark in kept.marks.notes if mark.late_ms is not None and abs(mark.late_ms) > 25]
    assert [mark.verdict for mark in kept.marks.notes].count(Verdict.RIGHT) >= len(asked) - 4  # it had begun already
    assert late == [] or all(mark.written is not None and mark.written < 4 for mark in late)


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
