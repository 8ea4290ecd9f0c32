"""What the program's own playing sounds like in the microphone, and a sound without it.

The path from loudspeaker to microphone is a filter, fitted by least squares to what came in while the program played
alone, and then held fast: one that goes on adapting while somebody plays the same tune takes the player away too.
The normal equations are of Toeplitz form and are solved by conjugate gradients, each product through the spectrum.

Conventions: as in `companion.hearing.spectra`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from companion.hearing.spectra import LONG, RATE, Floats, Spectra

TAPS = 9000  # 0.2 s: the way through a small room
_STEPS = 60
_RIDGE = 1e-4
_FURTHEST = RATE  # samples: a delay beyond that is not looked for
_BLOCK = RATE // 2
_ALONE = 12.0  # dB: what a filter must take away for the program to have played alone
_FIRST = 6  # blocks with playing in them that are tried first
_MOST = 40  # blocks that a filter is fitted to
_RING = 0.90  # of a playing's spectrum, what is left a frame later: the room
_QUIET = 1e-5
_LEAST_GAIN, _MOST_GAIN = 0.3, 1.3


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """The way from loudspeaker to microphone: a delay in samples, and (TAPS,) a filter."""

    delay: int
    taps: NDArray[np.float32]

    def through(self, playing: Floats) -> NDArray[np.float32]:
        """(frames,) what of a playing comes in at the microphone."""
        return _convolved(_delayed(playing, self.delay), self.taps)


def fit_path(playing: Floats, came: Floats, delay: int) -> Path:
    """The path that makes of a playing what came in, as nearly as can be."""
    return Path(delay, _solved(_delayed(playing, delay), came))


def delay_of(playing: Floats, came: Floats) -> int:
    """By how many samples what came in lags behind the playing: where the two go together best."""
    count = min(len(playing), len(came))
    size = 1 << (2 * count).bit_length()
    both = np.fft.rfft(came[:count], size) * np.conj(np.fft.rfft(playing[:count], size))
    # Each frequency counts the same, so that a tone does not hide where it began.
    together = np.fft.irfft(both / (np.abs(both) + 1e-9 * np.abs(both).max() + 1e-20), size)
    return int(np.argmax(together[:_FURTHEST]))


def path_found(playing: Floats, came: Floats) -> Path | None:
    """The path, from those stretches of a take in which the program played alone; None where there are none."""
    count = min(len(playing), len(came)) // _BLOCK * _BLOCK
    playing, came = playing[:count], came[:count]
    loud = [n for n in range(count // _BLOCK) if np.abs(playing[n * _BLOCK : (n + 1) * _BLOCK]).max() > _QUIET]
    if len(loud) < 2:
        return None
    trial = loud[:_FIRST]
    first, last = trial[0] * _BLOCK, min(count, (trial[-1] + 1) * _BLOCK)
    delay = max(0, delay_of(playing[first:last], came[first:last]) - 64)
    path = fit_path(playing[first:last], came[first:last], delay)
    for _ in range(2):
        alone = _alone(path, playing, came, loud)
        if len(alone) < 2:
            return None
        end = (alone[-1] + 1) * _BLOCK
        marked = np.zeros(end, np.float32)
        for n in alone:
            marked[n * _BLOCK : (n + 1) * _BLOCK] = 1
        path = Path(delay, _solved(_delayed(playing[:end], delay), came[:end], marked))
    return path


def _alone(path: Path, playing: Floats, came: Floats, loud: list[int]) -> list[int]:
    """The blocks in which a path takes nearly everything away, from the first of them up to where somebody plays."""
    left = came - path.through(playing)
    alone = []
    for n in loud[:_MOST]:
        here = slice(n * _BLOCK, (n + 1) * _BLOCK)
        before, after = float((came[here] ** 2).mean()), float((left[here] ** 2).mean())
        if 10 * np.log10((before + 1e-12) / (after + 1e-12)) > _ALONE:
            alone.append(n)
    return alone


def rung(playing: Floats) -> Floats:
    """(frames, bands) the spectrum of a playing as a room lets it ring on: what is left of it to be told apart."""
    seen = Spectra(LONG).of(playing)
    out = seen.copy()
    for t in range(1, len(out)):
        out[t] = np.maximum(seen[t], _RING * out[t - 1])
    return out


def without(sound: Floats, playing: Floats) -> tuple[Floats, Floats]:
    """A take's sound without what the program played, and (frames, bands) what may be left of that."""
    count = len(sound)
    playing = np.concatenate([playing[:count], np.zeros(max(0, count - len(playing)), np.float32)])
    path = path_found(playing, sound)
    if path is None:
        return sound, rung(_delayed(playing, delay_of(playing, sound)))
    came = _as_loud(path.through(playing), sound)
    return (sound - came).astype(np.float32), rung(came)


def _as_loud(came: Floats, sound: Floats) -> NDArray[np.float32]:
    """What a path makes of a playing, at the level at which it really came in: a microphone's own gain moves slowly.

    Only one number a second is fitted: what somebody plays is as good as strange to that, even in the same tune.
    """
    count = -(-len(came) // RATE)
    gains = np.ones(count, np.float32)
    for n in range(count):
        here = slice(max(0, n * RATE - RATE // 2), (n + 1) * RATE + RATE // 2)
        power = float(came[here] @ came[here])
        if power > _QUIET:
            gains[n] = min(max(float(came[here] @ sound[here]) / power, _LEAST_GAIN), _MOST_GAIN)
    places = np.arange(count) * RATE + RATE / 2
    return (came * np.interp(np.arange(len(came)), places, gains)).astype(np.float32)


def _delayed(playing: Floats, delay: int) -> Floats:
    return np.concatenate([np.zeros(delay, np.float32), playing])[: len(playing)] if delay else playing


def _convolved(sound: Floats, taps: Floats) -> NDArray[np.float32]:
    size = 1 << (len(sound) + len(taps)).bit_length()
    return np.fft.irfft(np.fft.rfft(sound, size) * np.fft.rfft(taps, size), size)[: len(sound)].astype(np.float32)


def _solved(playing: Floats, came: Floats, counts: Floats | None = None) -> NDArray[np.float32]:
    """(TAPS,) the filter that makes `came` of `playing` with the least square error, over the samples that count."""
    size = 1 << (len(playing) + TAPS).bit_length()
    spectrum = np.fft.rfft(playing, size)
    weight = np.ones(len(playing), np.float32) if counts is None else counts

    def forward(taps: Floats) -> Floats:
        return np.fft.irfft(spectrum * np.fft.rfft(taps, size), size)[: len(playing)] * weight

    def back(error: Floats) -> Floats:
        return np.fft.irfft(np.conj(spectrum) * np.fft.rfft(error * weight, size), size)[:TAPS]

    ridge = _RIDGE * float((np.square(playing) * weight).sum())
    taps = np.zeros(TAPS)
    rest = back(came)
    way = rest.copy()
    power = float(rest @ rest)
    begun = power
    for _ in range(_STEPS):
        if power <= 1e-8 * begun:
            break
        image = back(forward(way)) + ridge * way
        step = power / float(way @ image)
        taps += step * way
        rest -= step * image
        now = float(rest @ rest)
        way = rest + now / power * way
        power = now
    return taps.astype(np.float32)
