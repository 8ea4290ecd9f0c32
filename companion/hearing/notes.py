"""From a sound to the notes of a melody, knowing the box but not the tune.

A path through silence and each pitch is found (Viterbi's algorithm): each frame has a likelihood for each, and a change
costs as much as several frames of doubt. What a pitch had a moment ago and dies away in the room is not played now.

Conventions: as in `companion.hearing.spectra`.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from companion.hearing.ear import LEFT, NOISE, Ear
from companion.hearing.fit import as_shares, shares
from companion.hearing.spectra import LONG, Floats, Spectra

ROUNDS = 14  # of the fit
CHANGE = 4.5  # what a change costs (nats)
SILENT = 0.12  # of a usual note: as likely as silence
DOUBT = 0.02  # the least likelihood of anything
LAG, TAIL = 4, 0.5  # frames; of what a pitch had so long ago, so much may be the room's
_CHUNK = 8192  # frames fitted at once
_SHORTEST = 4  # frames


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of frames in which one pitch sounds, by its number in the ear; `strength` is its middle likelihood."""

    first: int
    last: int
    number: int
    strength: float
    peak: float


@dataclass(frozen=True, slots=True)
class Fitted:
    """What each frame holds: (frames, pitches) of each pitch, (frames,) of the left hand, and of noise.

    In the loudness of the recording's usual note.
    """

    pitches: Floats
    left: Floats
    noise: Floats


def fitted(sound: Floats, ear: Ear, moving: Floats | None = None) -> Fitted:
    """Fit the templates to every frame of a sound; `moving` is what each frame may hold besides (see `shares`)."""
    seen = Spectra(LONG).of(sound)
    own = np.array([ear.owners == k for k in range(len(ear.pitches))] + [ear.owners == LEFT, ear.owners == NOISE])
    whole = own.T.astype(np.float32)
    unit = as_shares(ear.templates)
    parts = []
    for first in range(0, len(seen), _CHUNK):
        here = slice(first, first + _CHUNK)
        beside = moving[here] if moving is not None else None
        parts.append(shares(seen[here], unit, ROUNDS, moving=beside)[:, : len(whole)] @ whole)
    held = np.concatenate(parts) if parts else np.zeros((0, len(own)), np.float32)
    count = len(ear.pitches)
    most = held[:, :count].max(1) if len(held) else np.zeros(0)
    usual = usual_loudness(most, float(ear.loud.mean()))
    held /= usual
    return Fitted(held[:, :count], held[:, count], held[:, count + 1])


def usual_loudness(most: Floats, learnt: float) -> float:
    """How loud a note of a recording usually is: the middle of those frames in which something clearly sounds."""
    loud = most[most > 0.25 * np.percentile(most, 95)] if len(most) else most
    return float(np.median(loud)) if len(loud) else learnt


def likely(held: Floats, before: Floats) -> Floats:
    """(frames, pitches + 1) the log likelihood of each pitch and, last, of silence.

    `held`, `before` : (frames, pitches) what each frame holds, and what it held `LAG` frames earlier.
    """
    played = np.maximum(held - TAIL * before, 0) / (1 - TAIL)
    every = played.sum(1, keepdims=True) + SILENT
    shared = np.concatenate([played, np.full((len(played), 1), SILENT, np.float32)], axis=1) / every
    out: Floats = np.log(shared + DOUBT)
    return out


def path_of(score: Floats, change: float = CHANGE) -> NDArray[np.int16]:
    """(frames,) the likeliest path through the columns of `score`."""
    frames, count = score.shape
    if not frames:
        return np.zeros(0, np.int16)
    here = np.arange(count, dtype=np.int16)
    best = score[0].copy()
    came = np.empty((frames, count), np.int16)
    for t in range(1, frames):
        top = best.argmax()
        changed = best[top] - change
        stays = best >= changed
        came[t] = np.where(stays, here, top)
        best = np.where(stays, best, changed) + score[t]
    path = np.empty(frames, np.int16)
    path[-1] = best.argmax()
    for t in range(frames - 1, 0, -1):
        path[t - 1] = came[t, path[t]]
    return path


def parts_heard(held: Fitted) -> list[Part]:
    """The stretches in which a pitch sounds, in order."""
    frames, count = held.pitches.shape
    before = np.zeros_like(held.pitches)
    before[LAG:] = held.pitches[:-LAG] if frames > LAG else 0
    score = likely(held.pitches, before)
    path = path_of(score)
    edges = np.concatenate([[0], np.flatnonzero(np.diff(path)) + 1, [frames]])
    parts = []
    for first, last in itertools.pairwise(edges):
        number = int(path[first]) if frames else count
        if number == count or last - first < _SHORTEST:
            continue
        own = score[first:last, number]
        parts.append(
            Part(
                int(first),
                int(last),
                number,
                float(np.exp(np.median(own))),
                float(held.pitches[first:last, number].max()),
            )
        )
    return parts


def begins(held: Floats, part: Part) -> float:
    """When a part begins, in frames with their fraction: where its pitch last rises through half of what it reaches."""
    first, last = max(0, part.first - 10), min(part.last, part.first + 14)
    rise = held[first:last, part.number]
    high = float(np.median(held[part.first : last, part.number]))
    top = max(1, int(np.argmax(rise >= high)))
    low = int(rise[: top + 1].argmin())
    middle = (float(rise[low]) + high) / 2
    for k in range(low + 1, top + 1):
        if rise[k] >= middle:
            step = float(rise[k] - rise[k - 1])
            return first + k - 1 + (middle - float(rise[k - 1])) / max(step, 1e-9)
    return float(part.first)
