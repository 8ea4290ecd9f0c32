"""How sure each verdict is, where the notes were heard through a microphone; what is in doubt faults nobody.

Conventions: seconds from the beginning of the sound; chances from 0 to 1.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from companion.hearing.ear import Ear
from companion.hearing.notes import SILENT
from companion.hearing.spectra import Floats
from companion.marking.mark_values import Heard, Marks, NoteMark, Verdict
from companion.marking.marking_rules import MarkingRules
from companion.marking.marks import is_clean
from companion.timeline import Timeline

# A fault must be as sure as that to be one.
FAULT = 0.6
_FAULTS = (Verdict.WRONG, Verdict.MISSED, Verdict.EXTRA)
# A missed note that is the same as the one before it counts as held on where it sounds for this share of its time.
_HELD = 0.4
_TURN, _CLEAR = 3, 0.6  # frames in which one note gives way to another; a share that leaves no doubt
_SOUNDS = 0.4  # of all that sounds

Sounded = Callable[[int, float, float], tuple[float, float]]


def weighed(
    marks: Marks,
    heard: Sequence[Heard],
    sounded: Sounded,
    *,
    rules: MarkingRules,
    timeline: Timeline | None,
    shift: int = 0,
) -> Marks:
    """The marks with how sure each is; what is not sure enough to fault anyone is unsure, with its cause left out.

    Parameters
    ----------
    heard : what the marks count in; `shift` says how many semitones it lies above what is asked.
    sounded : of a pitch between two moments, the greatest chance that it sounded in a frame, and the share of the time
        in which it did.
    rules, timeline : as they went into the marks, to say again whether the round is clean.
    """
    spans = _spans(marks, heard)
    before: NoteMark | None = None
    notes = []
    for note, span in zip(marks.notes, spans, strict=True):
        sure = _sure(note, before, heard, span, shift, sounded)
        if note.verdict in _FAULTS and sure < FAULT:
            note = replace(note, verdict=Verdict.UNSURE, cause=None)
        notes.append(replace(note, sure=round(sure, 4)))
        before = note if note.written is not None else before
    return replace(marks, notes=tuple(notes), clean=is_clean(notes, timeline, rules))


def sounded(held: Floats, ear: Ear, pitch: int) -> tuple[float, float]:
    """The greatest chance that a pitch sounded in any of some frames, and the share of them in which it did.

    `held` : (frames, pitches) what each holds, in the loudness of the usual note.
    """
    own = held[_TURN : max(_TURN, len(held) - 1)]
    if pitch not in ear.pitches or not len(own):
        return 0.0, 0.0
    share = own[:, ear.pitches.index(pitch)] / (own.sum(1) + SILENT)
    # What dies away in the room is no playing: only what rises counts.
    rises = np.maximum(share - share[0], 0) if len(share) > 1 else share
    steady = np.convolve(rises, np.ones(4) / 4, "same") if len(rises) >= 4 else rises
    return float(min(1.0, steady.max() / _CLEAR)), float((share > _SOUNDS).mean())


def _sure(
    note: NoteMark,
    before: NoteMark | None,
    heard: Sequence[Heard],
    span: tuple[float, float],
    shift: int,
    sounded: Sounded,
) -> float:
    own = heard[note.heard].sure if note.heard is not None else 1.0
    if note.verdict is Verdict.WRONG and note.pitch is not None and note.heard is not None:
        wrong = heard[note.tries[0]] if note.tries else heard[note.heard]
        chance, _ = sounded(note.pitch + shift, wrong.seconds - 0.02, wrong.end or wrong.seconds + 0.1)
        # Where the right note was played in the end, it sounds too, and that proves nothing.
        return wrong.sure if note.tries else wrong.sure * (1.0 - chance)
    if note.verdict is Verdict.MISSED and note.pitch is not None:
        chance, share = sounded(note.pitch + shift, *span)
        if before is not None and note.pitch in (before.pitch, before.heard_pitch):
            # The same note again: only silence, or another note, says that it was not played.
            return 0.5 if share > _HELD else 1.0 - share
        return 1.0 - chance
    return own


def _spans(marks: Marks, heard: Sequence[Heard]) -> list[tuple[float, float]]:
    """For each mark the stretch in which its note must have been: between its neighbours that were heard."""
    last, before = 0.0, []
    for note in marks.notes:
        before.append(last)
        if note.heard is not None:
            last = heard[note.heard].seconds
    following = heard[-1].end or heard[-1].seconds if heard else 0.0
    spans = []
    for note, begin in zip(reversed(marks.notes), reversed(before), strict=True):
        spans.append((begin, following))
        if note.heard is not None:
            following = heard[note.heard].seconds
    return spans[::-1]
