"""An ear for a box that nobody has learnt: reeds made up of their partials, put right by what a take itself sounds.

Conventions: as in `companion.hearing.spectra`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np

from companion.hearing.again import pitch_hz
from companion.hearing.ear import NOISE, Ear
from companion.hearing.notes import Part
from companion.hearing.spectra import HOP, LONG, RATE, SHORT, Floats, Spectra

# From the lowest note of the right hand on common boxes to the highest.
PITCHES = tuple(range(54, 96))
# How fast a reed's partials grow weaker: a bright one, and a dull one. (Ours.)
_SLOPES = (0.5, 1.4)
_LATE = 0.022
_FRAMES = 24
_CLEAR, _LONG = 5.0, 14  # log odds and frames: a part that is taken for what the box sounds like
_INTO = 7  # frames into a part at which nothing is left of the note before
_USUAL_BEATS = 3.0


@cache
def own_ear() -> Ear:
    """The ear for a box that nobody has learnt. Made once, kept."""
    long, short = Spectra(LONG), Spectra(SHORT, 0.5)
    rows, soon = [], []
    for pitch in PITCHES:
        made = [_reed(pitch, slope) for slope in _SLOPES]
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
        np.zeros(count, np.float32),
        _LATE,
        guessed=True,
    )


def put_right(ear: Ear, sound: Floats, parts: Sequence[tuple[Part, float]]) -> Ear:
    """A guessed ear with the reeds that a take clearly sounds in place of those that were made up.

    `parts` : what the guessed ear heard, with the log odds of each.
    """
    long, short = Spectra(LONG), Spectra(SHORT, 0.5)
    seen, soon = long.of(sound), short.of(sound)
    own: dict[int, list[Part]] = {}
    for part, odds in parts:
        if odds > _CLEAR and part.last - part.first > _LONG:
            own.setdefault(part.number, []).append(part)
    if not own:
        return ear
    templates, steady, loud = ear.templates.copy(), ear.short.copy(), ear.loud.copy()
    for number, some in own.items():
        frames = np.concatenate([np.arange(part.first + _INTO, part.last - 2) for part in some])
        mean = seen[frames].mean(0)
        first, second = np.flatnonzero(ear.owners == number)[:2]
        templates[first] = mean
        templates[second] = 0.5 * mean / mean.sum() + 0.5 * ear.templates[second] / ear.templates[second].sum()
        steady[number], loud[number] = soon[frames].mean(0), mean.sum()
    level = seen.sum(1)
    still = level <= np.percentile(level, 3)
    quiet, soon_quiet = seen[still].mean(0), soon[still].mean(0)
    templates[ear.owners == NOISE] = [quiet, np.full_like(quiet, quiet.mean())]
    for number in set(range(len(ear.pitches))) - own.keys():
        nearest = min(own, key=lambda other: abs(other - number))
        steady[number] = steady[number] / steady[number].sum() * steady[nearest].sum()
        loud[number] = loud[nearest]
    return replace(ear, templates=templates, short=steady, loud=loud, quiet=quiet, short_quiet=soon_quiet)


def _reed(pitch: int, slope: float) -> Floats:
    """A steady reed, of partials of one slope."""
    time = np.arange(_FRAMES * HOP) / RATE
    rng = np.random.default_rng(pitch)
    sound = np.zeros(len(time))
    partial = 1
    while pitch_hz(pitch) * partial < 8500:
        sound += partial**-slope * np.sin(2 * np.pi * (pitch_hz(pitch) * partial * time + rng.random()))
        partial += 1
    out: Floats = (0.1 * sound).astype(np.float32)
    return out
