"""Learning an ear from a sound in which known notes sound once each, in order.

Conventions: as in `companion.hearing.spectra`.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from companion.box.pitch_names import name_of
from companion.errors import UserError
from companion.hearing.again import dips, levels, partials, pitch_hz
from companion.hearing.ear import LEFT, NOISE, Ear, Sound
from companion.hearing.fit import as_shares, misfit, shares
from companion.hearing.spectra import HOP, LONG, RATE, SHORT, Floats, Spectra
from companion.sound.rates import at_rate

_SHORTEST, _JOINED = 14, 10  # frames: a note lasts longer than the one, and a silence longer than the other
_BEGINS, _STEADY, _ENDS = 1, 12, 2  # frames into a note: where it begins to be seen, is steady, and is over
_SWELLS = (5, 9, 14, 22, 40)  # frames into a sound of the left hand
_SPARSE, _ROUNDS = 4, 8  # frames, and rounds of the fit, by which it is told how well the templates fit
_CLIPPED, _CLIPPED_SHARE = 0.985, 0.002
_OFF, _SHARP = 55.0, 90.0  # cents: a note further from the others of its box is another; a box may be as far off


def learn_ear(sound: Sound, rate: int, pitches: Sequence[int]) -> Ear:
    """Learn how a box sounds in a room.

    Parameters
    ----------
    sound : (frames,) each note once, in the order of `pitches`, with a short silence between them; what sounds after
        them is basses and chords of the left hand, once each.

    Raises
    ------
    UserError : the sound is too short, silent or clipped, or has other notes than those.
    """
    if np.mean(np.abs(sound) > _CLIPPED) > _CLIPPED_SHARE:
        raise UserError("this recording is too loud and clips; move the microphone away, and record it again")
    sound = at_rate(sound, rate, RATE)
    found = parts_of(sound)
    if len(found) < len(pitches):
        raise UserError(
            f"{len(found)} notes are heard, and {len(pitches)} were named; play each once, "
            "for about a second, with a short silence after it"
        )
    order = sorted(range(len(pitches)), key=lambda k: pitches[k])
    cents = _tuning(sound, [found[k] for k in order], [pitches[k] for k in order])
    return _ear(sound, [found[k] for k in order], found[len(pitches) :], [pitches[k] for k in order], cents)


def _ear(
    sound: Sound,
    notes: Sequence[tuple[int, int]],
    left: Sequence[tuple[int, int]],
    pitches: Sequence[int],
    cents: Floats,
) -> Ear:
    long, short = Spectra(LONG), Spectra(SHORT, 0.5)
    seen, soon = long.of(sound), short.of(sound)
    still = _still(len(seen), [*notes, *left])
    quiet, short_quiet = seen[still].mean(0), soon[still].mean(0)
    rows, owners = [], []
    for number, (first, last) in enumerate(notes):
        rows += [seen[first + _STEADY : last - _ENDS].mean(0), seen[first + _BEGINS : first + _STEADY - 3].mean(0)]
        owners += [number, number]
    for first, last in left:
        # A chord sounds under the melody all the time: how it swells and beats has rows of its own.
        edges = [first + _BEGINS, *(first + into for into in _SWELLS if first + into < last - _ENDS - 2), last - _ENDS]
        rows += [seen[begin:end].mean(0) for begin, end in itertools.pairwise(edges)]
        owners += [LEFT] * (len(edges) - 1)
    rows += [quiet, np.full_like(quiet, quiet.mean())]
    owners += [NOISE, NOISE]
    steady = np.array([soon[first + _STEADY : last - _ENDS].mean(0) for first, last in notes])
    beats = [
        _beats(
            soon[first + _STEADY : last - _ENDS], partials(short, pitch_hz(pitch, cent), each, short_quiet), short_quiet
        )
        for (first, last), pitch, cent, each in zip(notes, pitches, cents, steady, strict=True)
    ]
    loud = np.array([rows[2 * k].sum() for k in range(len(notes))], np.float32)
    templates = np.array(rows, np.float32)
    return Ear(
        tuple(pitches), templates, np.array(owners, np.int16), steady, quiet, short_quiet, loud,
        np.array(beats, np.float32), cents, _late(seen, sound, templates, notes), _misfit(seen, templates, notes),
    )  # fmt: skip


def parts_of(sound: Sound) -> list[tuple[int, int]]:
    """Where something sounds, as (first, last) frames: louder than half way, in dB, from the quiet to the loud."""
    count = len(sound) // HOP
    if count < 4 * _SHORTEST:
        raise UserError("this recording is too short to learn a box from")
    power = np.square(sound[: count * HOP].reshape(count, HOP)).mean(1)
    level = 10 * np.log10(np.convolve(power, np.ones(3) / 3, "same") + 1e-12)
    low, high = np.percentile(level, 4), np.percentile(level, 90)
    if high < -70 or high - low < 8:
        raise UserError("hardly anything is heard in this recording; record it again, nearer to the box")
    sounds = level > max((low + high) / 2, high - 24)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], sounds.astype(int), [0]])))
    found: list[tuple[int, int]] = []
    for first, last in edges.reshape(-1, 2):
        if found and first - found[-1][1] < _JOINED:
            found[-1] = (found[-1][0], int(last))
        else:
            found.append((int(first), int(last)))
    return [(first, last) for first, last in found if last - first >= _SHORTEST + 4]


def _still(frames: int, parts: Sequence[tuple[int, int]]) -> NDArray[np.bool_]:
    """Which frames have nothing of any note in them: those that lie furthest from the end of one."""
    since = np.full(frames, frames)
    for first, last in parts:
        since[first : last + LONG // HOP] = 0
    for first, last in parts:
        gap = np.arange(last + LONG // HOP, frames)
        since[gap] = np.minimum(since[gap], gap - last)
        since[max(0, first - 2) : first] = 0
    free = since > 0
    if not free.any():
        return np.ones(frames, bool)
    still: NDArray[np.bool_] = since >= np.percentile(since[free], 60)
    return still


def _beats(short: Floats, rows: Floats, quiet: Floats) -> float:
    """How deep a steady note dips by itself."""
    depth = dips(levels(short, rows, quiet))
    return float(depth.max()) if len(depth) else 0.0


def _tuning(sound: Sound, notes: Sequence[tuple[int, int]], pitches: Sequence[int]) -> Floats:
    """(notes,) in cents: how far each lies from equal temperament.

    Raises
    ------
    UserError : one of them is another note than the one that was named.
    """
    found = np.array(
        [
            cents_of(sound[(first + _STEADY) * HOP : (last - _ENDS) * HOP], pitch)
            for (first, last), pitch in zip(notes, pitches, strict=True)
        ],
        np.float32,
    )
    middle = float(np.median(found))
    if abs(middle) > _SHARP:
        way = "above" if middle > 0 else "below"
        raise UserError(f"these notes sound well {way} those that were named; name the notes as they sound")
    for pitch, cents in zip(pitches, found, strict=True):
        if abs(cents - middle) > _OFF:
            raise UserError(f"where {name_of(pitch)} was named, another note is heard; play them in order, each once")
    return found


def cents_of(sound: Sound, pitch: int, widest: float = 260.0) -> float:
    """How far, in cents, the partials of a steady sound lie from those of a pitch (within `widest`)."""
    size = 1 << 17
    bins = np.abs(np.fft.rfft(sound * np.hanning(len(sound)), size)).astype(np.float32)
    spectrum = np.sqrt(bins)
    offsets = np.arange(-widest, widest + 1, 4.0)
    score = np.zeros(len(offsets))
    for partial in range(1, 13):
        hertz = pitch_hz(pitch) * partial * 2 ** (offsets / 1200)
        if hertz[-1] < 6000:
            score += spectrum[np.round(hertz * size / RATE).astype(int)]
    return float(offsets[score.argmax()])


def _late(seen: Floats, sound: Sound, templates: Floats, notes: Sequence[tuple[int, int]]) -> float:
    """Seconds from when a note begins until its template has half its height, over all notes."""
    found = []
    for number, (first, _) in enumerate(notes):
        rows = templates[2 * number : 2 * number + 2]
        begin = max(0, first - 14)
        rise = shares(seen[begin : first + 24], as_shares(np.concatenate([rows, templates[-2:]])), 12)[:, :2].sum(1)
        full = rise[-8:].mean()
        over = np.flatnonzero(rise >= full / 2)
        if not len(over) or over[0] == 0:
            continue
        k = over[0]
        half = begin + k - 1 + (full / 2 - rise[k - 1]) / max(rise[k] - rise[k - 1], 1e-9)
        near = np.abs(sound[begin * HOP : (first + 24) * HOP])
        loud = np.percentile(near[-8 * HOP :], 98)
        before = near[: 8 * HOP].max()
        up = np.flatnonzero(near > max(0.1 * loud, 1.5 * before))
        if len(up):
            found.append((half + 1) * HOP / RATE - (begin * HOP + up[0]) / RATE)
    return float(np.median(found)) if found else 0.025


def _misfit(seen: Floats, templates: Floats, notes: Sequence[tuple[int, int]]) -> float:
    """The share of the steady notes that the templates do not explain: how well they can fit at all."""
    steady = np.concatenate([seen[first + _STEADY : last - _ENDS : _SPARSE] for first, last in notes])
    unit = as_shares(templates)
    return float(np.median(misfit(steady, shares(steady, unit, _ROUNDS), unit)))
