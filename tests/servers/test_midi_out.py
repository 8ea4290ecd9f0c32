"""MIDI out over a JACK server: notes at their moments, and an end to every note, however the program goes."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from statistics import median

import pytest

pytest.importorskip("rtmidi", reason="no python-rtmidi here")

from companion.cli.main import main
from companion.input.ports import backend_name
from companion.places import shipped
from tests.playback.test_rounds import SoundWish, in_hand, made
from tests.servers.midi_ear import CLIENT, NAME, MidiEar

pytestmark = pytest.mark.midi_server

ROOT = Path(__file__).parents[2]
BOOK = str(shipped("demo_tunes", "tanners_quay.abc"))
PLAY = ["play", BOOK, "--tune", "2", "--midi-out", f"{CLIENT}:{NAME}"]
PROGRAM = "from companion.cli.main import entry; entry()"
FAULTY = f"""
import companion.cli.playing as playing
real, count = playing.Playing.step, [0]
def step(self):
    real(self)
    count[0] += 1
    if count[0] > 150:
        raise RuntimeError("a fault")
playing.Playing.step = step
{PROGRAM}
"""


def started(program: str, *more: str) -> subprocess.Popen[bytes]:
    if not backend_name()[0].endswith("UNIX_JACK"):
        pytest.skip("this machine has an ALSA sequencer, so MIDI does not go to JACK")
    environment = os.environ | {"SDL_AUDIODRIVER": "dummy"}
    command = [sys.executable, "-c", program, *PLAY, *more]
    return subprocess.Popen(command, cwd=ROOT, env=environment, preexec_fn=hears_interrupts)


def hears_interrupts() -> None:
    """What is started where a shell goes on beside it does not hear an interrupt, and hands that down."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@pytest.mark.parametrize("way", ["SIGTERM", "SIGKILL", "SIGINT", "fault"])
def test_every_note_ends_on_every_way_out(way: str) -> None:
    ear = MidiEar()
    running = started(FAULTY if way == "fault" else PROGRAM, "--rounds", "endless", "--tempo", "30")
    try:
        until = time.monotonic() + 20
        while not ear.hanging():
            assert time.monotonic() < until, "no note came"
            time.sleep(0.005)
        if way != "fault":
            running.send_signal(getattr(signal, way))
        running.wait(timeout=20)
        until = time.monotonic() + 3
        while ear.hanging() and time.monotonic() < until:
            time.sleep(0.01)
        assert not ear.hanging()
        count = len(ear.ons())
        time.sleep(0.3)
        assert len(ear.ons()) == count
    finally:
        running.kill()
        ear.close()


def test_notes_come_at_their_moments() -> None:
    """Within a period of the server and what a busy machine adds (the bench gives the figures)."""
    rounds, pieces, _ = in_hand(2)
    asked = made(rounds, SoundWish(pieces["A bar 1"], 100.0)).tones
    ear = MidiEar()
    running = started(PROGRAM, "--piece", "A bar 1", "--tempo", "100", "--rounds", "2", "--midi-delay", "20")
    try:
        assert running.wait(timeout=30) == 0
        time.sleep(0.2)
        ons = ear.ons()
        assert not ear.hanging()
    finally:
        running.kill()
        ear.close()
    assert len(ons) == 2 * len(asked)
    first = sorted(ons[: len(asked)])
    off = [stamp - tone.start for (stamp, _, _), tone in zip(first, asked, strict=True)]
    errors = sorted(abs(one - median(off)) for one in off)
    assert sorted(pitch for _, _, pitch in first) == sorted(tone.pitch for tone in asked)
    assert errors[len(errors) // 2] < 0.008


def test_a_port_that_is_not_there(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SDL_AUDIODRIVER", "dummy")
    assert main(["play", BOOK, "--midi-out", "nowhere:at all"]) == 2
    said = capsys.readouterr().err
    assert "nowhere:at all" in said
    assert said.count("\n") == 1
