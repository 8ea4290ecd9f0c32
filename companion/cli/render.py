"""`companion render`: a tune, or a piece of it, as a sound or MIDI file."""

from __future__ import annotations

import argparse
from pathlib import Path

from companion.cli.show import line
from companion.cli.sounded import sounded
from companion.sound.files import write_midi, write_sound
from companion.sound.render import Renderer


def run(given: argparse.Namespace) -> None:
    """Write the file."""
    made = sounded(given)
    out = Path(given.out)
    if out.suffix.lower() in (".mid", ".midi"):
        write_midi(out, made.passage, made.timeline)
    else:
        renderer = Renderer(made.settings.voices, rate=made.passage.rate)
        write_sound(out, renderer.render(made.passage), made.passage.rate)
    line(f"{out}: {made.title}, {made.passage.seconds:.1f} s at {made.timeline.bpm:g} beats a minute")
