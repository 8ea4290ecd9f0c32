"""The sound of one key of a soundfont: waves looped, tuned and shaped, ready to be laid into a passage.

Conventions: arrays are float32 of shape (frames, 2), full scale being 1, not to be written to; one that sounds in the
middle holds one side only (numpy's stride of 0). A tone begins on its first frame; the renderer cuts it to length and
lets it fade.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.sound.bank import Bank, Layer

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Sound = NDArray[np.float32]

KEEP_FRAMES = 60_000_000  # of kept tones: 480 MB at most, a few MB in practice


class Tones:
    """Tones of one bank at one rate and concert pitch; what was made once is kept.

    Parameters
    ----------
    bank : the soundfont. `rate` : frames a second. `concert` : A4 in Hz.
    """

    def __init__(self, bank: Bank, rate: int = 44100, concert: float = 440.0) -> None:
        self.bank = bank
        self.rate = rate
        self.concert = concert
        self._kept: dict[tuple[int, int, int, int], Sound] = {}
        self._found: dict[tuple[int, int, int, int], tuple[Layer, ...]] = {}
        self._frames = 0

    def tone(self, program: int, key: int, velocity: int, frames: int, bank: int = 0) -> Sound:
        """At least `frames` of a key held down, fewer where its samples end by themselves; empty where it is silent."""
        # Velocity only changes loudness within a layer, but a bank may have other layers for other velocities.
        name = (bank, program, key, velocity)
        kept = self._kept.get(name)
        if kept is None or (len(kept) < frames and not self._ends(name)):
            # Compute more than is asked, so that a slower tempo need not start over; less the first time,
            # because somebody is waiting.
            kept = self._make(name, 2 * frames if kept is not None else 5 * frames // 4)
            if self._frames > KEEP_FRAMES:
                self._kept.clear()
                self._frames = 0
            self._kept[name] = kept
            self._frames += len(kept)
        return kept

    def _ends(self, name: tuple[int, int, int, int]) -> bool:
        return all(layer.loop is None for layer in self._layers(name))

    def _layers(self, name: tuple[int, int, int, int]) -> tuple[Layer, ...]:
        if name not in self._found:
            bank, program, key, velocity = name
            self._found[name] = self.bank.layers(program, key, velocity, self.rate, bank)
        return self._found[name]

    def _make(self, name: tuple[int, int, int, int], frames: int) -> Sound:
        import numpy as np

        waves = [(layer, self._wave(layer, frames)) for layer in self._layers(name)]
        longest = max((len(wave) for _, wave in waves), default=0)
        middle = all(layer.gain[0] == layer.gain[1] for layer, _ in waves)
        sound = np.zeros((longest, 1 if middle else 2), np.float32)
        for layer, wave in waves:
            sound[: len(wave)] += wave[:, None] * np.array(layer.gain[: sound.shape[1]], np.float32)
        return np.broadcast_to(sound, (longest, 2))

    def _wave(self, layer: Layer, frames: int) -> NDArray[np.float32]:
        """One layer, looped and tuned, with its envelope."""
        import numpy as np

        step = layer.step * self.concert / 440.0
        points = self.bank.wave(layer.wave)[layer.first : layer.last]
        loop = None if layer.loop is None else (layer.loop[0] - layer.first, layer.loop[1] - layer.first)
        wave = _unrolled(points, loop, frames) if abs(step - 1) < 1e-09 else _resampled(points, loop, step, frames)
        if layer.attack or layer.sustain < 1:
            wave = wave * envelope(layer, len(wave), self.rate)
        return np.asarray(wave, np.float32)


def _unrolled(points: NDArray[np.float32], loop: tuple[int, int] | None, frames: int) -> NDArray[np.float32]:
    """A sample with its loop gone round as often as `frames` asks."""
    import numpy as np

    if loop is None:
        return points[:frames]
    turn = points[loop[0] : loop[1]]
    turns = max(0, -(-(frames - loop[1]) // len(turn)))
    return np.concatenate([points[: loop[1]], np.tile(turn, turns)])[:frames]


def _resampled(
    points: NDArray[np.float32], loop: tuple[int, int] | None, step: float, frames: int
) -> NDArray[np.float32]:
    """A sample read at another speed: four-point cubic interpolation (Catmull and Rom 1974), exact in pitch."""
    import numpy as np

    needed = int(frames * step) + 4
    source = _unrolled(points, loop, needed)
    source = np.concatenate([source[:1], source, np.zeros(4, np.float32)])
    count = frames if loop is not None else min(frames, int((len(source) - 5) / step))
    at = np.arange(count, dtype=np.float64) * step
    whole = at.astype(np.int64)
    t = (at - whole).astype(np.float32)
    a, b, c, d = (source[whole + i] for i in range(4))
    wave: NDArray[np.float32] = b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)))
    return wave


def envelope(layer: Layer, frames: int, rate: int) -> NDArray[np.float32]:
    """Attack in amplitude, decay in decibels (SoundFont 2.04, 8.1.2)."""
    import numpy as np

    shape = np.ones(frames, np.float32)
    rise = min(frames, round(layer.attack * rate))
    shape[:rise] = np.arange(rise) / max(1, rise)
    top = min(frames, rise + round(layer.hold * rate))
    if layer.sustain < 1:
        # Decay is given as the time of a fall by 100 dB.
        seconds = np.arange(frames - top) / rate
        fall = 10 ** (-5 * seconds / layer.decay) if layer.decay else np.zeros(frames - top)
        shape[top:] = np.maximum(fall, layer.sustain)
    return shape
