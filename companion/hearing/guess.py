"""An ear for a box that nobody has learnt: reeds made up of their partials, put right by what a take itself sounds.

Conventions: as in `companion.hearing.spectra`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from companion.hearing.again import dips, levels, partials, pitch_hz
from companion.hearing.chosen import Begun, read
from companion.hearing.ear import NOISE, Ear
from companion.hearing.notes import Part
from companion.hearing.spectra import HOP, LONG, RATE, SHORT, Floats, Spectra

# From the lowest note of the right hand on common boxes to the highest.
PITCHES = tuple(range(54, 96))
# How fast a reed's partials grow weaker: a bright one, and a dull one. (Ours.)
_SLOPES = (0.5, 1.4)
_LATE = 0.022
_FRAMES = 24
_CLEAR, _LONG = 2.0, 12  # log odds and frames: a part that is taken for what the box sounds like
_SAME = 0.5  # of the parts, those that are of the tune's pitch classes where it is the tune
_INTO = 7  # frames into a part at which nothing is left of the note before
_USUAL_BEATS = 3.0
OFFSETS = (0, 20, -20, 40, -40)  # cents from equal temperament at A = 440 Hz, in the order in which they are tried
GOOD = 0.8  # share of the tune at which no other is tried
_ENOUGH = 3  # notes of a pitch that tell how it beats


@cache
def own_ear(cents: int = 0) -> Ear:
    """The ear for a box that nobody has learnt, so far from equal temperament at A = 440 Hz. Made once, kept."""
    long, short = Spectra(LONG), Spectra(SHORT, 0.5)
    rows, soon = [], []
    for pitch in PITCHES:
        made = [_reed(pitch + cents / 100, slope) for slope in _SLOPES]
        rows += [long.of(sound)[_FRAMES // 2 :].mean(0) for sound in made]
        soon.append(short.of(made[0])[_FRAMES // 2 :].mean(0))
    owners = np.repeat(np.arange(len(PITCHES), dtype=np.int16), len(_SLOPES))
    flat = np.ones(long.bands, np.float32)
    hum = (1 / np.maximum(long.centres, 100)).astype(np.float32)
    count = len(PITCHES)
    return Ear(
        PITCHES,
        np.array([*rows, flat, hum], np.float32),
        np.concatenate([owners, np.full(2, NOISE, np.int16)]),
        np.array(soon, np.float32),
        np.full(long.bands, 1e-5, np.float32),
        np.full(short.bands, 1e-5, np.float32),
        np.ones(count, np.float32),
        np.full(count, _USUAL_BEATS, np.float32),
        np.full(count, cents, np.float32),
        _LATE,
        guessed=True,
    )


def put_right(ear: Ear, sound: Floats, parts: Sequence[tuple[Part, float]], asked: Sequence[int] = ()) -> Ear:
    """A guessed ear with the reeds that a take clearly sounds in place of those that were made up.

    Parameters
    ----------
    parts : what the guessed ear heard, with the log odds of each.
    asked : the pitches of the tune: what sounds where one of them was asked is taken for it, even where the guess was
        an octave off. () where nothing is known.
    """
    own: dict[int, list[Part]] = {}
    for part, number in _meant(ear, parts, asked):
        if part.last - part.first > _LONG:
            own.setdefault(number, []).append(part)
    if not own:
        return ear
    long, short = Spectra(LONG), Spectra(SHORT, 0.5)
    seen, soon = long.of(sound), short.of(sound)
    templates, steady, loud = ear.templates.copy(), ear.short.copy(), ear.loud.copy()
    for number, some in own.items():
        frames = np.concatenate([np.arange(part.first + _INTO, part.last - 2) for part in some])
        mean = seen[frames].mean(0)
        first, second = np.flatnonzero(ear.owners == number)[:2]
        begun = np.concatenate([np.arange(part.first + 2, part.first + _INTO) for part in some])
        templates[first], templates[second] = mean, seen[begun].mean(0)
        steady[number], loud[number] = soon[frames].mean(0), mean.sum()
    beats = _beats(ear, soon, own, steady)
    level = seen.sum(1)
    still = level <= np.percentile(level, 3)
    quiet, soon_quiet = seen[still].mean(0), soon[still].mean(0)
    templates[ear.owners == NOISE] = [quiet, np.full_like(quiet, quiet.mean())]
    for number in set(range(len(ear.pitches))) - own.keys():
        nearest = min(own, key=lambda other: abs(other - number))
        steady[number] = steady[number] / steady[number].sum() * steady[nearest].sum()
        loud[number] = loud[nearest]
    return replace(ear, templates=templates, short=steady, loud=loud, quiet=quiet, short_quiet=soon_quiet, beats=beats)


def _beats(ear: Ear, soon: Floats, own: dict[int, list[Part]], steady: Floats) -> Floats:
    """(pitches,) in dB: the middle of the deepest dips of a take's notes, of which few are begun again."""
    short = Spectra(SHORT, 0.5)
    every = {}
    for number, some in own.items():
        rows = partials(short, pitch_hz(ear.pitches[number], float(ear.cents[number])), steady[number], ear.short_quiet)
        depths = [dips(levels(soon[p.first + _INTO : p.last - 2], rows, ear.short_quiet)) for p in some]
        every[number] = [float(depth.max()) for depth in depths if len(depth)]
    usual = float(np.median([depth for some in every.values() for depth in some] or [_USUAL_BEATS]))
    return np.array(
        [np.median(every[n]) if len(every.get(n, ())) >= _ENOUGH else usual for n in range(len(ear.pitches))],
        np.float32,
    )


def of_the_tune(ear: Ear, parts: Sequence[tuple[Part, float]], asked: Sequence[int]) -> float:
    """The share of what was clearly heard that the tune asked for, octaves apart or not."""
    clear = [part for part, odds in parts if odds > _CLEAR]
    begun = [Begun(part.first, ear.pitches[part.number], _CLEAR, False) for part in clear]
    pairs = [(clear[j], asked[k]) for j, k in read(begun, asked, _mistaken) if k is not None]
    same = sum((ear.pitches[part.number] - pitch) % 12 == 0 for part, pitch in pairs)
    return same / max(len(clear), len(asked) // 4, 1)


def _meant(ear: Ear, parts: Sequence[tuple[Part, float]], asked: Sequence[int]) -> list[tuple[Part, int]]:
    """The parts that are clear, each with the number of the pitch that it stands for."""
    clear = [part for part, odds in parts if odds > _CLEAR]
    if not asked:
        return [(part, part.number) for part in clear]
    begun = [Begun(part.first, ear.pitches[part.number], _CLEAR, False) for part in clear]
    pairs = [(clear[j], asked[k]) for j, k in read(begun, asked, _mistaken) if k is not None]
    same = sum((ear.pitches[part.number] - pitch) % 12 == 0 for part, pitch in pairs)
    if same < _SAME * len(clear):
        return [(part, part.number) for part in clear]
    votes: dict[int, Counter[int]] = {}
    for part, pitch in pairs:
        votes.setdefault(pitch, Counter())[part.number] += 1
    # What a pitch is most often taken for is its sound; what it is seldom taken for may be a wrong note.
    usual = {pitch: {n for n, count in some.items() if 3 * count > some.total()} for pitch, some in votes.items()}
    return [
        (part, ear.pitches.index(pitch))
        for part, pitch in pairs
        if pitch in ear.pitches and part.number in usual[pitch]
    ]


def _mistaken(one: Begun, wanted: NDArray[np.int_]) -> Floats:
    """What it costs that a reed of each pitch was taken for another: an octave, and a neighbour, are likeliest."""
    apart = np.abs(wanted - one.pitch)
    return np.select([apart == 0, apart % 12 == 0, apart == 1], [0.1, 0.8, 2.0], 3.0)


def _reed(pitch: float, slope: float) -> Floats:
    """A steady reed, of partials of one slope."""
    time = np.arange(_FRAMES * HOP) / RATE
    rng = np.random.default_rng(round(pitch))
    sound = np.zeros(len(time))
    partial = 1
    while pitch_hz(pitch) * partial < 8500:
        sound += partial**-slope * np.sin(2 * np.pi * (pitch_hz(pitch) * partial * time + rng.random()))
        partial += 1
    out: Floats = (0.1 * sound).astype(np.float32)
    return out
