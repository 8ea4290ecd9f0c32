"""`companion bellows`: how far the bellows are open after every note, where air runs out, and what saves it."""

from __future__ import annotations

import argparse
from typing import Any

from companion.box.bellows import AirUse, BellowsPlan
from companion.box.fingering import bellows_of
from companion.box.model import Bellows, Fingered
from companion.box.spare_air import AirChoice, spare_air
from companion.cli.misfit import fit_head, note_head, say_misfit
from companion.cli.opening import Opened, open_tune, pins_of
from companion.cli.show import as_json, as_table, line, note_name

SCHEMA = "companion.bellows/1"
_WIDTH = 20  # characters for the bellows, from shut to full
_CHEAP = 1.0  # a saving that costs more than a place of the hand is only named in the JSON


def run(given: argparse.Namespace) -> None:
    """Print the plan of the bellows."""
    opened = open_tune(given.book, given.tune, given.box)
    plan = bellows_of(opened.round, opened.fingering, dynamic=given.loudness)
    savings = spare_air(opened.round, opened.fingering, pins=pins_of(given.book, opened.tune))
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
        said += ["the bellows come to their end here"] if index in plan.runs_out else []
        push = one.press.bellows is Bellows.PUSH
        rows.append(
            (
                f"{one.note.part}{one.note.turn} {one.note.bar:>3}",
                note_name(one.note.pitch),
                "push" if push else "PULL",
                f"{opening:.0%}",
                _line(opening),
                "; ".join(said),
            )
        )
    columns = ("part, bar", "note", "", "open", "shut … full", "air")
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
    """A sentence on the whole round."""
    uses = f"the air button is used {len(plan.air)} times" if plan.air else "the air button is not needed"
    drift = f"by its notes alone a round {'opens' if plan.drift >= 0 else 'shuts'} the bellows by {abs(plan.drift):.0%}"
    if not plan.runs_out:
        return f"Begin {plan.start:.0%} open; {drift}; {uses}; the air lasts."
    first = opened.fingering.notes[plan.runs_out[0]].note
    where = f"{first.part} part, bar {first.bar}, {note_name(first.pitch)}"
    times = "once" if len(plan.runs_out) == 1 else f"{len(plan.runs_out)} times"
    return f"Begin {plan.start:.0%} open; {drift}; {uses}; all the same air runs out {times}, first at {where}."


def _savings(opened: Opened, plan: BellowsPlan, savings: tuple[AirChoice, ...]) -> list[str]:
    """A sentence for each written note that could go the other way, against what a round opens or shuts the bellows."""
    said: dict[int, str] = {}
    for one in sorted(savings, key=lambda s: (s.cost, s.index)):
        note = opened.fingering.notes[one.index].note
        if one.seconds * plan.drift <= 0 or one.cost > _CHEAP or note.written in said:
            continue
        leaves = "less" if one.seconds > 0 else "more"
        price = f"{one.cost:.2f} more" if one.cost >= 0 else f"{-one.cost:.2f} less"
        said[note.written] = (
            f"Saves air: {note.part} part, bar {note.bar}, {note_name(note.pitch)}: {one.other} instead leaves "
            f"the bellows {leaves} open, by {abs(one.seconds):.1f} s of sound, and costs {price}."
        )
    return [said[written] for written in sorted(said)]
