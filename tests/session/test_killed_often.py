"""Sessions killed at random moments, one after the other on one record; `benchmarks/killed.py` does it 200 times."""

from __future__ import annotations

import signal
from pathlib import Path

import pytest

from benchmarks.killed import kill_wound


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no SIGKILL on this system")
def test_a_session_may_be_killed_at_any_moment(tmp_path: Path) -> None:
    seen = kill_wound(tmp_path, times=12, seed=7)
    assert seen.kills == 12
    assert seen.rounds > 25  # it was killed while there was something to lose
    assert seen.moments["opening"] > 0
    assert seen.moments["playing"] > 0
