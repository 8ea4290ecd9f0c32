"""General finders of notes, for `bench_microphone.py`, each in an environment of its own: what they need does not
go together with what we need. They know neither the box nor the tune.

Run by another Python: ``python other_ears.py basic-pitch|swift-f0 FILE.wav …`` prints a list of notes for each file.
"""

from __future__ import annotations

import json
import subprocess
import sys
import venv
from pathlib import Path

# What is installed, and what it needs, named one by one: basic-pitch would bring TensorFlow along otherwise.
PACKAGES = {
    "basic-pitch": (
        ("--no-deps", "basic-pitch==0.4.0"),
        ("onnxruntime", "librosa", "pretty_midi", "mir_eval", "resampy", "scipy", "setuptools<81"),
    ),
    "swift-f0": (("swift-f0[audio]==0.3.0", "soundfile"),),
}

HOLD = 40.0  # ms by which swift-f0 holds on to a pitch: of 20, 40 and 80 (what it takes by itself) the best here


def python_of(name: str, folder: Path) -> Path | None:
    """The Python of an environment that has a note finder, made where it is not there yet; None where it cannot be."""
    home = folder / name
    python = home / ("Scripts" if sys.platform == "win32" else "bin") / "python"
    if (home / "ready").exists():
        return python
    venv.create(home, with_pip=True, clear=True)
    for wanted in PACKAGES[name]:
        done = subprocess.run([python, "-m", "pip", "install", "--quiet", *wanted], check=False, capture_output=True)
        if done.returncode:
            return None
    (home / "ready").touch()
    return python


def notes_of(name: str, python: Path, files: list[Path]) -> list[list[tuple[float, int]]] | None:
    """The notes that a note finder finds in each file: (seconds, pitch); None where it fails."""
    done = subprocess.run(
        [python, __file__, name, *map(str, files)], check=False, capture_output=True, text=True, timeout=1800
    )
    if done.returncode:
        return None
    return [[(at, pitch) for at, pitch in notes] for notes in json.loads(done.stdout.splitlines()[-1])]


def basic_pitch(files: list[str]) -> list[list[tuple[float, int]]]:
    """Every note that it finds."""
    import basic_pitch
    from basic_pitch.inference import Model, predict

    model = Model(Path(basic_pitch.__file__).parent / "saved_models" / "icassp_2022" / "nmp.onnx")
    return [sorted((float(start), int(pitch)) for start, _, pitch, *_ in predict(file, model)[2]) for file in files]


def swift_f0(files: list[str]) -> list[list[tuple[float, int]]]:
    """Its pitches, cut into notes by its own function."""
    import math

    import soundfile
    from swift_f0 import SwiftF0, segment_notes

    ear, found = SwiftF0(), []
    for file in files:
        sound, rate = soundfile.read(file, dtype="float32")
        notes = segment_notes(ear.detect(sound, rate, fmin=100.0, fmax=1500.0), pitch_hold_ms=HOLD)
        found.append([(float(n.start), round(69 + 12 * math.log2(n.pitch_hz / 440))) for n in notes])
    return found


if __name__ == "__main__":
    sys.stderr = sys.stdout  # what the libraries say comes before the last line
    found = {"basic-pitch": basic_pitch, "swift-f0": swift_f0}[sys.argv[1]](sys.argv[2:])
    print()
    print(json.dumps(found))
