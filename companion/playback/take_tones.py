"""A take beside the tune: the tones of its notes in a round that sounds. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from statistics import median

from companion.marking.take_in_tune import PlacedNote
from companion.sound.score import Passage, SoundVoice, Tone
from companion.timeline import Timeline

LEAST = 0.03  # seconds: a shorter tone is a crack, not a note (ours)


def beside(
    made: Passage,
    now: Sequence[PlacedNote],
    ahead: Sequence[PlacedNote],
    timeline: Timeline,
    *,
    first: bool,
    velocity: int,
    shift: int = 0,
) -> Passage:
    """A passage with the notes of a take in it.

    Parameters
    ----------
    now : the take's notes in this passage; `ahead` : those of the next one. What was played before the beginning of a
        passage sounds in the one before.
    timeline : only its tempo counts.
    first : whether nothing comes before it: then it begins a little sooner, where the take does.
    velocity : how loud the take is on the whole; within it, loud and soft stay.
    """
    if not now and not ahead:
        return made
    louder = velocity / max(1.0, median(note.velocity for note in (*now, *ahead)))
    tones = []
    for notes, frame in (
        ([note for note in now if first or note.at >= 0], made.start),
        ([note for note in ahead if note.at < 0], made.frames),
    ):
        for note in notes:
            start = frame / made.rate + note.at * timeline.whole
            loud = min(127, max(1, round(note.velocity * louder)))
            if 0 <= note.pitch + shift <= 127:
                tones.append(
                    Tone(start, max(LEAST, note.length * timeline.whole), note.pitch + shift, loud, SoundVoice.TAKE)
                )
    lead = max(0, -min((round(tone.start * made.rate) for tone in tones), default=0))
    later = lead / made.rate
    both = (replace(tone, start=max(0.0, tone.start + later)) for tone in (*made.tones, *tones))
    ordered = tuple(sorted(both, key=lambda tone: tone.start))
    return replace(made, tones=ordered, frames=made.frames + lead, start=made.start + lead)
