"""`companion delay`: how late what is played comes in on this machine, measured together with the player."""

from __future__ import annotations

import argparse
from contextlib import ExitStack

from companion.cli.play_command import open_midi_out
from companion.cli.show import line
from companion.input.midi_in import open_midi_in
from companion.playback.measure_delay import CLICKS, LISTENED, measure
from companion.sound.delays import keep_delay
from companion.sound.score import SoundVoice
from companion.sound.speaker import open_speaker


def run(given: argparse.Namespace) -> None:
    """Measure, or forget."""
    device = given.device or ""
    if given.forget:
        keep_delay("sound", device, None)
        if given.midi_out is not None:
            keep_delay("midi", given.midi_out, None)
        line("Forgotten: no delay is allowed for any more.")
        return
    with ExitStack() as opening:
        speaker = open_speaker(allow_dummy=False, device=given.device)
        opening.callback(speaker.close)
        ear = open_midi_in(given.port)
        opening.callback(ear.close)
        line(f"Listen to {LISTENED} clicks, then play one short note with each of the {CLICKS - LISTENED} that follow.")
        heard = measure(speaker, ear)
        keep_delay("sound", device, heard.seconds)
        where = f"“{given.device}”" if given.device else "the default sound device"
        line(
            f"On {where} your notes come in {1000 * heard.seconds:.0f} ms after the click "
            f"(half of {heard.count} within {1000 * heard.scatter:.0f} ms). From now on this is allowed for."
        )
        if given.midi_out is None:
            return
        out = open_midi_out(given.midi_out, speaker, 0.0)
        opening.callback(out.close)
        speaker.level(SoundVoice.CLICK.value, 0.0)
        line("The same again, with the click from the synthesiser.")
        late = max(0.0, measure(speaker, ear, out).seconds - heard.seconds)
        keep_delay("midi", given.midi_out, late)
        line(
            f"“{given.midi_out}” sounds {1000 * late:.0f} ms later than the sound device. "
            "From now on it gets its notes earlier."
        )
