"""Note names and MIDI pitches: `C#4`, `Bb3`, `E♭5`. Middle C is C4 (scientific pitch notation), MIDI 60."""

from __future__ import annotations

import re

_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_SHIFTS = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}
_SHARPS = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
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


def name_of(pitch: int, octave: bool = True) -> str:
    """The name of a MIDI pitch, black notes as sharps: 61 is `C#4`."""
    name = _SHARPS[pitch % 12]
    return f"{name}{pitch // 12 - 1}" if octave else name
