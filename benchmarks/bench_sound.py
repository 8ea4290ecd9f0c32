"""Rendering beside real time: a whole tune of 32 bars, with each tremolo, at three tempi, beside FluidSynth.

Each figure is seconds of sound for each second of rendering. FluidSynth renders the same notes from the same soundfont
in the same run; where it is not installed, numpy adds up one sine a note.

    python -m benchmarks sound
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from statistics import median
from typing import Any

import numpy as np
from numpy.typing import NDArray

from benchmarks.table import Row, at_least, named, timed
from companion.lesson.stretch import stretch_of
from companion.sound.render import Renderer
from companion.sound.score import Passage, Request, SoundVoice, passage
from companion.sound.sound_settings import sound_settings, soundfont_path
from companion.timeline import Timeline
from companion.tune.tune_values import BarSpan, Meter, OnceThrough, Played

BEAT = Fraction(1, 2)
LEAST = 1000  # times real time
TIMES = 8
REEL = Meter("C|", Fraction(1), (BEAT, BEAT))


def tune() -> OnceThrough:
    """A made-up reel: 32 bars of quavers."""
    quaver = Fraction(1, 8)
    notes = tuple(Played(i, "A", 1, 1 + i // 8, i * quaver, quaver, 62 + i * 5 % 19) for i in range(256))
    bars = tuple(BarSpan(1 + i, "A", 1, Fraction(i), Fraction(1)) for i in range(32))
    return OnceThrough(notes, bars, Fraction(32), Fraction(0), "A")


def by_fluidsynth(made: Passage) -> Callable[[], object]:
    """The same melody by FluidSynth, its reverb and chorus off; made ready here, rendered when it is called.

    Raises
    ------
    ImportError, OSError : it is not installed.
    """
    import fluidsynth

    synth = fluidsynth.Synth(gain=0.8, samplerate=float(made.rate))
    number = synth.sfload(str(soundfont_path(sound_settings().voices)))
    synth.program_select(0, number, 0, 1)
    for effect in ("reverb", "chorus"):
        synth.setting(f"synth.{effect}.active", 0)
    events = []
    for tone in made.tones:
        if tone.voice is SoundVoice.MELODY:
            first = round(tone.start * made.rate)
            events += [(first, 1, tone.pitch), (round(first + tone.length * made.rate), 0, tone.pitch)]

    def render() -> list[Any]:
        parts, at = [], 0
        for frame, on, pitch in sorted(events):
            if frame > at:
                parts.append(synth.get_samples(frame - at))
                at = frame
            if on:
                synth.noteon(0, pitch, 100)
            else:
                synth.noteoff(0, pitch)
        return [*parts, synth.get_samples(made.frames - at)]

    return render


def by_numpy(made: Passage) -> Callable[[], object]:
    """One sine a note, added up."""

    def render() -> NDArray[np.float32]:
        wave = np.zeros(made.frames + made.rate, np.float32)
        for tone in made.tones:
            first, count = round(tone.start * made.rate), round(tone.length * made.rate)
            step = 2 * np.pi * 440 * 2 ** ((tone.pitch - 69) / 12) / made.rate
            wave[first : first + count] += np.sin(step * np.arange(count), dtype=np.float32)[: len(wave) - first]
        return wave

    return render


def reference(made: Passage) -> tuple[str, Callable[[], object]]:
    """Whose rendering stands beside ours."""
    try:
        render = by_fluidsynth(made)
    except (ImportError, OSError, AttributeError):
        return f"{named('numpy')}, a sine a note", by_numpy(made)
    return f"FluidSynth {_fluid()} ({named('pyfluidsynth')})", render


def _fluid() -> str:
    import fluidsynth

    major, minor, micro = ctypes.c_int(), ctypes.c_int(), ctypes.c_int()
    fluidsynth._fl.fluid_version(ctypes.byref(major), ctypes.byref(minor), ctypes.byref(micro))
    return f"{major.value}.{minor.value}.{micro.value}"


def main() -> list[Row]:
    """Measure."""
    settings = sound_settings()
    stretch = stretch_of(tune(), 0, 255, REEL, BEAT)
    print(f"{'voice':16}{'bpm':>6}{'seconds':>9}{'first':>9}{'again':>9}   (times real time, score and sound)")
    rows = []
    for program, name in ((0, "dry"), (1, "light tremolo"), (2, "strong tremolo")):
        renderer = Renderer(replace(settings.voices, melody=program))
        for bpm in (56.0, 84.0, 112.0):
            made: list[Passage] = []

            def work(bpm: float = bpm, renderer: Renderer = renderer, made: list[Passage] = made) -> None:
                made.append(passage(stretch, Timeline(bpm, BEAT), REEL, settings.score, Request()))
                renderer.render(made[-1])

            ratios = [made[-1].seconds / took for took in timed(work, TIMES)]
            print(f"{name:16}{bpm:6.0f}{made[-1].seconds:9.1f}{ratios[0]:9.0f}{median(ratios[1:]):9.0f}")
            if program == 1 and bpm != 84.0:
                whose, render = reference(made[-1])
                theirs = [made[-1].seconds / took for took in timed(render, TIMES)]
                limit = at_least(LEAST, median(ratios))
                what = f"32 bars rendered at {bpm:.0f}"
                rows.append(Row(what, "× real time", ratios, whose, theirs, "repeats", limit))
    return rows


if __name__ == "__main__":
    main()
