"""Note names and MIDI pitches: `C#4`, `Bb3`, `E♭5`. Middle C is C4 (scientific pitch notation), MIDI 60."""

from __future__ import annotations

import re
from collections.abc import Iterable

_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_SHIFTS = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}
_SHARPS = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
# The other names of the black notes, and where both stand on the line of fifths (F is -1, C 0, G 1, …).
_FLATS = {1: "Db", 3: "Eb", 6: "Gb", 8: "Ab", 10: "Bb"}
_FIFTHS_UP = {1: 7, 3: 9, 6: 6, 8: 8, 10: 10}
_ROUND = 12  # fifths from a sharp's name down to its flat's
_NAME = re.compile(r"([A-Ga-g])([#♯b♭]?)(-?\d)")


def pitch_of(name: str) -> int:
    """The MIDI pitch of a note name with its octave.

    Raises
    ------
    ValueError : where `name` is no note name, or lies outside MIDI's 0 to 127.
    """
    match = _NAME.fullmatch(name.strip())
    if match is None:
        raise ValueError(f"“{name}” is no note name such as C#4 or Bb3")
    letter, shift, octave = match.groups()
    pitch = _STEPS[letter.upper()] + _SHIFTS[shift] + 12 * (int(octave) + 1)
    if not 0 <= pitch <= 127:
        raise ValueError(f"“{name}” lies outside the pitches 0 to 127")
    return pitch


def name_of(pitch: int, octave: bool = True, signature: Iterable[tuple[str, int]] = ()) -> str:
    """The name of a MIDI pitch: 61 is `C#4`.

    A black note is called by the one of its two names that lies nearer to the notes of the key on the line of fifths:
    in G minor `Bb`, `Eb` and `F#`. With no signature, and where both are as near, it is a sharp.
    """
    name = _flat(pitch % 12, sum(alter for _, alter in signature)) or _SHARPS[pitch % 12]
    return f"{name}{pitch // 12 - 1}" if octave else name


def _flat(pitch_class: int, sharps: int) -> str:
    """The flat's name of a black note, where a key of so many sharps (negative: flats) calls it so; else ""."""
    if not sharps or pitch_class not in _FLATS:
        return ""
    low, high = sharps - 1, sharps + 5  # from F to B in C major
    sharp = _FIFTHS_UP[pitch_class]
    flat = sharp - _ROUND
    return _FLATS[pitch_class] if max(0, low - flat) < max(0, sharp - high) else ""
