"""Tunes of music21's oneills1850 folder on every box: each is fingered, or refused with what is missing.

A sample of them here; all of them where the environment has BOX_COMPANION_WHOLE_CORPUS=1 (and in the bench).
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from companion.box.choices import StateTable, choices, table_of
from companion.box.choose import what_would_fit
from companion.box.fingering import cost_parts, finger_round
from companion.box.layout import load_box
from companion.box.search import cheapest_ring
from companion.errors import UserError
from companion.notation import read_book
from companion.tune.tune_values import OnceThrough
from companion.tune.unfold import unfold
from tests.box.box_tunes import places_of
from tests.shipped_tables import TABLES

EVERY = 1 if os.environ.get("BOX_COMPANION_WHOLE_CORPUS") == "1" else 12  # every so manieth tune


@pytest.fixture(scope="module")
def rounds() -> list[OnceThrough]:
    music21 = pytest.importorskip("music21")
    found = []
    for file in sorted((Path(music21.__file__).parent / "corpus" / "oneills1850").glob("*.abc")):
        for tune in read_book(file).tunes:
            try:
                found.append(unfold(tune))
            except UserError:
                continue
    assert len(found) > 1000
    return [round_ for round_ in found if round_.notes][::EVERY]


@pytest.mark.parametrize("name", ["bc-21", "csd-23", "dg-21", "d-10"])
def test_each_tune_is_fingered_or_refused_with_its_reason(rounds: list[OnceThrough], name: str) -> None:
    box = load_box(name)
    have = {pitch for row in box.rows for side in (row.push, row.pull) for pitch in side}
    solved = 0
    for round_ in rounds:
        found = finger_round(round_, box, tables=TABLES)
        lacking = sorted({note.pitch for note in round_.notes} - have)
        assert list(found.missing) == lacking
        if lacking:
            assert what_would_fit(round_, box).startswith("does not fit: no ")
            continue
        solved += 1
        assert len(found.notes) == len(round_.notes)
        for note in found.notes:
            assert box.pitch(note.press) == note.note.pitch
            assert note.place in places_of(note, box)
    assert solved > 0


@pytest.mark.parametrize("name", ["bc-21", "csd-21", "dg-21"])
def test_no_finger_hops_or_crosses_in_quick_notes_that_need_not(rounds: list[OnceThrough], name: str) -> None:
    """Common practice. A run down or up over more buttons than there are fingers cannot do without.

    The fewest that any fingering of a tune has are found by the same exact search, with nothing else priced.
    """
    box, hand = load_box(name), TABLES.hand
    table = table_of(box, hand)
    found = fewest = notes = 0
    for round_ in rounds[::2]:
        fingering = finger_round(round_, box, tables=TABLES)
        if not fingering.playable:
            continue
        gaps = choices(round_, table, ornaments=TABLES.ornaments).gaps
        quick = [gap.seconds <= hand.quick + 1e-9 for gap in gaps]
        parts = cost_parts(round_, fingering, tables=TABLES)
        found += sum(now and ("hop" in part or "cross" in part) for now, part in zip(quick, parts, strict=True))
        fewest += cheapest_ring(_hops_alone(round_, table, quick))[0]
        notes += len(round_.notes)
    assert fewest <= found <= 1.02 * fewest + 1
    assert found <= 0.01 * notes


def _hops_alone(round_: OnceThrough, table: StateTable, quick: list[bool]) -> list[list[list[int]]]:
    """The ring of a round in which a hop or a crossing in quick notes costs 1, and nothing else costs anything."""
    pitches = [note.pitch for note in round_.notes]
    after = [*pitches[1:], pitches[0]]
    return [
        [[int(now and (step.hop or step.cross)) for step in into] for into in table.steps(before, then)]
        for before, then, now in zip(pitches, after, [*quick[1:], quick[0]], strict=True)
    ]
