"""`companion ornaments`: for each ornament mark, the notes that a player can play there, with which fingers."""

from __future__ import annotations

import argparse
from typing import Any

from companion.box.box_values import Bellows, Fingered
from companion.box.ornaments import OrnamentNote, OrnamentPlayed, ornament_of, scale_of
from companion.cli.bar_places import place_of
from companion.cli.misfit import fit_head, note_head, say_misfit
from companion.cli.ready_tune import Opened, open_tune
from companion.cli.show import as_json, as_table, line, note_name

SCHEMA = "companion.ornaments/1"
Found = tuple[int, OrnamentPlayed]  # the note of the round, and what is played on it


def run(given: argparse.Namespace) -> None:
    """Print the ornaments."""
    opened = open_tune(given.book, given.tune, given.box, given.voice)
    scale = scale_of(opened.tune.key.signature)
    found = [
        (index, played)
        for index, note in enumerate(opened.fingering.notes)
        for played in ornament_of(note, opened.box, scale, opened.tables.ornaments)
    ]
    if given.json:
        as_json(report(opened, found))
    elif not say_misfit(opened.tune.title, opened):
        _show(opened, found)


def report(opened: Opened, found: list[Found]) -> dict[str, Any]:
    """The JSON of the ornaments."""
    return {
        "schema": SCHEMA,
        **fit_head(opened),
        "ornaments": [_ornament(index, opened.fingering.notes[index], played) for index, played in found],
    }


def _ornament(index: int, one: Fingered, played: OrnamentPlayed) -> dict[str, Any]:
    return {
        "note": index,
        **note_head(one),
        "asked": played.asked,
        "played": played.played,
        "touches": [_touch(touch) for touch in played.touches],
        "reason": played.reason,
    }


def _touch(touch: OrnamentNote) -> dict[str, Any]:
    return {
        "role": touch.role,
        "pitch": touch.pitch,
        "row": touch.press.row,
        "button": touch.press.button,
        "finger": touch.finger,
    }


def _show(opened: Opened, found: list[Found]) -> None:
    if not found:
        graced = next((n for n in opened.round.notes if n.grace), None)
        if graced is None:
            line(f"{opened.tune.title}: no ornament is marked; `~` before a note in the ABC asks for a roll.")
        else:
            where = f"only grace notes are written, the first in bar {graced.bar}, and you play them as they are"
            line(f"{opened.tune.title}: {where}; `~` before a note in the ABC asks for a roll.")
        return
    rows: dict[tuple[object, ...], tuple[object, ...]] = {}
    reasons: dict[str, None] = {}
    for index, played in found:
        one = opened.fingering.notes[index]
        way = "push" if one.press.bellows is Bellows.PUSH else "PULL"
        touches = "; ".join(
            f"{note_name(t.pitch)}: {t.press.row} row, button {t.press.button}, finger {t.finger}"
            for t in played.touches
        )
        place, name = place_of(one.note.part, 1, one.note.bar), note_name(one.note.pitch)
        row = (place, name, way, played.asked, played.played, touches)
        rows.setdefault((one.note.written, *row), row)  # a part that comes back is said once
        if played.reason:
            reasons[f"{one.note.part} part, bar {one.note.bar}, note {name}, {way.lower()}: {played.reason}."] = None
    columns = ("place", "note", "", "written", "played", "its notes")
    as_table(f"{opened.tune.title} · {opened.box.name}", columns, rows.values())
    for reason in reasons:
        line(reason)
