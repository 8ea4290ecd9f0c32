"""Writing what is to sound to a file."""

from __future__ import annotations

from pathlib import Path

from companion.cli.sounded import SoundRequest
from companion.playback.round_maker import levelled
from companion.sound.files import is_midi, write_blocks, write_midi


def write(made: SoundRequest, out: Path) -> None:
    """Write what is wished to a file, as its ending says."""
    if is_midi(out):
        whole = levelled(made.rounds.whole(made.wish), made.wish.levels)
        write_midi(out, whole, made.rounds.timeline(made.wish), title=made.title)
    else:
        write_blocks(out, made.rounds.blocks(made.wish), made.rounds.rate)
