"""`companion buttons`: for every note of a round, which button, push or pull, which finger."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from companion.box.box_values import Bellows, Fingered
from companion.box.fingering import finger_round
from companion.box.hand_costs import PLAIN
from companion.cli.bar_places import beats_of, place_of, played_again, say_again
from companion.cli.misfit import fit_head, note_head, say_misfit
from companion.cli.ready_tune import Opened, exact, open_tune, pins_of, seconds_a_whole_note
from companion.cli.show import as_json, as_table, line, note_name
from companion.errors import UserError
from companion.tables import read_tables

if TYPE_CHECKING:
    from companion.box.explain import Reason

_SCREEN = 8  # reasons, so that they stay on a screen
SCHEMA = "companion.buttons/1"
_DIRECTIONS = {Bellows.PUSH: "push", Bellows.PULL: "PULL"}


def run(given: argparse.Namespace) -> None:
    """Print a fingering."""
    if given.learn:
        from companion.cli.hand_learning import run_learning

        run_learning(given)
        return
    opened = open_tune(given.book, given.tune, given.box, given.voice, given.hand)
    title = opened.tune.title
    if given.transpose is not None:
        opened, semitones = _transposed(opened, given.transpose)
        title = f"{title}, {semitones:+d} semitones"
    if given.json:
        as_json(report(opened) | _said(given, opened))
        return
    if given.beside is not None:
        if not say_misfit(title, opened):
            _show_beside(title, opened, given)
        return
    if say_misfit(title, opened):
        return
    _show(title, opened)
    for refused in opened.fingering.refused:
        line(refused)
    # What comes back with a part has the same reason each time, and is said once.
    for sentence in dict.fromkeys(reason.sentence for reason in _reasons(given, opened)):
        line(sentence)


def _show_beside(title: str, opened: Opened, given: argparse.Namespace) -> None:
    """The fingering beside that of another hand, where the two differ."""
    other = finger_round(opened.round, opened.box, read_tables(given.beside), pins_of(given.book, opened.tune))
    first = given.hand or opened.tutor.hand or PLAIN
    signature = opened.round.signature
    both = list(zip(opened.fingering.notes, other.notes, beats_of(opened.round, opened.target[1]), strict=True))
    seen: set[tuple[object, ...]] = set()
    rows = []
    for one, two, beat in both:
        if (one.press, one.finger) == (two.press, two.finger):
            continue
        key = (one.note.written, _way(one), _way(two))
        if key not in seen:
            seen.add(key)
            place = place_of(one.note.part, one.note.turn, one.note.bar)
            rows.append((place, beat, note_name(one.note.pitch, signature), _way(one), _way(two)))
    if not rows:
        line(f"{title}: the {first} and the {given.beside} hand finger it alike.")
        return
    as_table(f"{title} · {opened.fingering.box.name}", ("place", "beat", "note", first, given.beside), rows)
    unlike = sum((one.press, one.finger) != (two.press, two.finger) for one, two, _ in both)
    line(f"{unlike} of {len(both)} notes are fingered otherwise; a part that comes again is shown once.")
    for name, found in ((first, opened.fingering), (given.beside, other)):
        line(
            f"{name.capitalize()}: the hand moves {_often(found.reaches)}, the bellows turn {_often(found.reversals)}."
        )


def _way(one: Fingered) -> str:
    return f"{_DIRECTIONS[one.press.bellows]} {one.press.row} row {one.press.button}, finger {one.finger}"


def _reasons(given: argparse.Namespace, opened: Opened) -> tuple[Reason, ...]:
    """The reasons for a fingering, where they are asked for."""
    if not given.explain:
        return ()
    from companion.box.explain import explain, wondered

    pins = pins_of(given.book, opened.tune) if given.transpose is None else ()
    found = explain(opened.round, opened.fingering, opened.tables, pins)
    return found if given.all or given.json else wondered(found, _SCREEN)


def _said(given: argparse.Namespace, opened: Opened) -> dict[str, Any]:
    """What the JSON says beside the fingering: pins that cannot be, and the reasons where they are asked for."""
    said: dict[str, Any] = {}
    if opened.fingering.refused:
        said["refused"] = list(opened.fingering.refused)
    if given.explain:
        said["explained"] = [
            {
                "note": reason.index,
                "kind": reason.kind,
                "sentence": reason.sentence,
                "next_best": None if reason.next_best is None else round(reason.next_best, 6),
                "other": reason.other,
            }
            for reason in _reasons(given, opened)
        ]
    return said


def _transposed(opened: Opened, wanted: str) -> tuple[Opened, int]:
    """The tune in another key: so many semitones up, or the key that it lies best in on this box."""
    from companion.box.choose import keys_by_ease, transposed

    if wanted == "best":
        keys = keys_by_ease(
            opened.round, opened.box, opened.tables, whole_note=seconds_a_whole_note(opened.tune, opened.tables.dances)
        )
        if not keys:
            raise UserError(f"“{opened.tune.title}” fits your box ({opened.box.id}) in no key; try another box")
        best = keys[0]
        moved = transposed(opened.round, best.semitones) if best.semitones else opened.round
        return replace(opened, round=moved, fingering=best.fingering), best.semitones
    if re.fullmatch(r"[+-]?\d{1,2}", wanted) is None or abs(int(wanted)) > 24:
        raise UserError(f"“{wanted[:40]}” is not a number of semitones from −24 to 24, nor best")
    moved = transposed(opened.round, int(wanted))
    return replace(opened, round=moved, fingering=finger_round(moved, opened.box, opened.tables)), int(wanted)


def report(opened: Opened) -> dict[str, Any]:
    """The JSON of a fingering."""
    fingering = opened.fingering
    return {
        "schema": SCHEMA,
        **fit_head(opened),
        "cost": round(fingering.cost, 6),
        "reaches": fingering.reaches,
        "reversals": fingering.reversals,
        "back": {"reach": fingering.back_reach, "reversal": fingering.back_turn},
        "notes": [_note(one) for one in fingering.notes],
    }


def _note(one: Fingered) -> dict[str, Any]:
    return {
        **note_head(one),
        "length": exact(one.note.length),
        "row": one.press.row,
        "button": one.press.button,
        "finger": one.finger,
        "place": one.place,
        "reach": one.reach,
    }


def _show(title: str, opened: Opened) -> None:
    fingering, signature = opened.fingering, opened.round.signature
    again = played_again(_done(fingering.notes))
    rows = [
        (
            place_of(one.note.part, one.note.turn, one.note.bar),
            beat,
            note_name(one.note.pitch, signature),
            _DIRECTIONS[one.press.bellows],
            f"{one.press.row} row",
            one.press.button,
            one.finger,
            f"{one.reach:+d}" if one.reach else "",
        )
        for one, beat in zip(fingering.notes, beats_of(opened.round, opened.target[1]), strict=True)
        if one.note.bar not in again.get((one.note.part, one.note.turn), ())
    ]
    columns = ("place", "beat", "note", "", "row", "button", "finger", "hand moves")
    as_table(f"{title} · {fingering.box.name}", columns, rows, right=(5, 6, 7))
    for sentence in say_again(again, ((one.note.part, one.note.turn, one.note.bar) for one in fingering.notes)):
        line(sentence)
    back = f"the hand moves {fingering.back_reach:+d}" if fingering.back_reach else "the hand stays"
    line(
        f"Once through: the hand moves {_often(fingering.reaches)}, the bellows turn {_often(fingering.reversals)}. "
        f"Back to the start: {back}."
    )


def _often(number: int) -> str:
    return "once" if number == 1 else f"{number} times"


def _done(notes: Sequence[Fingered]) -> Iterator[tuple[str, int, int, object]]:
    """Of each note its part, the time through it, its bar, and what the hand does."""
    before: tuple[str, int, int] | None = None
    for one in notes:
        where = (one.note.part, one.note.turn, one.note.bar)
        # How the hand comes to the first note of the bar depends on what is before it.
        yield *where, (one.note.written, one.press, one.finger, one.reach if where == before else one.place)
        before = where
