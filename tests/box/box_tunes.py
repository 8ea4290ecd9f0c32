"""Short tunes written by hand for the tests of the box: `tune("D4 E4 F#4/2 | G4*2")`.

Each word is a note name with its length in quavers (`*2` a crotchet, `/2` a semiquaver); `z` is a rest; `|` a bar line;
`~` before a name is a roll; `!2` after it asks for a finger; `||` starts a new part.
"""

from __future__ import annotations

import re
from fractions import Fraction

from companion.box.box_values import Box, Fingered
from companion.box.pitch_names import pitch_of
from companion.tune.tune_values import BarSpan, OnceThrough, Played

_WORD = re.compile(r"(~?)(z|[A-G][#b]?\d)(?:\*(\d+))?(?:/(\d+))?(?:!(\d))?")


def tune(text: str, quaver: Fraction = Fraction(1, 8)) -> OnceThrough:
    """The round that the words describe; every bar is numbered on from 1, parts are A, B, … ."""
    notes: list[Played] = []
    bars: list[BarSpan] = []
    at = start = Fraction(0)
    bar, part = 1, "A"
    for word in [*text.split(), "|"]:
        if word in ("|", "||"):
            if at > start:
                bars.append(BarSpan(bar, part, 1, start, at - start))
                bar, start = bar + 1, at
            if word == "||":
                part = chr(ord(part) + 1)
            continue
        match = _WORD.fullmatch(word)
        assert match, word
        roll, name, times, over, finger = match.groups()
        length = quaver * Fraction(int(times or 1), int(over or 1))
        if name != "z":
            notes.append(
                Played(
                    written=len(notes),
                    part=part,
                    turn=1,
                    bar=bar,
                    at=at,
                    length=length,
                    pitch=pitch_of(name),
                    ornaments=("roll",) if roll else (),
                    finger=int(finger) if finger else None,
                )
            )
        at += length
    form = "".join(dict.fromkeys(b.part for b in bars))
    return OnceThrough(tuple(notes), tuple(bars), at, Fraction(0), form)


def places_of(note: Fingered, box: Box) -> set[int]:
    """Where the hand may lie for a note: over the button's own column, or one beside it where the fingers close up.

    For boxes whose rows begin at the same column, the inner one half a button further along.
    """
    own = note.press.button - (note.finger - 1)
    if len(box.rows) == 1:
        return {own}
    if note.press.row == box.rows[-1].name:
        return {own, own + 1} if note.finger > 2 else {own}
    return {own, own - 1} if note.finger <= 2 else {own}
