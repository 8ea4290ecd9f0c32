"""`companion play`: hear a tune, or a piece of it, and change it with the keys while it sounds."""

from __future__ import annotations

import argparse
import time

from companion.cli.keys import keys
from companion.cli.playing import HELP, Playing
from companion.cli.show import line
from companion.cli.sounded import sounded
from companion.sound.speaker import open_speaker


def run(given: argparse.Namespace) -> None:
    """Play it until it is over, or told to stop."""
    made = sounded(given, endless=True)
    speaker = open_speaker(allow_dummy=False, device=given.device)
    try:
        playing = Playing(made, speaker)
        length = f"{made.seconds:.1f} s" if made.seconds else "until told"
        line(f"{made.title}, {length} at {made.wish.bpm:g} beats a minute (Ctrl-C stops)")
        with keys() as pressed:
            if pressed is not None:
                line(HELP)
            while not playing.over:
                for key in pressed() if pressed is not None else ():
                    said = playing.press(key)
                    if said:
                        line(said)
                playing.step()
                time.sleep(0.01)
        speaker.cut()
        time.sleep(0.05)
    finally:
        speaker.close()
