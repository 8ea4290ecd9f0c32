"""`companion mark`: a take on file, marked against a tune."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from companion.cli.opening import open_tune
from companion.cli.show import as_json, as_table, line, note_name
from companion.hearing.asking import asked_of
from companion.hearing.model import Asked, Heard, Marks, Verdict
from companion.hearing.reports import note_report
from companion.hearing.take import read_take
from companion.hearing.take_marks import mark_take
from companion.lesson.pieces import piece_named
from companion.lesson.stretch import stretch_of
from companion.sound.tempi import parse_tempo, target_of
from companion.timeline import Timeline

SCHEMA = "companion.marks/1"


def run(given: argparse.Namespace) -> None:
    """Print the marks of a take."""
    opened = open_tune(given.book, given.tune, given.box, given.voice)
    tune = opened.tune
    target, beat = target_of(tune.rhythm, tune.meter, tune.tempo)
    piece = piece_named(opened.pieces, given.piece)
    asked = asked_of(stretch_of(opened.round, piece.first, piece.last, tune.meter, beat))
    bpm = parse_tempo(given.tempo, target) if given.tempo is not None else None
    heard = read_take(Path(given.take))
    marked = mark_take(
        asked,
        heard,
        beat=beat,
        bpm=bpm,
        clock=not given.no_clock,
        fingering=opened.fingering if opened.fingering.playable else None,
    )
    if given.json:
        as_json(report(marked.marks, beat))
    else:
        _show(tune.title, asked, heard, marked.marks, marked.timeline)


def report(marks: Marks, beat: Fraction) -> dict[str, Any]:
    """The JSON of the marks."""
    played = marks.played_bpm
    return {
        "schema": SCHEMA,
        "clean": marks.clean,
        "tempo": {
            "asked": marks.asked_bpm,
            "played": round(played, 3) if played is not None else None,
            "beat": str(beat),
        },
        "notes": [note_report(note) for note in marks.notes],
    }


def _show(title: str, asked: Sequence[Asked], heard: Sequence[Heard], marks: Marks, timeline: Timeline | None) -> None:
    rows = [
        (
            note.written,
            note_name(note.pitch) if note.pitch is not None else "",
            note_name(note.heard_pitch) if note.heard_pitch is not None else "",
            note.verdict.value,
            f"{note.late_ms:+.0f}" if note.late_ms is not None else "",
            note.cause,
        )
        for note in marks.notes
    ]
    as_table(title, ("note", "asked", "heard", "verdict", "late ms", "cause"), rows, right=(0, 4))
    counts = {verdict: sum(note.verdict is verdict for note in marks.notes) for verdict in Verdict}
    said = ", ".join(f"{count} {verdict.value}" for verdict, count in counts.items() if count)
    tempo = f"; played at {marks.played_bpm:.1f} beats a minute" if marks.played_bpm is not None else ""
    clock = "in time" if timeline is not None else "with no clock"
    line(f"{'Clean' if marks.clean else 'Not clean'}, {clock}: {len(asked)} asked, {len(heard)} heard: {said}{tempo}.")
