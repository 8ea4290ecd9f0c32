"""Ornaments and grace notes as short notes of their own: what sounds for one written note.

Conventions: seconds from the note's onset. A grace is a cut or a tap: so short that it has no time of its own. It keeps
nearly the same length at every tempo (Timmers et al. 2002), which is why a slowed tune does not sound stretched.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction

from companion.sound.sound_settings import ScoreSettings
from companion.tune.tune_values import Key, Played

Neighbours = Callable[[int], tuple[int, int]]
Figures = tuple[tuple[int, ...], ...]
"""A note in pieces of equal length: the pitches of the graces that open each."""


@dataclass(frozen=True, slots=True)
class FigureNote:
    """One of the notes that an ornament is made of; `before` marks graces that take their time from the note before."""

    start: float
    length: float
    pitch: int
    before: bool = False


def neighbours_in(key: Key | None) -> Neighbours:
    """The cut and the tap of a pitch in a key: a third above (the box's next button of the row) and the step below.

    The written order of notes in a row makes the cut "a third or so" above, in one bellows direction
    (hspeek.home.xs4all.nl, ornaments); which one a hand can reach is the box's business, not the sound's.
    """
    altered = dict(key.signature) if key is not None else {}
    letters = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
    scale = sorted({(value + altered.get(letter, 0)) % 12 for letter, value in letters.items()})

    def around(pitch: int) -> tuple[int, int]:
        above = [p for p in range(pitch + 1, pitch + 13) if p % 12 in scale]
        below = [p for p in range(pitch - 1, pitch - 13, -1) if p % 12 in scale]
        return above[1] if len(above) > 1 else pitch + 3, below[0] if below else pitch - 2

    return around


def parts_of(
    note: Played, seconds: float, around: Neighbours, settings: ScoreSettings, figures: Figures | None = None
) -> tuple[FigureNote, ...]:
    """What sounds for a note that lasts `seconds`: its written graces, then the ornament or the plain note.

    `figures` is how a hand plays the ornament; without it, its notes are taken from the key (`around`).
    """
    graces = _graces(note.grace, min(settings.grace_s, settings.grace_share * seconds), before=True)
    if figures:
        return (*graces, *_split(note.pitch, seconds, list(figures), settings))
    return (*graces, *_ornament(note, seconds, around, settings))


def _graces(pitches: Iterable[int], each: float, *, before: bool) -> list[FigureNote]:
    pitches = list(pitches)
    # Many graces share the time of two, so that they never eat up the note before.
    each = min(each, 2 * each / max(1, len(pitches)))
    return [FigureNote((i - len(pitches)) * each, each, pitch, before) for i, pitch in enumerate(pitches)]


def _ornament(note: Played, seconds: float, around: Neighbours, settings: ScoreSettings) -> list[FigureNote]:
    """Sequences as trade schools teach them: long roll N {U}N {L}N, short roll {U}N {L}N, cut {U}N."""
    names = set(note.ornaments)
    upper, lower = around(note.pitch)
    cut = (upper,)
    tap = (lower,)
    if "roll" in names:
        long = note.length >= Fraction(3, 8)
        pieces: list[tuple[int, ...]] = [(), cut, tap] if long else [cut, tap]
        return _split(note.pitch, seconds, pieces, settings)
    if "cran" in names:
        return _split(
            note.pitch, seconds, [(), cut, (upper + 2,)] if note.length >= Fraction(3, 8) else [cut, ()], settings
        )
    if names & {"cut", "trill", "uppermordent", "pralltriller"}:
        return _split(note.pitch, seconds, [cut], settings)
    if names & {"tap", "strike", "lowermordent", "mordent"}:
        return _split(note.pitch, seconds, [tap], settings)
    return [FigureNote(0.0, seconds, note.pitch)]


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
