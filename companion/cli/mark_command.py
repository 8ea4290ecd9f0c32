"""`companion mark`: a take on file marked against a tune, or a folder of them: a table, and a page each."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from companion.cli.ready_tune import Opened, open_tune
from companion.cli.show import as_json, as_table, line
from companion.cli.take_pages import another_tune, how_far, page, write_pages
from companion.cli.takes import (
    MIDI,
    HowToHear,
    TakeHeard,
    how_to_hear,
    is_recording,
    read_any_take,
    read_many,
    say_that_it_guesses,
)
from companion.errors import UserError
from companion.lesson.pieces import piece_named
from companion.lesson.stretch import stretch_of
from companion.marking.asking import asked_of
from companion.marking.mark_values import Asked, Heard, Marks, Verdict
from companion.marking.marks_json import note_report
from companion.marking.summary import as_far_as_played, is_another, worst_three
from companion.marking.take_marks import TakeMarks, mark_take
from companion.screen.words import load_words, stored_piece
from companion.session.round_sentences import to_work_on
from companion.sound.sound_file import ENDINGS
from companion.sound.tempi import parse_tempo
from companion.tune.beat_names import beat_name

SCHEMA = "companion.marks/1"
CLASS_SCHEMA = "companion.class/1"


@dataclass(frozen=True, slots=True)
class MarkTask:
    """What takes are marked against."""

    opened: Opened
    asked: tuple[Asked, ...]
    beat: Fraction
    bpm: float | None
    clock: bool


@dataclass(frozen=True, slots=True)
class Marked:
    """A take with its marks, or what was wrong with it."""

    name: str
    heard: tuple[Heard, ...] = ()
    found: TakeMarks | None = None
    work: tuple[str, ...] = ()
    far: str = ""  # how far it goes, where that is not the whole
    problem: str = ""
    guessed: bool = False  # a recording, heard with no ear for its box


def run(given: argparse.Namespace) -> None:
    """Print the marks of a take or of a folder of them."""
    task = _task(given)
    takes = Path(given.take)
    folder = takes.is_dir()
    if given.playback is not None and (folder or not is_recording(takes)):
        raise UserError("--playback is for one recording: it names what the program played while that was made")
    if given.out is not None and not folder:
        raise UserError("-o is for a folder of takes: it says where their pages go")
    how = how_to_hear(given.ear, given.playback)
    if folder:
        _folder(task, takes, how, given)
        return
    marked = _marked(task, takes.name, read_any_take(takes, task.asked, how))
    say_that_it_guesses(how, [takes])
    assert marked.found is not None
    if given.json:
        as_json(report(marked.found.marks, task.beat, marked.heard))
    else:
        line(page(takes.name, marked.found, marked.work, task.opened, task.asked, guessed=marked.guessed).rstrip())


def report(marks: Marks, beat: Fraction, heard: Sequence[Heard]) -> dict[str, Any]:
    """The JSON of the marks; `heard` are all notes of the take in order of onset, in which the marks count."""
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
        "heard": [
            {"seconds": round(note.seconds, 4), "pitch": note.pitch, "sure": round(note.sure, 3)} for note in heard
        ],
    }


def _task(given: argparse.Namespace) -> MarkTask:
    opened = open_tune(given.book, given.tune, given.box, given.voice)
    tune = opened.tune
    target, beat = opened.target
    piece = piece_named(opened.pieces, given.piece and stored_piece(given.piece))
    asked = asked_of(stretch_of(opened.round, piece.first, piece.last, tune.meter, beat))
    bpm = parse_tempo(given.tempo, target) if given.tempo is not None else None
    return MarkTask(opened, asked, beat, bpm, not given.no_clock)


def _marked(task: MarkTask, name: str, take: TakeHeard) -> Marked:
    """Mark one take."""
    heard, rules = take.notes, task.opened.tables.marks
    fingering = task.opened.fingering if task.opened.fingering.playable else None
    found = mark_take(
        task.asked,
        heard,
        beat=task.beat,
        bpm=task.bpm,
        clock=task.clock,
        fingering=fingering,
        rules=rules,
    )
    found = take.weighed(found, rules)
    work: tuple[str, ...] = ()
    if is_another(found.marks, task.opened.round):
        return Marked(name, heard, found, work, another_tune(found.marks, task.opened), guessed=take.guessed)
    marks, played = as_far_as_played(found.marks, task.opened.round)
    if fingering is not None:
        work = to_work_on(worst_three([marks], task.opened.round), task.opened.pieces, load_words())
    far = how_far(played, task.opened.round) if played else ""
    return Marked(name, heard, found, work, far, guessed=take.guessed)


def _folder(task: MarkTask, folder: Path, how: HowToHear, given: argparse.Namespace) -> None:
    """A class's takes: a table of all, and with `-o` a page for each."""
    kinds = (*MIDI, *ENDINGS)
    paths = sorted(path for path in folder.iterdir() if path.suffix.lower() in kinds and path.is_file())
    if not paths:
        raise UserError(f"{folder}: no take in this folder; a take is a MIDI file (.mid) or a recording (.m4a, .wav …)")
    say_that_it_guesses(how, paths)
    marked = [
        Marked(path.name, problem=take.message) if isinstance(take, UserError) else _marked(task, path.name, take)
        for path, take in zip(paths, read_many(paths, task.asked, how), strict=True)
    ]
    if given.json:
        takes = [
            {
                "take": one.name,
                "marks": report(one.found.marks, task.beat, one.heard) if one.found else None,
                "work": list(one.work),
            }
            | ({"problem": one.problem} if one.problem else {})
            for one in marked
        ]
        as_json({"schema": CLASS_SCHEMA, "tune": task.opened.tune.title, "takes": takes})
    else:
        _class_table(task, marked)
    if given.out is not None:
        write_pages(
            Path(given.out), task.opened, task.asked, [(one.name, one.found, one.work, one.guessed) for one in marked]
        )


def _class_table(task: MarkTask, marked: Sequence[Marked]) -> None:
    rows = []
    # Only a microphone leaves notes unsure: a class that plays over MIDI needs no column for them.
    unsure = any(counts(one.found.marks)[Verdict.UNSURE] for one in marked if one.found is not None)
    told = (Verdict.RIGHT, Verdict.WRONG, Verdict.MISSED, Verdict.EXTRA, *((Verdict.UNSURE,) if unsure else ()))
    for one in marked:
        if one.found is None:
            continue
        marks = one.found.marks
        count = counts(marks)
        tempo = f"{marks.played_bpm:.0f}" if marks.played_bpm is not None else ""
        shown = [count[verdict] for verdict in told]
        rows.append((one.name, "yes" if marks.clean else "no", *shown, tempo))
    columns = ("take", "clean", *(verdict.value for verdict in told), f"{beat_name(task.beat)}s a minute")
    as_table(task.opened.tune.title, columns, rows, right=range(2, len(columns)))
    for one in marked:
        for sentence in (one.problem, one.far, *one.work[:1]):
            if sentence:
                line(f"{one.name}: {sentence}")


def counts(marks: Marks) -> dict[Verdict, int]:
    """How many notes have each verdict."""
    return {verdict: sum(note.verdict is verdict for note in marks.notes) for verdict in Verdict}
