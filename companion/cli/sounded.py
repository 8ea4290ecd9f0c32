"""What `play` and `render` share: a piece of a tune, so many rounds of it, as one passage."""

from __future__ import annotations

import argparse
from dataclasses import dataclass, replace

from companion.cli.opening import open_tune
from companion.errors import UserError
from companion.lesson.pieces import piece_named
from companion.lesson.stretch import stretch_of
from companion.sound.score import Passage, Request, passage
from companion.sound.settings import SoundSettings, sound_settings
from companion.sound.tempi import parse_tempo, target_of
from companion.timeline import Timeline

MOST_ROUNDS = 1000
MOST_BARS = 16
LONGEST = 3 * 3600.0  # seconds


@dataclass(frozen=True, slots=True)
class Sounded:
    """A passage, the tempo at which it goes, its title, and the settings that it was made with."""

    passage: Passage
    timeline: Timeline
    title: str
    settings: SoundSettings


def sounded(given: argparse.Namespace) -> Sounded:
    """The passage that the arguments ask for."""
    if not 1 <= given.rounds <= MOST_ROUNDS:
        raise UserError(f"--rounds {given.rounds} is out of bounds; give 1 to {MOST_ROUNDS}")
    if not 0 <= given.count_in <= MOST_BARS:
        raise UserError(f"--count-in {given.count_in} is out of bounds; give 0 to {MOST_BARS} bars")
    opened = open_tune(given.book, given.tune, given.box, given.voice)
    tune = opened.tune
    target, beat = target_of(tune.rhythm, tune.meter, tune.tempo)
    bpm = parse_tempo(given.tempo, target) if given.tempo is not None else target
    piece = piece_named(opened.pieces, given.piece)
    laid = stretch_of(opened.round, piece.first, piece.last, tune.meter, beat)
    timeline = Timeline(bpm, beat)
    if float(laid.length) * timeline.whole * given.rounds > LONGEST:
        raise UserError("that would sound for more than three hours; ask for fewer rounds or a shorter piece")
    settings = sound_settings()
    first, again = (
        passage(
            laid, timeline, tune.meter, settings.score, Request(bars_in=bars, click=not given.no_click), key=tune.key
        )
        for bars in (given.count_in, 0)
    )
    return Sounded(_rounds(first, again, given.rounds), timeline, tune.title, settings)


def _rounds(first: Passage, again: Passage, rounds: int) -> Passage:
    """One passage of so many rounds, the count-in before the first only."""
    tones = list(first.tones)
    frames = first.frames
    for _ in range(rounds - 1):
        shift = frames / again.rate
        tones += [replace(tone, start=tone.start + shift) for tone in again.tones]
        frames += again.frames
    return replace(first, tones=tuple(tones), frames=frames)
