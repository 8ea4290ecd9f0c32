"""The demo tunes are ours: no two bars in a row as in any tune of the collections that music21's package carries.

Outside reference: the ABC files of music21's corpus (O'Neill's 1850, Ryan's Mammoth Collection, Aird's Airs, the Essen
folk song collection and others), read with our own reader. Two bars are the same where their intervals are, and their
rhythm, at whatever pitch and in whatever note values.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest

from companion.box.fingering import finger_round
from companion.box.layout import load_box
from companion.notation import read_book
from companion.notation.abc_reader import read_abc
from companion.places import shipped
from companion.tune.tune import Tune
from companion.tune.tune_values import Note
from companion.tune.unfold import unfold
from tests.shipped_tables import TABLES

BOOK = shipped("demo_tunes", "tanners_quay.abc")
RHYTHMS = {1: "polka", 2: "jig", 3: "reel", 4: "hornpipe", 5: "waltz"}


def corpus_files() -> list[Path]:
    import music21

    return sorted((Path(music21.__file__).parent / "corpus").rglob("*.abc"))


def two_bars(tune: Tune) -> Iterator[tuple[int, list[Note]]]:
    """Every two bars in a row, as written, with the first one's number."""
    bars: dict[int, list[Note]] = {}
    for note in tune.notes:
        bars.setdefault(note.bar, []).append(note)
    for bar, notes in bars.items():
        both = notes + bars.get(bar + 1, [])
        if bar and bar + 1 in bars and len(both) > 2:
            yield bar, both


def intervals(notes: list[Note]) -> tuple[int, ...]:
    return tuple(note.pitch - notes[0].pitch for note in notes)


def shape(notes: list[Note]) -> tuple[object, ...]:
    first = notes[0]
    return tuple(
        (note.pitch - first.pitch, (note.onset - first.onset) / first.length, note.length / first.length)
        for note in notes
    )


def test_no_two_bars_in_a_row_are_those_of_a_known_tune() -> None:
    ours: dict[tuple[object, ...], str] = {}
    likely: set[tuple[int, ...]] = set()
    for tune in read_book(BOOK).tunes:
        for bar, notes in two_bars(tune):
            ours[shape(notes)] = f"{tune.title}, bar {bar}"
            likely.add(intervals(notes))
    assert len(ours) > 40
    files = corpus_files()
    tunes = 0
    known: dict[str, str] = {}
    for file in files:
        for tune in read_abc(file.read_text(encoding="utf-8", errors="replace"), file=file).tunes:
            tunes += 1
            for _, notes in two_bars(tune):
                # Most differ in their intervals already; the rhythm is only worked out for the others.
                if intervals(notes) in likely and (found := shape(notes)) in ours:
                    known[ours[found]] = f"{file.name} {tune.number} {tune.title}"
    assert tunes > 5000
    assert not known


@pytest.mark.parametrize("number", RHYTHMS)
def test_each_demo_tune_is_sound_and_can_be_played_on_the_usual_boxes(number: int) -> None:
    tune = read_book(BOOK).tune(number)
    assert tune.problems == ()
    assert tune.rhythm == RHYTHMS[number]
    assert tune.form == "AABB"
    round_ = unfold(tune)
    assert round_.length == 32 * Fraction(tune.meter.bar or 0)
    for box in ("bc-21", "bc-23"):
        assert finger_round(round_, load_box(box), tables=TABLES).playable
