"""`companion buttons`: for every note of a round, which button, push or pull, which finger."""

from __future__ import annotations

import argparse
from typing import Any

from companion.box.model import Fingered, Fingering
from companion.cli.opening import exact, open_tune
from companion.cli.show import as_json, as_table, line, note_name

SCHEMA = "companion.buttons/1"


def run(given: argparse.Namespace) -> None:
    """Print a fingering."""
    opened = open_tune(given.book, given.tune, given.box)
    if given.json:
        as_json(report(opened.fingering))
    else:
        _show(opened.tune.title, opened.fingering)


def report(fingering: Fingering) -> dict[str, Any]:
    """The JSON of a fingering."""
    return {
        "schema": SCHEMA,
        "box": fingering.box.id,
        "playable": fingering.playable,
        "missing": list(fingering.missing),
        "cost": round(fingering.cost, 6),
        "reaches": fingering.reaches,
        "reversals": fingering.reversals,
        "back": {"reach": fingering.back_reach, "reversal": fingering.back_turn},
        "notes": [_note(one) for one in fingering.notes],
    }


def _note(one: Fingered) -> dict[str, Any]:
    return {
        "written": one.note.written,
        "part": one.note.part,
        "pass": one.note.turn,
        "bar": one.note.bar,
        "at": exact(one.note.at),
        "length": exact(one.note.length),
        "pitch": one.note.pitch,
        "row": one.press.row,
        "button": one.press.button,
        "bellows": one.press.bellows.value,
        "finger": one.finger,
        "place": one.place,
        "reach": one.reach,
    }


def _show(title: str, fingering: Fingering) -> None:
    if not fingering.playable:
        missing = ", ".join(note_name(pitch) for pitch in fingering.missing)
        line(f"{title}: the box {fingering.box.name} has no {missing}; try another box or another key.")
        return
    rows = [
        (
            f"{one.note.part}{one.note.turn}",
            one.note.bar,
            exact(one.note.at),
            note_name(one.note.pitch),
            one.press.bellows.value.upper() if one.press.bellows.value == "pull" else "push",
            f"{one.press.row} {one.press.button}",
            one.finger,
            f"{one.reach:+d}" if one.reach else "",
        )
        for one in fingering.notes
    ]
    columns = ("part", "bar", "at", "note", "bellows", "button", "finger", "hand moves")
    as_table(f"{title} · {fingering.box.name}", columns, rows, right=(1, 2, 6, 7))
    back = f"{fingering.back_reach:+d}" if fingering.back_reach else "none"
    line(
        f"One round: the hand moves {fingering.reaches} times, the bellows turn {fingering.reversals} times; "
        f"hand's move back to the beginning: {back}."
    )
