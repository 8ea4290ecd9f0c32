"""Hearing through a microphone: the notes found, the mistakes told, and the cost, on sampled accordions in a room.

Voices, tunes and seeds are ones that nothing was fitted to (`tests/hearing/trials.py`, `APART`; the tunes are of
music21's corpus). Each box is learnt in the same room first. The soundfonts are Debian's timgm6mb-soundfont,
csound-soundfont and fluid-soundfont-gm; without one, its voices are left out.

Beside it, on the same files, two general note finders that know neither box nor tune, each in an environment of its
own (`benchmarks/other_ears.py`), made on first use. A constant lag of the onsets is taken off theirs.

    python -m benchmarks microphone
"""

from __future__ import annotations

import random
import tempfile
import warnings
from pathlib import Path
from statistics import median

import numpy as np
import soundfile
from platformdirs import user_cache_path

from benchmarks.other_ears import notes_of, python_of
from benchmarks.table import Row, at_least, at_most
from tests.hearing.sounds import RATE, SOUNDFONTS
from tests.hearing.trials import APART, CONDITIONS, PITCHES, Score, Trial, Tune, heard_live, heard_whole, trials

TUNES, SEED, MOST = 6, 2026, 110
OURS = "none: what is aimed at"


def tunes() -> list[Tune]:
    """Tunes of music21's corpus within the compass, in quavers, chosen by a fixed seed."""
    from music21 import corpus

    warnings.filterwarnings("ignore")
    paths = sorted(p for p in corpus.getPaths() if "ryansMammoth" in str(p) or "airdsAirs" in str(p))
    random.Random(SEED).shuffle(paths)
    found: list[Tune] = []
    for path in paths:
        score = corpus.parse(path)
        score = next(iter(score.scores), score) if hasattr(score, "scores") else score
        part = score.parts[0] if score.parts else score
        notes = [
            (2 * float(n.offset), 2 * float(n.quarterLength), int(n.pitch.midi))
            for n in part.flatten().notes
            if not n.isChord and not n.duration.isGrace and n.quarterLength
        ][:MOST]
        if len(notes) >= 50 and all(pitch in PITCHES for _, _, pitch in notes):
            found.append(notes)
        if len(found) == TUNES:
            break
    return found


def main() -> list[Row]:
    """Measure."""
    voices = [voice for voice in APART if SOUNDFONTS[voice.font].exists()]
    if not voices:
        print("no sampled accordion is installed")
        return []
    book = tunes()
    whole, live, rows = {}, Score(), []
    taken: dict[str, list[Trial]] = {}
    for name in ("room", "wet tuning", "octave reed", "left hand", "mistakes", "own playing"):
        score = whole[name] = Score()
        # Few notes of a take are missed, so three times as many takes are made where they are counted.
        seeds = (SEED, SEED + 1, SEED + 2) if name == "own playing" else (SEED,)
        taken[name] = [trial for seed in seeds for trial in trials(CONDITIONS[name], voices, book, seed=seed)]
        for trial in taken[name]:
            heard = heard_whole(trial, score)
            if CONDITIONS[name].mistakes:
                score.judge(trial, heard)
    for trial in taken["room"]:
        heard_live(trial, live)
    for name, least in (("room", 0.99), ("wet tuning", 0.985), ("octave reed", 0.99), ("left hand", 0.98)):
        rows.append(_aim(f"notes found, {name} (F1)", "", whole[name].f1, least, len(taken[name])))
    for name, least in (("room", 0.93), ("wet tuning", 0.85)):
        score = whole[name]
        rows.append(_aim(f"the same note again, {name}", "", score.again_found / score.again, least, score.again))
    marks, echo = whole["mistakes"], whole["own playing"]
    rows += [
        _aim("wrong notes faulted", "", marks.wrong_faulted / marks.wrong, 0.97, marks.wrong),
        _aim("missed notes faulted, own playing", "", echo.missed_faulted / echo.missed, 0.95, echo.missed),
        _most("right notes faulted", "%", 100 * marks.right_faulted / marks.right, 0.7, marks.right),
        _most("unsure", "%", 100 * marks.unsure / (marks.right + marks.wrong + marks.missed), 3.0, marks.right),
        _most("onset off, median", "ms", 1000 * float(np.median(np.abs(whole["room"].off))), 6.0, marks.right),
        _aim("live, notes found (F1)", "", live.f1, 0.985, len(taken["room"])),
        _most("live, onset to lit, median", "ms", 1000 * median(live.lit), 40.0, len(live.lit)),
        _most("live, onset to lit, 95%", "ms", 1000 * float(np.percentile(live.lit, 95)), 65.0, len(live.lit)),
        _most("live, share of a core", "%", 100 * live.work / live.seconds, 5.0, len(taken["room"])),
        _aim("on file, times real time", "×", whole["room"].seconds / whole["room"].work, 40.0, len(taken["room"])),
    ]
    return rows + _others({name: taken[name] for name in ("room", "wet tuning", "octave reed", "left hand")}, whole)


def _others(taken: dict[str, list[Trial]], whole: dict[str, Score]) -> list[Row]:
    """The general note finders on the same files."""
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        files = {name: [Path(folder) / f"{name}-{k}.wav" for k in range(len(some))] for name, some in taken.items()}
        for name, some in taken.items():
            for file, trial in zip(files[name], some, strict=True):
                soundfile.write(file, trial.sound, RATE)
        for other in ("basic-pitch", "swift-f0"):
            python = python_of(other, user_cache_path("box-companion-benchmarks"))
            for name, some in taken.items():
                found = notes_of(other, python, files[name]) if python is not None else None
                if found is None:
                    print(f"{other} could not be installed or run")
                    break
                score = Score()
                for trial, notes in zip(some, found, strict=True):
                    score.take(trial.playing, _unlagged(trial, notes))
                rows.append(Row(f"notes found, {name} (F1)", "", [whole[name].f1], other, [score.f1], "all takes"))
    return rows


def _unlagged(trial: Trial, notes: list[tuple[float, int]]) -> list[tuple[float, int]]:
    """The notes without a constant lag: that by which most of them come nearest to what was played."""
    real = np.array([note.start for note in trial.playing.notes])
    off = [at - real[np.abs(real - at).argmin()] for at, _ in notes]
    lag = median(off) if off else 0.0
    return [(at - lag, pitch) for at, pitch in notes]


def _aim(name: str, unit: str, ours: float, least: float, over: int) -> Row:
    return Row(name, unit, [ours], OURS, [least], f"{over} of them", at_least(least, ours))


def _most(name: str, unit: str, ours: float, most: float, over: int) -> Row:
    return Row(name, unit, [ours], OURS, [most], f"{over} of them", at_most(most, ours))
