"""Half a minute of a looped piece under load. `python -m benchmarks.five_minutes` runs the same for five minutes."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.servers import looped

pytestmark = [pytest.mark.midi_server, pytest.mark.sound_server, pytest.mark.display_server]


def test_a_looped_piece_with_tempo_steps_is_heard_to_the_frame_on_a_busy_machine(tmp_path: Path) -> None:
    found = looped.run(tmp_path, 28)
    assert found.rounds >= 8
    assert found.tempi >= 2
    assert found.seams == found.rounds - 1
    assert found.worst <= 0.001
    assert found.wrong == 0
