"""Half a minute of the hour under load (`python -m benchmarks.hour_under_load`), so that the script goes on working."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.input.ports import backend_name

pytest.importorskip("rtmidi", reason="no python-rtmidi here")
pytestmark = [pytest.mark.midi_server, pytest.mark.sound_server, pytest.mark.display_server]

# What depends on how busy the machine is otherwise, and what half a minute says nothing about.
NOT_HERE = ("drop-outs over", "  without the sound", "threads", "files open", "sent to drawn", "a picture drawn")


def test_notes_plugs_marks_and_record_hold_their_limits(tmp_path: Path) -> None:
    from benchmarks.hour_under_load import run

    if not backend_name()[0].endswith("UNIX_JACK"):
        pytest.skip("this machine has an ALSA sequencer, so MIDI does not go to JACK")
    lines = run(tmp_path, 36.0, [(5.0, False, 1.5), (15.0, True, 2.5)], seed=1)
    assert len(lines) > 25
    failing = [line for line in lines if not line.holds and not line.name.startswith(NOT_HERE)]
    assert failing == []
