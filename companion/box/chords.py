"""Chords: what a chord symbol names, and the likeliest chords of a tune that names none.

Pitch classes count from C as 0. A chord is taken as its triad: what a symbol adds to it (a seventh, another bass) makes
no difference to which button of the left hand to press.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction

from companion.tune.tune_values import OnceThrough, Played

_LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_SYMBOL = re.compile(r"\s*([A-G])([#♯b♭]?)(maj|min|mi|m|M|-|dim|aug|\+|sus[24]?|°)?.*")
_THIRDS = {"m": 3, "min": 3, "mi": 3, "-": 3, "dim": 3, "°": 3}


@dataclass(frozen=True, slots=True)
class Chord:
    """A triad: its root, its third and its fifth as semitones above the root."""

    root: int
    third: int = 4
    fifth: int = 7

    @property
    def tones(self) -> frozenset[int]:
        """The pitch classes of the triad."""
        return frozenset({self.root, (self.root + self.third) % 12, (self.root + self.fifth) % 12})

    @property
    def name(self) -> str:
        """The chord's name: "Em"."""
        return _NAMES[self.root] + ("m" if self.third == 3 else "")


def chord_of(symbol: str) -> Chord | None:
    """The triad that a chord symbol names ("Em7", "D/F#", "Bb"); None where it names none."""
    match = _SYMBOL.fullmatch(symbol)
    if match is None:
        return None
    letter, sign, kind = match.groups()
    root = (_LETTERS[letter] + (1 if sign in ("#", "♯") else -1 if sign in ("b", "♭") else 0)) % 12
    fifth = 6 if kind in ("dim", "°") else 8 if kind in ("aug", "+") else 7
    return Chord(root, _THIRDS.get(kind or "", 4), fifth)


def chords_written(notes: Sequence[Played]) -> list[Chord | None]:
    """For each note the chord that a symbol over it, or over the last note that had one, names."""
    found: list[Chord | None] = []
    now: Chord | None = None
    for note in notes:
        if note.chord is not None and (named := chord_of(note.chord)) is not None:
            now = named
        found.append(now)
    return found


# What a chord is worth to a bar, by how its notes lie in it; common practice.
_ROOT, _OTHER, _OUTSIDE = 1.2, 1.0, -0.6  # a whole note's worth of sound on the root, on another tone, on neither
_STRONG = 2.0  # the first note of a bar counts this many times
_CHANGE = 0.05  # a change of chord
_CLOSE = 0.3  # the last bar of all on the tonic


def likely_chords(round_: OnceThrough, scale: Collection[int], tonic: int) -> list[Chord]:
    """The likeliest chord for each note of a tune that names none: one to a bar, out of the triads of its scale.

    The sequence that is worth most in all; what a chord is worth to a bar stands in the constants above.

    Parameters
    ----------
    round_ : the tune, with at least one note.
    scale : its pitch classes.
    tonic : the pitch class of its tonic.
    """
    triads = [
        Chord(root, third)
        for root in sorted(scale, key=lambda pc: (pc - tonic) % 12)
        for third in (4, 3)
        if Chord(root, third).tones <= set(scale)
    ] or [Chord(tonic)]
    bars = _bars(round_.notes)
    worth = [[_worth(chord, bar) for chord in triads] for bar in bars]
    for index, chord in enumerate(triads):
        if chord.root == tonic:
            worth[-1][index] += _CLOSE
    best, came = worth[0], []
    for values in worth[1:]:
        froms = [
            max(range(len(triads)), key=lambda i: best[i] - (_CHANGE if i != j else 0)) for j in range(len(triads))
        ]
        best = [best[i] - (_CHANGE if i != j else 0) + values[j] for j, i in enumerate(froms)]
        came.append(froms)
    at = max(range(len(triads)), key=best.__getitem__)
    way = [at]
    for froms in reversed(came):
        at = froms[at]
        way.append(at)
    return [triads[index] for index, bar in zip(reversed(way), bars, strict=True) for _ in bar]


def _from(best: Sequence[float], chord: int) -> int:
    """Which chord it is best to come from."""
    return max(range(len(best)), key=lambda i: best[i] - (_CHANGE if i != chord else 0))


def _bars(notes: Sequence[Played]) -> list[list[Played]]:
    """The notes bar by bar."""
    bars: list[list[Played]] = []
    for note in notes:
        last = bars[-1][-1] if bars else None
        if last is None or (last.bar, last.turn, last.part) != (note.bar, note.turn, note.part):
            bars.append([])
        bars[-1].append(note)
    return bars


def _worth(chord: Chord, bar: Sequence[Played]) -> float:
    total = 0.0
    for index, note in enumerate(bar):
        pc = note.pitch % 12
        each = _ROOT if pc == chord.root else _OTHER if pc in chord.tones else _OUTSIDE
        total += each * float(Fraction(note.length)) * (_STRONG if index == 0 else 1.0)
    return total
