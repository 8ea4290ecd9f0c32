"""`companion buttons`: for every note of a round, which button, push or pull, which finger."""

from __future__ import annotations

import argparse
import re
from dataclasses import replace
from typing import Any

from companion.box.fingering import finger_round
from companion.box.model import Bellows, Fingered, Fingering
from companion.cli.opening import Opened, exact, open_tune, pins_of, seconds_a_whole_note
from companion.cli.show import as_json, as_table, line, note_name
from companion.errors import UserError

SCHEMA = "companion.buttons/1"
_DIRECTIONS = {Bellows.PUSH: "push", Bellows.PULL: "PULL"}


def run(given: argparse.Namespace) -> None:
    """Print a fingering."""
    opened = open_tune(given.book, given.tune, given.box, given.voice)
    title = opened.tune.title
    if given.transpose is not None:
        opened, semitones = _transposed(opened, given.transpose)
        title = f"{title}, {semitones:+d} semitones"
    if given.json:
        as_json(report(opened.fingering))
        return
    _show(title, opened.fingering)
    for refused in opened.fingering.refused:
        line(refused)
    if given.explain:
        from companion.box.explain import explain

        pins = pins_of(given.book, opened.tune) if given.transpose is None else ()
        for reason in explain(opened.round, opened.fingering, pins=pins):
            line(reason.sentence)


def _transposed(opened: Opened, wanted: str) -> tuple[Opened, int]:
    """The tune in another key: so many semitones up, or the key that it lies best in on this box."""
    from companion.box.choose import keys_by_ease, transposed

    if wanted == "best":
        keys = keys_by_ease(opened.round, opened.box, whole_note=seconds_a_whole_note(opened.tune))
        if not keys:
            raise UserError(f"“{opened.tune.title}” fits {opened.box.id} in no key; choose another box")
        best = keys[0]
        moved = transposed(opened.round, best.semitones) if best.semitones else opened.round
        return replace(opened, round=moved, fingering=best.fingering), best.semitones
    if re.fullmatch(r"[+-]?\d{1,2}", wanted) is None or abs(int(wanted)) > 24:
        raise UserError(f"--transpose {wanted} is out of bounds; give -24 to 24 semitones, or best")
    moved = transposed(opened.round, int(wanted))
    return replace(opened, round=moved, fingering=finger_round(moved, opened.box)), int(wanted)


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
            f"{one.note.part}{one.note.turn} {one.note.bar:>3}",
            exact(one.note.at),
            note_name(one.note.pitch),
            f"{_DIRECTIONS[one.press.bellows]} {one.press.row} {one.press.button}",
            one.finger,
            f"{one.reach:+d}" if one.reach else "",
        )
        for one in fingering.notes
    ]
    columns = ("part, bar", "at", "note", "button", "finger", "hand moves")
    as_table(f"{title} · {fingering.box.name}", columns, rows, right=(1, 4, 5))
    back = f"{fingering.back_reach:+d}" if fingering.back_reach else "none"
    line(
        f"One round: the hand moves {fingering.reaches} times, the bellows turn {fingering.reversals} times; "
        f"hand's move back to the beginning: {back}."
    )
