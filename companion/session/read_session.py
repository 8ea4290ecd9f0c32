"""What a session left behind, read back: its rounds, each with the notes of the take that it is made of."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

from companion.errors import Place, UserError
from companion.marking.mark_values import Asked, Heard, Marks, NoteMark, Verdict
from companion.session.session_files import SCHEMA
from companion.store.record import RoundKept
from companion.timeline import Timeline


def rounds_left(path: Path, title: str, heard: Sequence[Heard]) -> tuple[RoundKept, ...]:
    """The rounds of a session's marks that are in its take.

    Parameters
    ----------
    path : the marks, as :func:`companion.session.session_files.write_marks` writes them.
    title : the tune's; of a session on another tune, or of a file that is something else, nothing is left.
    heard : the take's notes. In the marks that are given, `heard` counts in these.

    Raises
    ------
    UserError : the file cannot be read, or its rounds are not as they are written.
    """
    try:
        plain = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise UserError(f"the session's marks cannot be read: {error.strerror}.", Place(path)) from error
    except ValueError:
        return ()
    if not isinstance(plain, dict) or plain.get("schema") != SCHEMA or plain.get("title") != title:
        return ()
    found: list[RoundKept] = []
    begin = 0
    try:
        for one in plain["rounds"]:
            left = _round(one)
            first = _first(left.marks, heard, begin)
            if first is not None:
                found.append(replace(left, marks=_moved(left.marks, first)))
                begin = first + _span(left.marks)
    except (KeyError, TypeError, ValueError) as error:
        message = "these marks of a session are not as they were written; leave them out, or take them from a backup"
        raise UserError(message, Place(path)) from error
    return tuple(found)


def beat_of(left: RoundKept, asked: Sequence[Asked], heard: Sequence[Heard], beat: Fraction) -> Timeline | None:
    """Where a round's beat lay on the take's clock, told by how late its notes were; None for one with no clock."""
    places = {note.index: note.at for note in asked}
    for note in left.marks.notes:
        if left.bpm is not None and note.late_ms is not None and note.written in places and note.heard is not None:
            return Timeline(left.bpm, beat, places[note.written], heard[note.heard].seconds - note.late_ms / 1000)
    return None


def _round(plain: dict[str, Any]) -> RoundKept:
    notes = tuple(
        NoteMark(
            one["written"],
            one["heard"],
            Verdict(one["verdict"]),
            one["pitch"],
            one["heard_pitch"],
            one["late_ms"],
            one["cause"],
            one.get("late_share"),
            one.get("held"),
            tuple(one.get("tries", ())),
            float(one.get("sure", 1.0)),
        )
        for one in plain["notes"]
    )
    bpm = plain["bpm"]
    marks = Marks(bool(plain["clean"]), bpm, None, notes)
    return RoundKept(str(plain["piece"]), str(plain["step"]), bpm, plain["player"] != "player", marks)


def _span(marks: Marks) -> int:
    """How many notes of the take a round has; those of the left hand between them have no mark."""
    return max((note.heard + 1 for note in marks.notes if note.heard is not None), default=0)


def _first(marks: Marks, heard: Sequence[Heard], begin: int) -> int | None:
    """Where in the take a round's notes begin, looked for from note `begin` on."""
    came = {note.heard: note.pitch if note.tries else note.heard_pitch for note in marks.notes}
    came |= {note.tries[0]: note.heard_pitch for note in marks.notes if note.tries}
    played = sorted((place, pitch) for place, pitch in came.items() if place is not None)
    if not played:
        return None
    for first in range(begin, len(heard) - _span(marks) + 1):
        if all(heard[first + place].pitch == pitch for place, pitch in played):
            return first
    return None


def _moved(marks: Marks, first: int) -> Marks:
    notes = (note if note.heard is None else replace(note, heard=note.heard + first) for note in marks.notes)
    return replace(marks, notes=tuple(notes))
