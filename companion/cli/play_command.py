"""`companion play`: hear a tune, or a piece of it, and change it with the keys while it sounds."""

from __future__ import annotations

import argparse
import time
from contextlib import ExitStack

from companion.cli.keys import keys
from companion.cli.playing import HELP, TAKE_HELP, Playing
from companion.cli.show import line
from companion.cli.sounded import number, sounded
from companion.errors import UserError
from companion.input.ports import backend_name
from companion.sound.delays import kept_delay
from companion.sound.midi_out import MidiOut
from companion.sound.score import SoundVoice
from companion.sound.speaker import DeviceSpeaker, open_speaker

DELAYS = (0.0, 1000.0)  # ms


def run(given: argparse.Namespace) -> None:
    """Play it until it is over, or told to stop."""
    if given.recording is not None and given.midi_out is not None:
        raise UserError("a synthesiser cannot play a recording; give either --midi-out or --recording")
    made = sounded(given, endless=True)
    made.rounds.loop(made.wish, 0)  # what takes time is done before the sound device waits for it
    delay = number(given.midi_delay, "--midi-delay", DELAYS, "ms") / 1000 if given.midi_delay is not None else None
    with ExitStack() as opening:
        # Where a synthesiser plays, a machine with no sound device still has the time to keep.
        speaker = open_speaker(allow_dummy=given.midi_out is not None, device=given.device)
        opening.callback(speaker.close)
        follower = None
        if given.midi_out is not None:
            follower = open_midi_out(given.midi_out, speaker, delay)
            opening.callback(follower.close)
            for voice in SoundVoice:
                speaker.level(voice.value, 0.0)
        playing = Playing(made, speaker, follower)
        opening.callback(playing.close)
        length = f"{made.seconds:.1f} s" if made.seconds else "until you stop it"
        line(f"{made.title}, {length} at {made.wish.bpm:g} beats a minute (Ctrl-C stops)")
        if made.take is not None:
            line(made.take.said)
        with keys() as pressed:
            if pressed is not None:
                line(HELP + (TAKE_HELP if made.take is not None else ""))
            while not playing.over:
                for key in pressed() if pressed is not None else ():
                    said = playing.press(key)
                    if said:
                        line(said)
                playing.step()
                if playing.said:
                    line(playing.said)
                    playing.said = ""
                time.sleep(0.01)
        speaker.cut()
        time.sleep(0.05)


def open_midi_out(port: str, speaker: DeviceSpeaker, delay: float | None) -> MidiOut:
    """A MIDI output that follows the speaker; its delay is the one that was measured where none is given."""
    backend, problem = backend_name()
    if problem:
        raise UserError(f"nothing can be played on “{port}”: {problem[0].lower()}{problem[1:].rstrip('.')}")
    known = kept_delay("midi", port) if delay is None else delay
    return MidiOut(backend, port, speaker, known or 0.0)
