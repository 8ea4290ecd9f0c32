"""The fingering of a round: what must hold of every one, and the check values of the trade."""

from __future__ import annotations

from itertools import pairwise

import pytest

from companion.box.box_values import Bellows
from companion.box.fingering import Pin, finger_round
from companion.box.layout import load_box
from companion.box.pitch_names import pitch_of
from tests.box.box_tunes import places_of, tune
from tests.shipped_tables import TABLES

BC = load_box("bc-21")


def test_the_scale_of_d_in_one_path() -> None:
    """Derived from the chart of the 21-button box: D4 C3 pull, E4 C4 push, F#4 B5 push, G4 C5 push, A4 C5 pull, …"""
    found = finger_round(tune("D4 E4 F#4 G4 A4 B4 C#5 D5"), BC, tables=TABLES)
    presses = [(n.press.row, n.press.button, n.press.bellows.value) for n in found.notes]
    assert presses == [
        ("C", 3, "pull"),
        ("C", 4, "push"),
        ("B", 5, "push"),
        ("C", 5, "push"),
        ("C", 5, "pull"),
        ("C", 6, "pull"),
        ("B", 7, "pull"),
        ("C", 7, "pull"),
    ]
    assert found.reversals == 2
    assert not found.back_turn
    assert [n.finger for n in found.notes] == [1, 2, 3, 4, 1, 2, 3, 4]


def test_what_holds_of_every_note() -> None:
    found = finger_round(tune("D4 F#4 A4 D5 | E5*2 B4 G4 | F#5 E5 D5 C#5 | B4/2 A4/2 G4 F#4 E4"), BC, tables=TABLES)
    places = []
    for note in found.notes:
        assert BC.pitch(note.press) == note.note.pitch
        assert 1 <= note.finger <= 4
        assert note.place in places_of(note, BC)
        assert 0 <= note.opening <= 1
        places.append(note.place)
    assert found.notes[0].reach == 0
    assert [n.reach for n in found.notes[1:]] == [b - a for a, b in pairwise(places)]
    assert found.reaches == sum(n.reach != 0 for n in found.notes)
    assert found.back_reach == places[0] - places[-1]
    turns = [a.press.bellows != b.press.bellows for a, b in pairwise(found.notes)]
    assert found.reversals == sum(turns)
    assert found.back_turn == (found.notes[0].press.bellows != found.notes[-1].press.bellows)


def test_a_box_without_the_reeds_says_which() -> None:
    found = finger_round(tune("D6 A4 F3 D6 D4"), BC, tables=TABLES)
    assert found.missing == (pitch_of("F3"), pitch_of("D6"))
    assert not found.playable
    assert found.notes == ()
    assert found.cost == 0.0


def test_a_round_without_notes_and_one_of_a_single_note() -> None:
    assert finger_round(tune("z*8"), BC, tables=TABLES).notes == ()
    single = finger_round(tune("A4*4"), BC, tables=TABLES)
    assert [(n.finger, n.press.bellows) for n in single.notes] == [(1, Bellows.PULL)]
    assert (single.reaches, single.reversals, single.back_reach, single.back_turn) == (0, 0, 0, False)


def test_pins_are_kept_and_worked_round() -> None:
    found = finger_round(tune("D4 E4 F#4!2 G4 A4"), BC, pins=[Pin(1, row="B"), Pin(4, finger=3)], tables=TABLES)
    assert [n.press.row for n in found.notes][1] == "B"
    assert found.notes[2].finger == 2
    assert found.notes[4].finger == 3
    assert found.refused == ()
    assert found.cost > finger_round(tune("D4 E4 F#4 G4 A4"), BC, tables=TABLES).cost


def test_a_pin_above_the_finger_in_the_tune() -> None:
    assert finger_round(tune("A4!2 D4"), BC, pins=[Pin(0, finger=3)], tables=TABLES).notes[0].finger == 3


def test_a_pin_that_cannot_be_is_said() -> None:
    found = finger_round(tune("D4 E4!5 F#4"), BC, pins=[Pin(0, bellows=Bellows.PUSH)], tables=TABLES)
    assert len(found.notes) == 3
    assert len(found.refused) == 2
    assert "D4" in found.refused[0]
    assert "pinned (push)" in found.refused[0]
    assert "C, button 3, pull" in found.refused[0]
    assert "finger 5" in found.refused[1]


@pytest.mark.parametrize("name", ["bc-21", "bc-23"])
def test_transposing_tune_and_box_together_changes_nothing(name: str) -> None:
    words = "D4 E4 F#4 G4 | A4*2 B4 C#5 | D5 B4 A4 F#4 | E4*2 D4*2"
    here = finger_round(tune(words), load_box(name), tables=TABLES)
    there = finger_round(
        tune("E4 F#4 G#4 A4 | B4*2 C#5 D#5 | E5 C#5 B4 G#4 | F#4*2 E4*2"),
        load_box(name.replace("bc", "csd")),
        tables=TABLES,
    )
    assert there.cost == here.cost
    assert [(n.press.button, n.finger) for n in there.notes] == [(n.press.button, n.finger) for n in here.notes]
