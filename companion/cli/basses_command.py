"""`companion basses`: which bass and chord button goes with the right hand, in the direction it has at that moment."""

from __future__ import annotations

import argparse
from typing import Any

from companion.box.basses import LeftHand, left_hand
from companion.box.box_values import Bellows
from companion.box.chords import chord_of
from companion.box.ornaments import scale_of
from companion.cli.bar_places import beats_of, in_beats, place_of, played_again, say_again
from companion.cli.misfit import fit_head, say_misfit
from companion.cli.ready_tune import Opened, exact, open_tune
from companion.cli.show import as_json, as_table, line
from companion.tune.tune import Tune

SCHEMA = "companion.basses/1"


def run(given: argparse.Namespace) -> None:
    """Print the left hand."""
    opened = open_tune(given.book, given.tune, given.box, given.voice)
    stretches = left_hand(opened.round, opened.fingering, scale_of(opened.tune.key.signature), _tonic(opened.tune))
    if given.json:
        as_json(report(opened, stretches))
    elif not say_misfit(opened.tune.title, opened):
        _show(opened, stretches)


def _tonic(tune: Tune) -> int:
    """The pitch class of the tune's tonic; of its last note where the key names none."""
    named = chord_of(tune.key.tonic)
    return named.root if named is not None else tune.notes[-1].pitch % 12


def report(opened: Opened, stretches: tuple[LeftHand, ...]) -> dict[str, Any]:
    """The JSON of the left hand."""
    return {
        "schema": SCHEMA,
        **fit_head(opened),
        "guessed": any(one.guessed for one in stretches),
        "stretches": [_stretch(opened, one) for one in stretches],
    }


def _stretch(opened: Opened, one: LeftHand) -> dict[str, Any]:
    note = opened.fingering.notes[one.first].note
    return {
        "first": one.first,
        "last": one.last,
        "part": note.part,
        "pass": note.turn,
        "bar": note.bar,
        "at": exact(one.at),
        "length": exact(one.length),
        "chord": one.chord,
        "bellows": one.bellows.value,
        "bass": one.bass,
        "chord_button": one.button,
        "sounds": one.sounds,
        "reason": one.reason,
    }


def _show(opened: Opened, stretches: tuple[LeftHand, ...]) -> None:
    beat = opened.target[1]
    beats = beats_of(opened.round, beat)
    rows = []
    done = []
    for one in stretches:
        note = opened.fingering.notes[one.first].note
        way = "push" if one.bellows is Bellows.PUSH else "PULL"
        row = (beats[one.first], in_beats(one.length / beat), one.chord, way, one.sounds or "no bass")
        rows.append((place_of(note.part, note.turn, note.bar), *row))
        done.append((note.part, note.turn, note.bar, row))
    again = played_again(done)
    new = [row for row, (part, turn, bar, _) in zip(rows, done, strict=True) if bar not in again.get((part, turn), ())]
    columns = ("place", "beat", "beats", "chord", "", "left hand")
    as_table(f"{opened.tune.title} · {opened.box.name}", columns, new)
    for sentence in say_again(again, (where[:3] for where in done)):
        line(sentence)
    for reason in dict.fromkeys(one.reason for one in stretches if one.reason):
        line(f"{reason[0].upper()}{reason[1:]}.")
    if not opened.box.basses:
        line("This box's layout has no basses. Add [[basses]] to a layout file of your own.")
    elif not stretches:
        line("The left hand has nothing to play here.")
    elif stretches[0].guessed:
        line("The tune names no chords, so these are the likeliest, one a bar.")
