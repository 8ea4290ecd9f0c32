"""What the fuzzers call: any bytes into the readers; nothing but `UserError` comes out."""

from __future__ import annotations

import contextlib

from companion.errors import UserError
from companion.notation.abc_reader import read_abc
from companion.notation.abc_text import decode
from companion.notation.abc_writer import write_abc
from companion.notation.midi_reader import read_midi
from companion.notation.midi_writer import midi_bytes
from companion.tune.unfold import unfold

HEAD = "X:1\nT:t\nM:4/4\nL:1/8\nK:C\n"


def abc(data: bytes) -> None:
    """A whole book; what is read is unfolded, written and read again."""
    text = decode(data[:20_000])
    for whole in (text, HEAD + text):
        with contextlib.suppress(UserError):
            for tune in read_abc(whole).tunes[:8]:
                _use(tune)


def _use(tune: object) -> None:
    from companion.tune.tune import Tune

    assert isinstance(tune, Tune)
    if tune.errors:
        return
    round_ = unfold(tune)
    assert round_.length >= 0
    again = read_abc(write_abc(tune)).tunes[0]
    assert [(n.onset, n.length, n.pitch) for n in again.notes] == [(n.onset, n.length, n.pitch) for n in tune.notes]
    midi_bytes(tune)


def midi(data: bytes) -> None:
    """A MIDI file."""
    with contextlib.suppress(UserError):
        unfold(read_midi(data[:20_000]).tunes[0])
