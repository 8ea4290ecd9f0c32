"""Ornaments and grace notes as short notes of their own: what sounds for one written note.

Conventions: seconds from the note's onset. A grace is a cut or a tap: so short that it has no time of its own. It keeps
nearly the same length at every tempo (Timmers et al. 2002), which is why a slowed tune does not sound stretched.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from companion.sound.sound_settings import ScoreSettings
from companion.tune.tune_values import Played

Figures = tuple[tuple[int, ...], ...]
"""A note in pieces of equal length: the pitches of the graces that open each."""


@dataclass(frozen=True, slots=True)
class FigureNote:
    """One of the notes that an ornament is made of; `before` marks graces that take their time from the note before."""

    start: float
    length: float
    pitch: int
    before: bool = False


def parts_of(
    note: Played, seconds: float, settings: ScoreSettings, figures: Figures | None = None
) -> tuple[FigureNote, ...]:
    """What sounds for a note that lasts `seconds`: its written graces, then the ornament or the plain note.

    `figures` is how a hand plays the ornament; None where there is none.
    """
    graces = _graces(note.grace, min(settings.grace_s, settings.grace_share * seconds), before=True)
    if figures:
        return (*graces, *_split(note.pitch, seconds, list(figures), settings))
    return (*graces, FigureNote(0.0, seconds, note.pitch))


def _graces(pitches: Iterable[int], each: float, *, before: bool) -> list[FigureNote]:
    pitches = list(pitches)
    # Many graces share the time of two, so that they never eat up the note before.
    each = min(each, 2 * each / max(1, len(pitches)))
    return [FigureNote((i - len(pitches)) * each, each, pitch, before) for i, pitch in enumerate(pitches)]


def _split(pitch: int, seconds: float, pieces: list[tuple[int, ...]], settings: ScoreSettings) -> list[FigureNote]:
    """The note in equal pieces, each opened by its graces. The note's own onset keeps its place: so do its graces."""
    each = seconds / len(pieces)
    grace = min(settings.grace_s, settings.grace_share * each)
    parts = []
    for number, graces in enumerate(pieces):
        start = number * each
        for pitch_before in graces:
            parts.append(FigureNote(start, grace, pitch_before))
            start += grace
        parts.append(FigureNote(start, (number + 1) * each - start, pitch))
    return parts
