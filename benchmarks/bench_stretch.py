"""Slowed recordings: tempo, pitch and speed beside a reference in the same run.

``COMPANION_REFERENCE_PYTHON=…/bin/python python -m benchmarks stretch`` takes librosa (resampled and stretched) as the
reference; it needs an environment of its own (``python -m venv reference && reference/bin/pip install librosa``).
Without one the reference is the library that we build on, as it comes: python-stretch in one go, with its own settings.
"""

from __future__ import annotations

import os
import subprocess
import tempfile
import time
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from benchmarks.table import Row, at_most, named
from companion.sound.stretcher import at_rate, stretched
from tests.sound.pitch import cents_off
from tests.sound.test_recording import EACH, RATE, middles, pitches, tones

COUNT, SOURCE_RATE = 30, 48000
PYTHON = os.environ.get("COMPANION_REFERENCE_PYTHON")
SHARES = (0.2, 0.35, 0.5, 0.75, 0.9)
REFERENCE = """
import sys, time, numpy, librosa
source, out, share = numpy.load(sys.argv[1]), sys.argv[2], float(sys.argv[3])
mono = librosa.resample(source[:, 0], orig_sr=48000, target_sr=44100)
librosa.effects.time_stretch(mono[:44100], rate=0.5)
begun = time.process_time()
made = librosa.effects.time_stretch(mono, rate=share)
print(time.process_time() - begun)
numpy.save(out, made[:, None])
"""


def measured(sound: NDArray[np.float32], share: float) -> tuple[float, float, float]:
    """Tempo off in per cent, worst place off in ms, worst pitch off in cents."""
    wanted = (np.arange(COUNT) * EACH + 0.1) / share
    places = middles(sound, COUNT, EACH / share)
    slope, _ = np.polyfit(wanted, places, 1)
    worst = 0.0
    for place, pitch in zip(wanted, pitches(COUNT), strict=True):
        middle, half = round(place * RATE), round(0.06 / share * RATE)
        worst = max(worst, abs(cents_off(sound[middle - half : middle + half, 0].astype(float), RATE, pitch)))
    return 100 * float(slope - 1), 1000 * float(np.abs(places - wanted).max()), worst


def by_librosa(source: NDArray[np.float32], share: float) -> tuple[NDArray[np.float32], float]:
    """The sound, and seconds."""
    with tempfile.TemporaryDirectory() as folder:
        there, back = Path(folder, "in.npy"), Path(folder, "out.npy")
        np.save(there, source)
        command = [str(PYTHON), "-c", REFERENCE, str(there), str(back), str(share)]
        took = float(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
        sound: NDArray[np.float32] = np.load(back)
        return sound, took


def as_it_comes(source: NDArray[np.float32], share: float) -> tuple[NDArray[np.float32], float]:
    """The same by python-stretch in one go."""
    from python_stretch.Signalsmith import Stretch

    begun = time.process_time()
    engine = Stretch(1)
    engine.preset(source.shape[1], SOURCE_RATE)
    engine.setTimeFactor(share)
    made: NDArray[np.float32] = np.ascontiguousarray(np.transpose(engine.process(np.ascontiguousarray(source.T))))
    return at_rate(made, SOURCE_RATE, RATE), time.process_time() - begun


def by_us(source: NDArray[np.float32], share: float) -> tuple[NDArray[np.float32], float]:
    """The same by us."""
    begun = time.process_time()
    made = at_rate(stretched(source, SOURCE_RATE, share), SOURCE_RATE, RATE)
    return made, time.process_time() - begun


def main() -> list[Row]:
    """Measure."""
    source = tones(COUNT, SOURCE_RATE)
    other, name = (as_it_comes, f"{named('python-stretch')} as it comes")
    if PYTHON:
        ask = "import librosa; print(librosa.__version__)"
        told = subprocess.run([PYTHON, "-c", ask], check=True, capture_output=True, text=True).stdout.strip()
        other, name = by_librosa, f"librosa {told}"
    ours: list[tuple[float, float, float]] = []
    theirs: list[tuple[float, float, float]] = []
    print(f"{'share':>6}  {'whose':30}{'tempo off %':>12}{'place off ms':>14}{'pitch off ct':>14}{'x real time':>13}")
    for share in SHARES:
        for found, work, whose in ((ours, by_us, "companion"), (theirs, other, name)):
            sound, took = work(source, share)
            tempo, place, pitch = measured(sound, share)
            found.append((abs(tempo), pitch, len(sound) / RATE / took))
            print(f"{share:6.2f}  {whose:30}{tempo:12.4f}{place:14.2f}{pitch:14.2f}{found[-1][2]:13.0f}")
    (tempo_, pitch_, speed), (their_tempo, their_pitch, their_speed) = (
        zip(*one, strict=True) for one in (ours, theirs)
    )
    return [
        Row("slowed: tempo off", "%", tempo_, name, their_tempo, "shares", at_most(0.1, max(tempo_), "worst")),
        Row("slowed: worst pitch off", "cents", pitch_, name, their_pitch, "shares", at_most(5, max(pitch_), "worst")),
        Row("slowed", "× real time", speed, name, their_speed, "shares"),
    ]


if __name__ == "__main__":
    main()
