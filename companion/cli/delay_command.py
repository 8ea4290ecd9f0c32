"""`companion delay`: how late what is played comes in on this machine, measured together with the player."""

from __future__ import annotations

import argparse
from contextlib import ExitStack

from companion.cli.play_command import open_midi_out
from companion.cli.show import line
from companion.errors import UserError
from companion.input.ear_files import ear_for
from companion.input.microphone import open_microphone
from companion.input.midi_in import open_midi_in
from companion.playback.measure_delay import CLICKS, LISTENED, keep_heard, measure, measure_heard
from companion.sound.delays import keep_delay
from companion.sound.score import SoundVoice
from companion.sound.speaker import open_speaker


def run(given: argparse.Namespace) -> None:
    """Measure, or forget."""
    device = given.device or ""
    if given.microphone is not None:
        _measure_microphone(given)
        return
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


def _measure_microphone(given: argparse.Namespace) -> None:
    """Measure how late a microphone hears the click, with no player; or forget it."""
    if given.port is not None or given.midi_out is not None:
        raise UserError("--microphone measures by itself; leave out --port and --midi-out")
    with ExitStack() as opening:
        speaker = open_speaker(allow_dummy=False, device=given.device)
        opening.callback(speaker.close)
        microphone = open_microphone(given.microphone or None, lambda name: ear_for("", name))
        opening.callback(microphone.close)
        if given.forget:
            keep_heard(speaker, microphone, None)
            line(f"Forgotten: no delay of “{microphone.name}” is allowed for any more.")
            return
        line("Keep still for a moment. The microphone must hear the loudspeaker: no headphones.")
        heard = measure_heard(speaker, microphone)
        keep_heard(speaker, microphone, heard.seconds)
        line(
            f"“{microphone.name}” hears the click {1000 * heard.seconds:.0f} ms late (half of {heard.count} within "
            f"{1000 * heard.scatter:.1f} ms). From now on this is allowed for."
        )
