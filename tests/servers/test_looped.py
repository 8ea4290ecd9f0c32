"""Half a minute of a looped piece under load. `python -m benchmarks.five_minutes` runs the same for five minutes."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.servers import looped

pytestmark = [pytest.mark.midi_server, pytest.mark.sound_server, pytest.mark.display_server]


def test_a_looped_piece_with_tempo_steps_is_heard_to_the_frame_on_a_busy_machine(tmp_path: Path) -> None:
    """Where other work on the machine than the test's own breaks up the recording, it is run again, twice at most."""
    for trial in range(3):
        folder = tmp_path / str(trial)
        folder.mkdir()
        found = looped.run(folder, 24)
        if not found.wrong and found.tempi >= 2 and found.rounds >= 7:
            break
    assert found.rounds >= 7
    assert found.seams == found.rounds - 1
    assert found.tempi >= 2
    assert found.wrong == found.lost == found.breaks == 0
    assert found.worst <= 0.001
