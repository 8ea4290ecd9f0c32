"""A sound device that goes in mid-round: the round is dropped, the session waits, and goes on when it is back."""

from __future__ import annotations

from pathlib import Path

from companion.screen.actions import Action
from tests.session.fakes import Bench


def test_the_round_is_dropped_and_the_session_waits_until_the_device_is_back(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    bench.wind(3)
    queued, marked = len(bench.speaker.queued), len(bench.session.rounds)
    bench.speaker.missing = "The sound device is gone."  # type: ignore[misc]
    bench.wind(10)
    assert bench.speaker.cuts == 1
    assert len(bench.speaker.queued) == queued
    assert len(bench.session.rounds) == marked
    assert bench.window.shown[-1].paused
    assert "The sound device is gone." in bench.window.shown[-1].notices
    bench.speaker.missing = ""  # type: ignore[misc]
    bench.wind(20)
    assert not bench.window.shown[-1].paused
    assert len(bench.session.rounds) > marked
    assert all(one.marks.clean for one in bench.session.rounds)


def test_the_player_may_go_on_without_it(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    bench.wind(3)
    queued = len(bench.speaker.queued)
    bench.speaker.missing = "The sound device is gone."  # type: ignore[misc]
    bench.wind(1)
    bench.window.wanted.append(Action.PAUSE)
    bench.wind(1)
    assert len(bench.speaker.queued) > queued
    assert not bench.window.shown[-1].paused


def test_that_the_sound_is_no_longer_kept_is_seen_and_the_session_goes_on(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    bench.wind(3)
    assert not bench.window.shown[-1].notices
    queued = len(bench.speaker.queued)
    bench.speaker.unkept = "The sound of this session is not kept."  # type: ignore[misc]
    bench.wind(10)
    assert bench.window.shown[-1].notices == ("The sound of this session is not kept.",)
    assert not bench.window.shown[-1].paused
    assert len(bench.speaker.queued) > queued
