"""Notes that are only sounded (not written) laid out in bars: what a MIDI file or a take gives."""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from companion.tune.build_tune import Heading, build
from companion.tune.draft import NO_EXTRAS, REST, Complaints, Draft, DraftSpan, Joint, Melody
from companion.tune.ticks import Ticks, ticks
from companion.tune.tune import Tune


class SoundedNote(NamedTuple):
    """One note: where it begins and how long it lasts in whole notes, its pitch, and what sounds beneath it."""

    onset: Fraction
    length: Fraction
    pitch: int
    under: tuple[int, ...] = ()


def lay_out(heading: Heading, notes: list[SoundedNote], complaints: Complaints) -> Tune:
    """A tune of one part, its bars counted from 0 in the meter; a note over a bar line is tied over it."""
    full = ticks(heading.meter.bar) if heading.meter.bar else None
    melody = Melody()
    events: list[tuple[Ticks, Ticks, SoundedNote | None]] = []
    now: Ticks = 0
    for note in notes:
        onset, length = ticks(note.onset), ticks(note.length)
        if onset > now:
            events.append((now, onset - now, None))
        events.append((onset, length, note))
        now = onset + length
    end: Ticks = full or 0
    first: int = 0
    start: Ticks = 0
    for onset, length, sounded in events:
        while True:
            here = length if full is None else min(length, end - onset)
            pitch = REST if sounded is None else sounded.pitch
            extras = NO_EXTRAS
            if sounded is not None and sounded.under:
                extras = ((), (), None, sounded.under, None)
            melody.drafts.append(Draft(onset, here, pitch, sounded is not None and here < length, extras, 0, 0))
            onset, length = onset + here, length - here
            if full is not None and onset == end:
                _close(melody, first, start, end, heading, full)
                first, start, end = len(melody.drafts), end, end + full
            if not length:
                break
    if len(melody.drafts) > first:
        _close(melody, first, start, now, heading, full)
    return build(heading, melody, (), complaints)


def _close(melody: Melody, first: int, start: Ticks, end: Ticks, heading: Heading, full: Ticks | None) -> None:
    melody.items.append(len(melody.spans))
    melody.spans.append(
        DraftSpan(
            first, len(melody.drafts), start, end - start, full, Joint.PLAIN, 0, 0, meter=heading.meter.text
        )
    )  # fmt: skip
