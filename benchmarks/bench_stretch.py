"""Slowed recordings: tempo and pitch beside a reference, a recording resampled and stretched by librosa.

``COMPANION_REFERENCE_PYTHON=…/bin/python python -m benchmarks.bench_stretch``. librosa needs an environment of its own
(``python -m venv reference && reference/bin/pip install librosa``); without it only our own column is printed.
"""

from __future__ import annotations

import os
import subprocess
import tempfile
import time
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from companion.sound.stretcher import at_rate, stretched
from tests.sound.pitch import cents_off
from tests.sound.test_recording import EACH, RATE, middles, pitches, tones

COUNT, SOURCE_RATE = 30, 48000
SHARES = (0.2, 0.35, 0.5, 0.75, 0.9, 1.0)
REFERENCE = """
import sys, time, numpy, librosa
source, out, share = numpy.load(sys.argv[1]), sys.argv[2], float(sys.argv[3])
mono = librosa.resample(source[:, 0], orig_sr=48000, target_sr=44100)
librosa.effects.time_stretch(mono[:44100], rate=0.5)
begun = time.perf_counter()
made = librosa.effects.time_stretch(mono, rate=share)
print(time.perf_counter() - begun)
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
    return 100 * (slope - 1), 1000 * float(np.abs(places - wanted).max()), worst


def main() -> None:
    """Print the table."""
    source = tones(COUNT, SOURCE_RATE)
    reference = os.environ.get("COMPANION_REFERENCE_PYTHON")
    print(f"{'share':>6}  {'whose':10}{'tempo off %':>12}{'place off ms':>14}{'pitch off ct':>14}{'x real time':>13}")
    for share in SHARES:
        begun = time.perf_counter()
        ours = at_rate(stretched(source, SOURCE_RATE, share), SOURCE_RATE, RATE)
        rows = [("companion", ours, time.perf_counter() - begun)]
        if reference:
            with tempfile.TemporaryDirectory() as folder:
                there, back = Path(folder, "in.npy"), Path(folder, "out.npy")
                np.save(there, source)
                command = [reference, "-c", REFERENCE, str(there), str(back), str(share)]
                took = float(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
                rows.append(("librosa", np.load(back), took))
        for name, sound, took in rows:
            tempo, place, pitch = measured(sound, share)
            speed = len(sound) / RATE / took
            print(f"{share:6.2f}  {name:10}{tempo:12.4f}{place:14.2f}{pitch:14.2f}{speed:13.0f}")
    if not reference:
        print("no reference: COMPANION_REFERENCE_PYTHON names no Python with librosa")


if __name__ == "__main__":
    main()
