"""What is said of a tune that a box does not have all the notes for: what is missing, and what would fit."""

from __future__ import annotations

from typing import Any

from companion.box.choose import fitting, what_would_fit
from companion.cli.opening import Opened
from companion.cli.show import line, note_name


def misfit(opened: Opened) -> dict[str, Any]:
    """What a report says of a tune that does not fit; nothing for one that does."""
    if opened.fingering.playable:
        return {}
    moves = fitting(opened.round, opened.box)
    octaves = [by for by in moves if by % 12 == 0]
    return {"would_fit": {"sentence": what_would_fit(opened.round, opened.box), "semitones": moves, "octaves": octaves}}


def say_misfit(title: str, opened: Opened) -> bool:
    """Print what is missing and what would fit, where a tune does not fit; gives whether it does not."""
    if opened.fingering.playable:
        return False
    missing = ", ".join(note_name(pitch, opened.round.signature) for pitch in opened.fingering.missing)
    fits = what_would_fit(opened.round, opened.box).partition("; ")[2] or "no key within an octave would fit"
    line(f"{title}: the box {opened.box.name} has no {missing}; {fits}.")
    moves = fitting(opened.round, opened.box)
    if moves:
        line(f"See it so with `companion buttons … --transpose {moves[0]:+d}`, or try another box.")
    else:
        line("Try another box: `companion boxes` lists them.")
    return True
