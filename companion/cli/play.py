"""`companion play`: hear a tune, or a piece of it."""

from __future__ import annotations

import argparse
import time

from companion.cli.show import line
from companion.cli.sounded import sounded
from companion.sound.render import Renderer
from companion.sound.speaker import open_speaker


def run(given: argparse.Namespace) -> None:
    """Play it, and wait until it is over."""
    made = sounded(given)
    sound = Renderer(made.settings.voices, rate=made.passage.rate).render(made.passage)
    speaker = open_speaker(allow_dummy=False)
    try:
        line(f"{made.title}, {made.passage.seconds:.1f} s at {made.timeline.bpm:g} beats a minute (Ctrl-C stops)")
        first = speaker.queue(sound, made.passage.frames)
        end = (first + len(sound)) / speaker.rate
        while speaker.now() < end:
            time.sleep(0.02)
        speaker.cut()
        time.sleep(0.05)
    finally:
        speaker.close()
