"""MIDI out over JACK: errors of note times against the timeline, beside `mido.MidiFile.play` in the same run.

``python -m benchmarks.bench_midi_out``. The same tones go to the same listening port, by turns; each error is the
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

from companion.hearing.ports import backend_name
from companion.timeline import Timeline

SECONDS = 20
TURNS = 3
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


def main() -> None:
    """Print the table."""
    backend, problem = backend_name()
    if problem or not backend.endswith("UNIX_JACK"):
        print("no JACK server runs here (see DEVELOPERS.md): nothing was measured")
        return
    from companion.sound.files import write_midi
    from companion.sound.midi_out import MidiOut
    from companion.sound.score import Passage, Tone, Voice
    from tests.servers.midi_ear import CLIENT, NAME, MidiEar

    # A made-up melody, about the quavers of a reel at its target. Their lengths differ, so that the moments fall evenly
    # on JACK's periods: with a fixed step, where in its period each note falls would decide the figures.
    rng = np.random.default_rng(5)
    starts = np.cumsum(rng.uniform(0.1, 0.168, round(SECONDS / 0.134)))
    tones = tuple(Tone(float(s), 0.08, int(rng.integers(60, 84)), 100, Voice.MELODY) for s in starts)
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
    columns = "".join(f"{title:>9}" for title in ("middle", "90 %", "99 %", "worst"))
    print(f"{'ms against the timeline':26}{columns}   ({TURNS} x {len(starts)} notes)")
    for name, found in errors.items():
        off = 1000 * np.abs(found)
        print(
            f"{name:26}"
            + "".join(f"{value:9.2f}" for value in (*np.percentile(off, (50, 90, 99)), off.max()))
            + f"   {lost[name]} lost"
        )
    ours, theirs = (np.percentile(np.abs(found), 99) for found in errors.values())
    print(f"{'ratio at 99 %':26}{ours / theirs:9.2f}")


if __name__ == "__main__":
    main()
