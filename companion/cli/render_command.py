"""`companion render`: a tune, or a piece of it, as a sound or MIDI file."""

from __future__ import annotations

import argparse
from pathlib import Path

from companion.cli.show import line
from companion.cli.sounded import sounded
from companion.cli.written import write
from companion.errors import UserError
from companion.sound.files import is_midi


def run(given: argparse.Namespace) -> None:
    """Write the file."""
    out = Path(given.out)
    if given.pieces is not None or given.tempi is not None:
        from companion.cli import batch

        batch.run(given, sounded(given))
        return
    if is_midi(out) and given.recording is not None:
        raise UserError("a recording cannot be written as MIDI; choose .wav, .flac, .ogg or .mp3")
    made = sounded(given)
    write(made, out)
    if made.take is not None:
        line(made.take.said)
    line(f"{out}: {made.title}, {made.seconds:.1f} s at {made.wish.bpm:g} beats a minute")
