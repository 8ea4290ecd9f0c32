"""Headphones unplugged: a sound server of the test's own is killed in mid-passage and started again."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from companion.sound.speaker import LOST, open_speaker
from tests.servers.sound_ear import RATE, StampedEar

pytestmark = pytest.mark.sound_server

ROOT = Path(__file__).parents[2]


class Server:
    """A PulseAudio server with a null sink, in a folder of its own."""

    def __init__(self, folder: Path) -> None:
        (folder / "rt").mkdir(mode=0o700, exist_ok=True)
        command = ["pulseaudio", "--daemonize=no", "--exit-idle-time=-1", "-n", "--use-pid-file=no"]
        for module in ("module-null-sink sink_name=own", "module-native-protocol-unix"):
            command += ["-L", module]
        self._environment = os.environ | {"XDG_RUNTIME_DIR": str(folder / "rt"), "HOME": str(folder)}
        self._process = subprocess.Popen(command, env=self._environment, stderr=subprocess.DEVNULL)
        wait_for(lambda: (folder / "rt" / "pulse" / "native").exists() and self._answers(), "the server")

    def _answers(self) -> bool:
        asked = subprocess.run(["pactl", "info"], env=self._environment, capture_output=True, timeout=5, check=False)
        return asked.returncode == 0

    def kill(self) -> None:
        self._process.kill()
        self._process.wait(timeout=5)


def wait_for(what: Callable[[], bool], name: str, seconds: float = 15.0) -> None:
    until = time.monotonic() + seconds
    while not what():
        assert time.monotonic() < until, f"{name} never came"
        time.sleep(0.02)


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    assert shutil.which("pulseaudio")
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path / "rt"))
    monkeypatch.setenv("SDL_AUDIODRIVER", "pulseaudio")
    return tmp_path


def test_the_speaker_says_so_goes_on_in_silence_and_is_heard_again(place: Path) -> None:
    tone = 0.3 * np.sin(2 * np.pi * 441 * np.arange(30 * RATE) / RATE)
    server = Server(place)
    speaker = open_speaker(allow_dummy=False)
    try:
        first = speaker.queue(np.repeat(tone[:, None], 2, 1).astype(np.float32), len(tone))
        wait_for(lambda: speaker.now() > first / RATE + 0.5, "the passage")
        server.kill()
        wait_for(lambda: speaker.missing == LOST, "the loss", 3.0)
        at = speaker.now()
        wait_for(lambda: speaker.now() > at + 0.3, "the time without a device")
        server = Server(place)
        ear = StampedEar()
        wait_for(lambda: speaker.missing == "", "the device", 6.0)
        wait_for(lambda: bool(np.abs(ear.wave()[-RATE // 10 :]).max(initial=0) > 0.29), "the sound", 6.0)
        time.sleep(1.0)
        ear.close()
        # The passage goes on in one piece: a sine all along.
        part = ear.wave()[-RATE // 2 :]
        assert np.abs(part[2:] - 2 * np.cos(2 * np.pi * 441 / RATE) * part[1:-1] + part[:-2]).max() < 4 / 32768
    finally:
        speaker.close()
        server.kill()


def test_a_session_waits_and_goes_on(place: Path) -> None:
    server = Server(place)
    program = "from companion.cli.main import entry; entry()"
    left = place / "left"
    command = [sys.executable, "-c", program, "practise", "--tune", "1", "--seconds", "22", "--keep", str(left)]
    environment = os.environ | {"BOX_COMPANION_DATA": str(place / "data"), "SDL_VIDEODRIVER": "dummy"}
    ear = StampedEar()
    running = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    try:
        wait_for(lambda: bool(np.abs(ear.wave()[-RATE // 10 :]).max(initial=0) > 0.05), "the session's sound")
        time.sleep(3.0)
        server.kill()
        ear.close()
        time.sleep(2.0)
        server = Server(place)
        ear = StampedEar()
        wait_for(lambda: bool(np.abs(ear.wave()[-RATE // 10 :]).max(initial=0) > 0.05), "the sound")
        said, _ = running.communicate(timeout=60)
    finally:
        running.kill()
        ear.close()
        server.kill()
    assert running.returncode == 0, said
    rounds = json.loads((left / "marks.json").read_text())["rounds"]
    # The stand-in player makes mistakes, but none that is only half a round: that one is dropped.
    assert rounds
    for one in rounds:
        missed = [note["verdict"] for note in one["notes"]].count("missed")
        assert missed < len(one["notes"]) / 2, one
