"""MIDI out over JACK: errors of note times against the timeline, beside `mido.MidiFile.play` in the same run.

``python -m benchmarks midi_out``. The same tones go to the same listening port, by turns; each error is the
note's arrival less its place on the timeline, less the middle between the earliest and the latest (a delay that is
always the same is no error). JACK passes messages on once a period: with 256 frames that alone is 2.7 ms either way.
Needs a JACK server (DEVELOPERS.md); says so where there is none.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from benchmarks.table import Row, at_most, named
from companion.input.ports import backend_name
from companion.timeline import Timeline

SECONDS = 15
NO_WORSE = 1.05  # at the 99th percentile, which differs by some per cent from run to run
TURNS = 3
SHARES = (50, 90, 99)
MIDO = """
import sys, mido
port = mido.Backend(sys.argv[1], load=True).open_output(sys.argv[2])
import time; time.sleep(0.5)
for message in mido.MidiFile(sys.argv[3]).play():
    port.send(message)
time.sleep(0.1)
"""


class _Monotonic:
    """A clock whose places are the stamps themselves."""

    rate = 44100

    def stamp_of(self, place: float) -> float:
        return place


def _errors(came: NDArray[np.float64], starts: NDArray[np.float64]) -> list[float]:
    """What is lost is lost at either end: the way in which the rest lies best."""
    late = [came - starts[first : first + len(came)] for first in range(len(starts) - len(came) + 1)]
    best = min(late, key=lambda one: float(np.std(one)))
    return [float(one) for one in best - np.mean(np.percentile(best, (2, 98)))]


def main() -> list[Row]:
    """Measure."""
    backend, problem = backend_name()
    if problem or not backend.endswith("UNIX_JACK"):
        print("no JACK server runs here (see DEVELOPERS.md): nothing was measured")
        return []
    from companion.sound.files import write_midi
    from companion.sound.midi_out import MidiOut
    from companion.sound.score import Passage, SoundVoice, Tone
    from tests.servers.midi_ear import CLIENT, NAME, MidiEar

    # A made-up melody, about the quavers of a reel at its target. Their lengths differ, so that the moments fall evenly
    # on JACK's periods: with a fixed step, where in its period each note falls would decide the figures.
    rng = np.random.default_rng(5)
    starts = np.cumsum(rng.uniform(0.1, 0.168, round(SECONDS / 0.134)))
    tones = tuple(Tone(float(s), 0.08, int(rng.integers(60, 84)), 100, SoundVoice.MELODY) for s in starts)
    made = Passage(tones, SECONDS * 44100, 0, 44100)
    port = f"{CLIENT}:{NAME}"
    errors: dict[str, list[float]] = {"companion": [], "mido.MidiFile.play": []}
    lost = dict.fromkeys(errors, 0)
    ear = MidiEar()
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, "made.mid")
        write_midi(file, made, Timeline(112.0, Fraction(1, 2)))
        for _ in range(TURNS):
            for name, found in errors.items():
                ear.heard.clear()
                if name == "companion":
                    out = MidiOut(backend, port, _Monotonic())
                    out.queued(made, round((time.perf_counter() + 0.2) * 44100))
                    time.sleep(SECONDS + 0.5)
                    out.close()
                else:
                    subprocess.run([sys.executable, "-c", MIDO, backend, port, str(file)], check=True)
                ons = ear.ons()
                lost[name] += len(starts) - len(ons)
                found.extend(_errors(np.array([stamp for stamp, _, _ in ons]), starts))
    ear.close()
    off = {name: 1000 * np.abs(found) for name, found in errors.items()}
    for name, these in off.items():
        at = ", ".join(
            f"{share}% {value:.2f}" for share, value in zip(SHARES, np.percentile(these, SHARES), strict=True)
        )
        print(f"{name}: ms against the timeline: {at}, worst {these.max():.2f}; {lost[name]} lost")
    ours, theirs = off.values()
    worse = float(np.percentile(ours, 99) / np.percentile(theirs, 99))
    limit = at_most(NO_WORSE, worse, "99% beside its")
    reference = f"{named('mido')}, MidiFile.play"
    what = "a note over JACK, off its place"
    return [Row(what, "ms", ours.tolist(), reference, theirs.tolist(), f"notes in {TURNS} turns", limit)]


if __name__ == "__main__":
    main()
