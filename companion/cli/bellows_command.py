"""`companion bellows`: how far the bellows are open after every note, where air runs out, and what saves it."""

from __future__ import annotations

import argparse
from typing import Any

from companion.box.bellows import AirUse, BellowsPlan
from companion.box.box_values import Bellows, Fingered
from companion.box.fingering import bellows_of
from companion.box.spare_air import AirChoice, spare_air
from companion.cli.bar_places import beats_of, place_of
from companion.cli.misfit import fit_head, note_head, say_misfit
from companion.cli.ready_tune import Opened, open_tune, pins_of
from companion.cli.show import as_json, as_table, line, note_name

SCHEMA = "companion.bellows/1"
_WIDTH = 20  # characters for the bellows, from shut to full
_CHEAP = 1.0  # a saving that costs more than a place of the hand is only named in the JSON
_SAVINGS = 4  # sentences on them


def run(given: argparse.Namespace) -> None:
    """Print the plan of the bellows."""
    opened = open_tune(given.book, given.tune, given.box, given.voice)
    plan = bellows_of(opened.round, opened.fingering, opened.tables, given.loudness)
    savings = spare_air(opened.round, opened.fingering, opened.tables, pins_of(given.book, opened.tune))
    if given.json:
        as_json(report(opened, plan, savings, given.loudness))
    elif not say_misfit(opened.tune.title, opened):
        _show(opened, plan, savings)


def report(opened: Opened, plan: BellowsPlan, savings: tuple[AirChoice, ...], loudness: str) -> dict[str, Any]:
    """The JSON of a plan."""
    notes = opened.fingering.notes
    return {
        "schema": SCHEMA,
        **fit_head(opened),
        "loudness": loudness,
        "start": round(plan.start, 6),
        "drift": round(plan.drift, 6),
        "notes": [_note(note, opening) for note, opening in zip(notes, plan.openings, strict=True)],
        "air_button": [
            {"note": use.index, "amount": round(use.amount, 6), "in_rest": use.in_rest, "reason": use.reason}
            for use in plan.air
        ],
        "runs_out": list(plan.runs_out),
        "savings": [
            {"note": one.index, "instead": one.other, "cost": round(one.cost, 6), "seconds": round(one.seconds, 6)}
            for one in savings
        ],
    }


def _note(one: Fingered, opening: float) -> dict[str, Any]:
    return {
        **note_head(one),
        "opening": round(opening, 6),
    }


def _show(opened: Opened, plan: BellowsPlan, savings: tuple[AirChoice, ...]) -> None:
    notes = opened.fingering.notes
    uses = {use.index: use for use in plan.air}
    rows = []
    for index, (one, opening) in enumerate(zip(notes, plan.openings, strict=True)):
        said = [_air(uses[index])] if index in uses else []
        said += ["you run out of air here"] if index in plan.runs_out else []
        push = one.press.bellows is Bellows.PUSH
        rows.append(
            (
                place_of(one.note.part, one.note.turn, one.note.bar),
                note_name(one.note.pitch, opened.round.signature),
                "push" if push else "PULL",
                f"{opening:.0%}",
                _line(opening),
                "; ".join(said),
            )
        )
    columns = ("place", "note", "", "open", "shut … full", "air")
    as_table(f"{opened.tune.title} · {opened.box.name}", columns, rows, right=(3,))
    line(_summary(opened, plan))
    for sentence in _savings(opened, plan, savings):
        line(sentence)


def _line(opening: float) -> str:
    """The bellows as a line: the further out, the further open."""
    out = round(opening * _WIDTH)
    return "─" * out + "●"


def _air(use: AirUse) -> str:
    what = "take in" if use.amount > 0 else "let out"
    return f"air button {use.reason}: {what} {abs(use.amount):.0%}"


def _summary(opened: Opened, plan: BellowsPlan) -> str:
    """What to know of once through the tune."""
    times = "once" if len(plan.air) == 1 else f"{len(plan.air)} times"
    uses = f"You need the air button {times}." if plan.air else "You don't need the air button."
    drift = f"Once through {'opens' if plan.drift >= 0 else 'shuts'} them by {abs(plan.drift):.0%}."
    begin = f"Start with the bellows {plan.start:.0%} open. {drift} {uses}"
    if not plan.runs_out:
        return f"{begin} The air lasts."
    first = opened.fingering.notes[plan.runs_out[0]].note
    where = f"{first.part} part, bar {first.bar}, note {note_name(first.pitch, opened.round.signature)}"
    times = "once" if len(plan.runs_out) == 1 else f"{len(plan.runs_out)} times"
    return f"{begin} Even so you run out of air {times}, first at {where}."


def _savings(opened: Opened, plan: BellowsPlan, savings: tuple[AirChoice, ...]) -> list[str]:
    """The written notes that could go the other way, against what a round opens or shuts the bellows: what they save.

    Told where air is short: where it runs out, or the air button is needed at all. One sentence for what saves as much
    at as little trouble.
    """
    if not plan.air and not plan.runs_out:
        return []
    notes, beats = opened.round.notes, beats_of(opened.round, opened.target[1])
    told: set[int] = set()
    places: dict[tuple[str, str, float], list[int]] = {}
    for one in sorted(savings, key=lambda s: (s.cost, s.index)):
        note = opened.fingering.notes[one.index].note
        if one.seconds * plan.drift <= 0 or one.cost > _CHEAP or note.written in told:
            continue
        told.add(note.written)
        name = note_name(note.pitch, opened.round.signature)
        places.setdefault((name, str(one.other), round(abs(one.seconds), 1)), []).append(one.index)
    way = "less" if plan.drift > 0 else "more"
    said = []
    for (name, other, seconds), indices in list(places.items())[:_SAVINGS]:
        where = "; ".join(
            f"{notes[index].part} part, bar {notes[index].bar}, beat {beats[index]}" for index in sorted(indices)
        )
        each = " each time" if len(indices) > 1 else ""
        said.append(
            f"To save air, play the note {name} on {other} instead, at {where}: "
            f"the bellows end {seconds:.1f} s of sound {way} open{each}."
        )
    return said
