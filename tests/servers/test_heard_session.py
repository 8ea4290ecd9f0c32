"""The whole job by ear: an accordion plays in a room, a microphone hears it, the window lights what was played, rounds
are marked, and the record has them.
"""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.hearing.sounds import SOUNDFONTS
from tests.servers.room import room

pytestmark = [pytest.mark.sound_server, pytest.mark.display_server]

SECONDS = 28
ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """One session, played and heard."""
    if not SOUNDFONTS["timgm"].exists():
        pytest.skip("the package timgm6mb-soundfont is not installed")
    folder = tmp_path_factory.mktemp("heard")
    own = {f"BOX_COMPANION_{name}": str(folder / name.lower()) for name in ("DATA", "CACHE", "CONFIG")}
    environment = os.environ | own | {"SDL_AUDIODRIVER": "pulseaudio", "COMPANION_DEBUG": "1"}
    environment.pop("SDL_VIDEODRIVER", None)
    left = folder / "left"
    command = [sys.executable, "-m", "tests.servers.heard_session", str(left), str(SECONDS)]
    with room(folder):
        done = subprocess.run(
            command, cwd=ROOT, env=environment, capture_output=True, text=True, timeout=SECONDS + 90, check=False
        )
    assert done.returncode == 0, done.stdout + done.stderr
    return {"said": done.stdout, "record": folder / "data" / "record.sqlite3"} | json.loads(
        (left / "heard.json").read_text()
    )


def test_the_microphone_is_named_and_what_it_means_is_said(session: dict[str, Any]) -> None:
    assert "through the microphone “Companion room”" in session["said"]
    assert "Nothing leaves this machine" in session["said"]


def test_rounds_without_a_beat_and_in_time_are_marked_and_kept(session: dict[str, Any]) -> None:
    marked = [one for one in session["rounds"] if "verdicts" in one]
    assert {one["step"] for one in marked} == {"in order", "in time"}
    assert len(marked) >= 5
    with sqlite3.connect(session["record"]) as record:
        (kept,) = record.execute("SELECT count(*) FROM round WHERE standin = 0").fetchone()
    assert kept == len(marked)


def test_what_was_played_right_is_right_and_what_was_not_is_not(session: dict[str, Any]) -> None:
    right, wrong = Counter[str](), Counter[str]()
    for one in session["rounds"]:
        for written, verdict in one.get("verdicts", []):
            (wrong if written in one["wrong"] else right)[verdict] += 1
    assert right["right"] >= 0.97 * right.total(), right
    assert wrong.total() >= 1
    assert wrong["right"] == 0, wrong


def test_a_note_lights_soon_after_it_sounds(session: dict[str, Any]) -> None:
    assert len(session["lit"]) > 20
    assert np.median(session["lit"]) < 0.25  # with what waits in the sound server, there and back
