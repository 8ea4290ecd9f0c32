"""`companion delay` over real servers: a player on a JACK port, 90 ms late to the click of a PulseAudio sink."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Callable

import numpy as np
import pytest

pytest.importorskip("rtmidi", reason="no python-rtmidi here")

from companion.cli.main import main
from companion.input.ports import backend_name
from companion.sound.delays import kept_delay
from companion.sound.device import device_names
from companion.sound.speaker import DeviceSpeaker
from tests.servers.midi_ear import CLIENT, NAME, MidiEar
from tests.servers.sound_ear import RATE, listening

pytestmark = [pytest.mark.midi_server, pytest.mark.sound_server]

LATE = 0.09


class Player:
    """Plays a note `LATE` after each click that it is given the moments of."""

    def __init__(self) -> None:
        import rtmidi

        self._out = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name="wire")
        self._out.open_virtual_port("box")
        self.late: list[list[float]] = []  # of each time it played: how late each note really went out

    def play(self, stamps: list[float]) -> None:
        late: list[float] = []
        self.late.append(late)

        def run() -> None:
            for stamp in stamps:
                time.sleep(max(0.0, stamp + LATE - time.perf_counter()))
                late.append(time.perf_counter() - stamp)
                self._out.send_message([0x90, 69, 90])
                self._out.send_message([0x80, 69, 0])

        threading.Thread(target=run, daemon=True).start()

    def close(self) -> None:
        self._out.delete()


@pytest.fixture
def player(monkeypatch: pytest.MonkeyPatch) -> Player:
    if not backend_name()[0].endswith("UNIX_JACK"):
        pytest.skip("this machine has an ALSA sequencer, so MIDI does not go to JACK")
    monkeypatch.setenv("SDL_AUDIODRIVER", "pulseaudio")
    monkeypatch.setattr("companion.playback.measure_delay.BPM", 150.0)  # sooner over
    playing = Player()
    queue: Callable[..., int] = DeviceSpeaker.queue

    def queued(self: DeviceSpeaker, sound: object, frames: int) -> int:
        first = queue(self, sound, frames)
        playing.play([self.stamp_of(first / RATE + 0.4 * number) for number in range(4, 24)])
        return first

    monkeypatch.setattr(DeviceSpeaker, "queue", queued)
    return playing


def test_the_delay_of_sound_and_of_a_synthesiser_is_measured_and_kept(
    player: Player, capsys: pytest.CaptureFixture[str]
) -> None:
    synth = MidiEar()
    try:
        with listening() as heard:
            assert main(["delay", "--port", "wire:box", "--midi-out", f"{CLIENT}:{NAME}"]) == 0
    finally:
        synth.close()
        player.close()
    said = capsys.readouterr().out
    delay = kept_delay("sound", "")
    assert delay is not None
    # How late the notes really went out is known, busy machine or not; then come a period of JACK (5 ms) and a look.
    assert [len(late) for late in player.late] == [20, 20]
    out, again = (float(np.median(late)) for late in player.late)
    assert out - 0.005 < delay < out + 0.015
    told = re.search(r"come in (\d+) ms after the click", said)
    assert told is not None
    assert abs(int(told[1]) - 1000 * delay) <= 1  # told in whole milliseconds, kept in tenths
    late = kept_delay("midi", f"{CLIENT}:{NAME}")
    assert late is not None
    assert late < max(0.0, again - out) + 0.015
    assert len([1 for _, channel, _ in synth.ons() if channel == 9]) == 24
    # The click was heard the first time; the second time it was the synthesiser's.
    loud = np.flatnonzero(np.abs(heard.wave) > 0.05)
    assert 23 * 0.4 < (loud[-1] - loud[0]) / RATE < 24 * 0.4 + 0.5
    assert main(["delay", "--forget"]) == 0
    assert kept_delay("sound", "") is None


def test_a_device_is_chosen_by_its_name(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SDL_AUDIODRIVER", "pulseaudio")
    names = device_names()
    assert names
    assert main(["ports"]) == 0
    assert names[0] in capsys.readouterr().out
    from companion.sound.speaker import open_speaker

    speaker = open_speaker(device=names[0])
    assert speaker.missing == ""
    speaker.close()
    assert main(["delay", "--device", "no such device"]) == 2
    assert "no such device" in capsys.readouterr().err
