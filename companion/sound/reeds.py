"""Waveforms of free reeds, clicks and wood-blocks from first principles: what the soundfont is built from.

A reed's tongue moves nearly like a sine; the harmonics come from the air that it cuts off and lets through (Cottingham,
Lilly, Reed 1998). So a reed here is one exact harmonic series that rolls off, each harmonic growing in its own time,
low reeds more slowly than high ones, with the noise of the pallet that lets the air in and of the bellows.

Conventions: pitches are MIDI numbers at A4 = 440 Hz; waves are float64 arrays of shape (points,), full scale being 1.
Nothing here depends on the machine but the last bit of a sine, far below what rounding to 16 bits can see.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Wave = NDArray[np.float64]

AFTER_LOOP = 64  # points after the loop's end that continue it: SoundFont 2.04, 6.2 asks for 8 or more


@dataclass(frozen=True, slots=True)
class ReedTable:
    """The `[reeds]` table of `config/sound.toml`; its meaning and sources stand there."""

    rate: int
    lowest: int
    highest: int
    light_cents: float
    strong_cents: float
    second_db: float
    slope: float
    knee_hz: float
    top_hz: float
    attack_s: float
    attack_power: float
    breath_db: float
    pallet_db: float
    release_s: float
    level: float


@dataclass(frozen=True, slots=True, eq=False)
class Looped:
    """A wave and its loop: the points `start` up to, not including, `end` (0, 0: it is played once)."""

    wave: Wave
    start: int
    end: int


def hertz(pitch: float) -> float:
    """Frequency of a MIDI pitch in equal temperament at A4 = 440 Hz."""
    return float(440.0 * 2.0 ** ((pitch - 69) / 12))


def loop_of(frequency: float, rate: int, about: int) -> tuple[int, int]:
    """The loop near `about` points that holds a whole number of periods most exactly.

    Returns
    -------
    (points, periods) : the pitch of the loop is ``periods * rate / points``.
    """
    periods_near = range(max(1, round(0.75 * about * frequency / rate)), round(1.25 * about * frequency / rate) + 2)
    best = min(periods_near, key=lambda n: abs(round(n * rate / frequency) / (n * rate / frequency) - 1))
    return round(best * rate / frequency), best


def db(level: float) -> float:
    """A level in decibels as a factor of amplitude."""
    return float(10.0 ** (level / 20))


def noise(points: int, seed: int) -> Wave:
    """White noise, uniform from -1 to 1. The raw stream of PCG64 is the same in every version of numpy."""
    import numpy as np

    raw = np.random.PCG64(seed).random_raw(points)
    return (raw >> np.uint64(11)).astype(np.float64) / 2.0**52 - 1.0


def reed(
    pitch: int, table: ReedTable, *, cents: float = 0.0, loop_about: int, seed: int, breath: bool = True
) -> Looped:
    """One reed as a looped wave.

    Parameters
    ----------
    pitch : MIDI pitch. `cents` : how far it is tuned away from it.
    loop_about : how long the loop should be, in points.
    seed : makes this reed's noise and small differences of its harmonics.
    breath : whether it carries the noise of bellows and pallet (the second reed of a pair does not).
    """
    frequency = hertz(pitch + cents / 100)
    points, periods = loop_of(frequency, table.rate, loop_about)
    start = round(6 * attack(frequency, table) * table.rate)
    length = start + points + AFTER_LOOP
    wave = series(periods, points, length, start, table, seed=seed)
    if breath:
        wave += _air(length, start, points, table, seed)
    return Looped(wave, start, start + points)


def attack(frequency: float, table: ReedTable) -> float:
    """Time constant of a reed's attack, seconds."""
    return float(table.attack_s * (440.0 / frequency) ** table.attack_power)


def series(periods: int, points: int, length: int, start: int, table: ReedTable, *, seed: int) -> Wave:
    """A reed's harmonics, `length` points: `periods` of them in each `points`, steady from `start` on."""
    import numpy as np

    frequency = periods * table.rate / points
    # Count angles in whole points of the loop: it then repeats exactly, and no large argument loses bits.
    time = np.arange(length, dtype=np.int64)
    circle = 2 * np.pi * np.arange(points) / points
    sine, cosine = np.sin(circle), np.cos(circle)
    slowness = _slowness(start, attack(frequency, table) * table.rate)
    wave = np.zeros(length)
    differences = noise(400, seed)
    power = 0.0
    for k in range(1, int(table.top_hz / frequency) + 1):
        level = k**-table.slope / (1 + (k * frequency / table.knee_hz) ** 4) ** 0.5
        level *= db(2.0 * differences[k]) if k > 1 else 1.0
        turn = time * (k * periods % points) % points
        phase = np.pi * differences[200 + k % 200]
        harmonic = level * (np.cos(phase) * sine[turn] + np.sin(phase) * cosine[turn])
        # Higher harmonics need the tongue's full swing: they come a little later (up to half as long again).
        harmonic[:start] *= _growth(slowness, (1.5 - 0.5 / k) ** -1.5)
        wave += harmonic
        power += level * level / 2
    scaled: Wave = wave * (table.level / power**0.5)
    return scaled


def _slowness(start: int, tau: float) -> Wave:
    """Time over `tau` (both in points), to the power of 1.5: what the attack is a function of."""
    import numpy as np

    ratio = np.arange(start) / tau
    return ratio * np.sqrt(ratio)


def _growth(slowness: Wave, share: float) -> Wave:
    """From 0 at once upwards, slowing; exactly 1 some points before its end, so that the loop is steady."""
    import numpy as np

    grown = 1 - np.exp(-share * slowness)
    steady: Wave = np.minimum(grown / grown[-16], 1.0)
    return steady


def _air(length: int, start: int, points: int, table: ReedTable, seed: int) -> Wave:
    """Pallet and bellows noise. Within the loop it repeats exactly, as the loop must."""
    import numpy as np

    turn = noise(points, seed + 1)
    # A two-point mean takes the edge off; it goes round with the loop.
    turn = (turn + np.roll(turn, 1) + np.roll(turn, 2)) / 3
    index = (np.arange(length) - start) % points
    bellows = turn[index] * (table.level * db(table.breath_db) * 3.0)
    time = np.arange(length) / table.rate
    pallet = noise(length, seed + 2) * np.exp(-time / 0.0012)
    pallet[start - 16 :] = 0.0
    pallet[0] = 1.0  # sounds from the first point on, so that the onset is where the note begins
    return bellows + pallet * (table.level * 2**0.5 * db(table.pallet_db))


def click(frequency: float, rate: int, level: float) -> Looped:
    """A click: a short tone that begins at its peak and is gone after 40 ms."""
    import numpy as np

    time = np.arange(round(0.04 * rate)) / rate
    wave = np.cos(2 * np.pi * frequency * time) * np.exp(-time / 0.006) * _out(time)
    return Looped(level * wave, 0, 0)


def block(frequency: float, rate: int, level: float) -> Looped:
    """A wood-block: two damped modes of a bar, the second 2.7 times as high (a free bar's second mode: 2.756)."""
    import numpy as np

    time = np.arange(round(0.09 * rate)) / rate
    body = np.cos(2 * np.pi * frequency * time) * np.exp(-time / 0.014)
    upper = np.cos(2 * np.pi * 2.756 * frequency * time) * np.exp(-time / 0.005)
    return Looped(level * (0.7 * body + 0.3 * upper) * _out(time), 0, 0)


def _out(time: Wave) -> Wave:
    """A straight line to 0 over the last quarter, so that a wave played once ends in silence."""
    import numpy as np

    line: Wave = np.minimum(1.0, 4 * (1 - time / time[-1]))
    return line
