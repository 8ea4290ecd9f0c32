"""Tunes of music21's oneills1850 folder on every box: each is fingered, or refused with what is missing."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.box.choose import what_would_fit
from companion.box.fingering import finger_round
from companion.box.layout import load_box
from companion.errors import UserError
from companion.notation import read_book
from companion.tune.model import Round
from companion.tune.unfold import unfold
from tests.box.box_tunes import places_of

EVERY = 12  # every so manieth tune here; all of them in benchmarks/bench_box.py


@pytest.fixture(scope="module")
def rounds() -> list[Round]:
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
def test_each_tune_is_fingered_or_refused_with_its_reason(rounds: list[Round], name: str) -> None:
    box = load_box(name)
    have = {pitch for row in box.rows for side in (row.push, row.pull) for pitch in side}
    solved = 0
    for round_ in rounds:
        found = finger_round(round_, box)
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
