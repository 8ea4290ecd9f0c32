"""MIDI out: a synthesiser or box of your own plays what the speaker plays, at the same moments.

Notes are handed a round at a time to a process of their own (:mod:`companion.sound.midi_player`), with the moment at
which each is to sound.
"""

from __future__ import annotations

import contextlib
import subprocess
import sys
from typing import Protocol

from companion.errors import UserError
from companion.sound.midi_player import PERCUSSION
from companion.sound.score import Passage, SoundVoice

CHANNELS = {
    SoundVoice.MELODY: 0,
    SoundVoice.BASS: 1,
    SoundVoice.CHORD: 2,
    SoundVoice.CLICK: PERCUSSION,
    SoundVoice.TAKE: 4,
}
PATIENCE = 10.0  # seconds for the process to begin or to end


class SpeakerClock(Protocol):
    """What MIDI out needs of a speaker."""

    rate: int

    def stamp_of(self, place: float) -> float:
        """When a place on the speaker's clock is heard, as a ``time.perf_counter()`` stamp."""


class MidiOut:
    """An open MIDI output that follows a speaker.

    Parameters
    ----------
    backend, port : mido's name of the backend, and the port's own.
    clock : the speaker. `delay` : seconds by which notes are sent earlier, since the synthesiser is late by as much.

    Raises
    ------
    UserError : there is no such port, or it cannot be opened.
    """

    def __init__(self, backend: str, port: str, clock: SpeakerClock, delay: float = 0.0) -> None:
        self._clock, self._delay = clock, delay
        command = [sys.executable, "-m", "companion.sound.midi_player", backend, port]
        self._process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
        )
        assert self._process.stdout is not None
        said = self._process.stdout.readline().strip()
        if said != "ready":
            self.close()
            reason = said.removeprefix("error ") or "its driver gave up"
            raise UserError(f"the MIDI output “{port}” cannot be opened ({reason}); `companion ports` lists them")

    @property
    def gone(self) -> bool:
        """Whether the output can no longer be played on."""
        return self._process.poll() is not None

    def queued(self, passage: Passage, first: int) -> None:
        """Play a passage that begins on a frame of the speaker."""
        lines = []
        for tone in passage.tones:
            stamp = self._clock.stamp_of((first / self._clock.rate) + tone.start) - self._delay
            channel = CHANNELS[tone.voice]
            lines.append(f"note {stamp:.6f} {channel} {tone.pitch} {tone.velocity} {tone.length:.6f}\n")
        self._tell("".join(lines))

    def level(self, voice: str, factor: float) -> None:
        """Let a voice be so loud from its next note on."""
        self._tell(f"level {CHANNELS[SoundVoice(voice)]} {factor}\n")

    def cut(self) -> None:
        """Silence at once."""
        self._tell("cut\n")

    def close(self) -> None:
        """Silence, and let go of the port."""
        if self._process.stdin is not None:
            with contextlib.suppress(OSError):
                self._process.stdin.close()
        try:
            self._process.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            self._process.terminate()
        if self._process.stdout is not None:
            self._process.stdout.close()

    def _tell(self, orders: str) -> None:
        assert self._process.stdin is not None
        # A lost port reports it (`gone`); the sound carries on.
        with contextlib.suppress(OSError, ValueError):
            self._process.stdin.write(orders)
            self._process.stdin.flush()
