"""What every report on a tune and a box begins with: whether it can be played, what is missing, what would fit."""

from __future__ import annotations

from typing import Any

from companion.box.box_values import Fingered
from companion.box.choose import fitting, what_would_fit
from companion.cli.ready_tune import Opened, exact
from companion.cli.show import line, note_name


def fit_head(opened: Opened) -> dict[str, Any]:
    """The head of a report's JSON: the box, whether it has every note, and where it does not, what would fit."""
    head = {
        "box": opened.box.id,
        "playable": opened.fingering.playable,
        "missing": list(opened.fingering.missing),
    }
    if opened.fingering.playable:
        return head
    moves = fitting(opened.round, opened.box)
    octaves = [by for by in moves if by % 12 == 0]
    return head | {
        "would_fit": {"sentence": what_would_fit(opened.round, opened.box), "semitones": moves, "octaves": octaves}
    }


def note_head(one: Fingered) -> dict[str, Any]:
    """The head of a note's JSON: which written note it is, where it stands, its pitch and its direction."""
    return {
        "written": one.note.written,
        "part": one.note.part,
        "pass": one.note.turn,
        "bar": one.note.bar,
        "at": exact(one.note.at),
        "pitch": one.note.pitch,
        "bellows": one.press.bellows.value,
    }


def say_misfit(title: str, opened: Opened) -> bool:
    """Print what is missing and what would fit, where a tune does not fit; gives whether it does not."""
    if opened.fingering.playable:
        return False
    missing = ", ".join(note_name(pitch, opened.round.signature) for pitch in opened.fingering.missing)
    fits = what_would_fit(opened.round, opened.box).partition("; ")[2] or "no key within an octave would fit"
    line(f"{title} does not fit: no {missing} on your box ({opened.box.name}); {fits}.")
    moves = fitting(opened.round, opened.box)
    if moves:
        line(f"See it that way with `companion buttons … --transpose {moves[0]:+d}`, or try another box.")
    else:
        line("Try another box: `companion boxes` lists them.")
    return True
