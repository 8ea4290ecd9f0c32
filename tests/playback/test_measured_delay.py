"""The delay that was measured is taken off what the player plays: once."""

from __future__ import annotations

import time
from typing import Any

import mido
import pytest

from companion.input.listening import Listening
from companion.input.midi_in import open_midi_in
from companion.sound.delays import keep_delay
from companion.sound.speaker import open_speaker
from tests.session.fakes import a_tune_in_hand


class ByHand:
    """A port that sends what the test tells it to."""

    name = "by hand"
    callback: Any = None

    def close(self) -> None:
        pass


def test_it_is_taken_off_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SDL_AUDIODRIVER", "dummy")
    keep_delay("sound", "", 0.25)
    speaker = open_speaker()
    port = ByHand()
    stamps: list[float] = []

    def clock() -> float:
        stamps.append(time.perf_counter())
        return stamps[-1]

    listening = Listening(open_midi_in(port, clock=clock), a_tune_in_hand()[0].fingering, standin=False)
    try:
        port.callback(mido.Message("note_on", note=62, velocity=80))
        (note,) = listening.new(speaker.time_of)
        assert note.seconds == pytest.approx(speaker.place_of(stamps[-1]) - 0.25, abs=0.03)
    finally:
        listening.close()
        speaker.close()
