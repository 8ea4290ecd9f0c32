"""Rendering beside real time: a whole tune of 32 bars, with each tremolo, at three tempi, warm and cold.

``python -m benchmarks.bench_sound``. Each figure is seconds of sound for each second of rendering (the reference is
real time itself); symusic's synthesiser, where it is installed, renders the same notes in the same run.
"""

from __future__ import annotations

import time
from dataclasses import replace
from fractions import Fraction
from statistics import median

from companion.lesson.stretch import stretch_of
from companion.sound.render import Renderer
from companion.sound.score import Passage, Request, Voice, passage
from companion.sound.settings import sound_settings, soundfont_path
from companion.timeline import Timeline
from companion.tune.model import BarSpan, Meter, Played, Round

BEAT = Fraction(1, 2)
REEL = Meter("C|", Fraction(1), (BEAT, BEAT))


def tune() -> Round:
    """A made-up reel: 32 bars of quavers."""
    quaver = Fraction(1, 8)
    notes = tuple(Played(i, "A", 1, 1 + i // 8, i * quaver, quaver, 62 + i * 5 % 19) for i in range(256))
    bars = tuple(BarSpan(1 + i, "A", 1, Fraction(i), Fraction(1)) for i in range(32))
    return Round(notes, bars, Fraction(32), Fraction(0), "A")


def symusic_ratio(made: Passage) -> float | None:
    """The same melody by symusic."""
    try:
        from symusic import Note, Score, Synthesizer, Track
    except ImportError:
        return None
    track = Track("", 1, False, ttype="second")
    for tone in made.tones:
        if tone.voice is Voice.MELODY:
            track.notes.append(Note(tone.start, tone.length, tone.pitch, tone.velocity, ttype="second"))
    score = Score(960, ttype="second")
    score.tracks.append(track)
    synthesizer = Synthesizer(sf_path=str(soundfont_path(sound_settings().voices)), sample_rate=44100)
    synthesizer.render(score, stereo=True)
    begun = time.perf_counter()
    synthesizer.render(score, stereo=True)
    return made.seconds / (time.perf_counter() - begun)


def main() -> None:
    """Print the table."""
    settings = sound_settings()
    stretch = stretch_of(tune(), 0, 255, REEL, BEAT)
    print(f"{'voice':16}{'bpm':>6}{'seconds':>9}{'first':>9}{'again':>9}   (times real time, score and sound)")
    for program, name in ((0, "dry"), (1, "light tremolo"), (2, "strong tremolo")):
        renderer = Renderer(replace(settings.voices, melody=program))
        for bpm in (56.0, 84.0, 112.0):
            ratios = []
            for _ in range(8):
                begun = time.perf_counter()
                made = passage(stretch, Timeline(bpm, BEAT), REEL, settings.score, Request())
                renderer.render(made)
                ratios.append(made.seconds / (time.perf_counter() - begun))
            print(f"{name:16}{bpm:6.0f}{made.seconds:9.1f}{ratios[0]:9.0f}{median(ratios[1:]):9.0f}")
    ratio = symusic_ratio(made)
    if ratio is not None:
        print(f"{'symusic, melody':16}{bpm:6.0f}{made.seconds:9.1f}{'':9}{ratio:9.0f}")


if __name__ == "__main__":
    main()
