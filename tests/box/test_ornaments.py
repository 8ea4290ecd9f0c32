"""Ornaments that a hand can play on the box, in one direction of the bellows."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from companion.box.box_values import Bellows, Fingered
from companion.box.fingering import Pin, finger_round
from companion.box.layout import load_box
from companion.box.ornaments import neighbours, ornament_of, read_ornaments, scale_of
from companion.box.pitch_names import name_of, pitch_of
from companion.errors import UserError
from companion.tune.tune_values import BarSpan, OnceThrough, Played
from tests.box.box_tunes import tune
from tests.shipped_tables import TABLES

BC = load_box("bc-21")
D_MAJOR = scale_of([("F", 1), ("C", 1)])
G_MAJOR = scale_of([("F", 1)])

# The table of one-direction rolls on B/C in D and G (derived from the key chart of the 21-button box): note, direction,
# key, the cut and the tap that the player uses ("" where there is none within reach).
ROLLS = [
    ("D5", "pull", D_MAJOR, "E5", "C#5"),
    ("E5", "push", D_MAJOR, "F#5", "D#5"),
    ("E5", "pull", D_MAJOR, "F5", "D5"),
    ("F#4", "push", D_MAJOR, "G4", "E4"),
    ("F#5", "push", G_MAJOR, "G5", "E5"),
    ("G4", "push", D_MAJOR, "B4", "F#4"),
    ("A4", "pull", D_MAJOR, "B4", "G#4"),
    ("B4", "pull", D_MAJOR, "C#5", "A4"),
    ("B4", "push", G_MAJOR, "C5", ""),
    ("C5", "push", G_MAJOR, "E5", "B4"),
    ("C#5", "pull", D_MAJOR, "D5", "B4"),
]


def fingered(name: str, bellows: str, finger: int, mark: str, length: Fraction = Fraction(3, 8)) -> Fingered:
    pitch = pitch_of(name)
    played = Played(0, "A", 1, 1, Fraction(0), length, pitch, (mark,))
    for row in BC.rows:
        side = row.push if bellows == "push" else row.pull
        if pitch in side:
            round_ = OnceThrough((played,), (BarSpan(1, "A", 1, Fraction(0), length),), length, Fraction(0), "A")
            pins = [Pin(0, row=row.name, bellows=Bellows(bellows), finger=finger)]
            found = finger_round(round_, BC, pins=pins, tables=TABLES)
            assert found.refused == ()
            return found.notes[0]
    raise AssertionError(name)


@pytest.mark.parametrize(("name", "bellows", "scale", "cut", "tap"), ROLLS)
def test_the_table_of_rolls_in_one_direction(
    name: str, bellows: str, scale: frozenset[int], cut: str, tap: str
) -> None:
    note = fingered(name, bellows, 2, "roll")
    above = neighbours(note.note.pitch, note.press, BC, scale, "above", table=TABLES.ornaments)
    below = neighbours(note.note.pitch, note.press, BC, scale, "below", table=TABLES.ornaments)
    assert name_of(above[0]) == cut
    assert [name_of(pitch) for pitch in below[:1]] == ([tap] if tap else [])


@pytest.mark.parametrize(("name", "bellows", "scale", "cut", "tap"), [roll for roll in ROLLS if roll[4]])
def test_a_long_roll_under_the_middle_finger(
    name: str, bellows: str, scale: frozenset[int], cut: str, tap: str
) -> None:
    note = fingered(name, bellows, 2, "roll")
    (played,) = ornament_of(note, BC, scale, table=TABLES.ornaments)
    assert (played.asked, played.played) == ("long roll", "long roll")
    assert [t.role for t in played.touches] == ["N", "U", "N", "L", "N"]
    assert [name_of(t.pitch) for t in played.touches] == [name, cut, name, tap, name]
    assert played.touches[3].finger == 1
    assert played.touches[1].finger in (3, 4)
    for touch in played.touches:
        assert touch.press.bellows.value == bellows
        assert BC.pitch(touch.press) == touch.pitch
    exact = {pitch_of(cut) % 12, pitch_of(tap) % 12} <= scale and pitch_of(cut) - pitch_of(name) <= 2
    assert (played.reason == "") == exact


def test_a_crotchet_has_a_short_roll() -> None:
    (played,) = ornament_of(fingered("F#4", "push", 2, "roll", Fraction(1, 4)), BC, D_MAJOR, table=TABLES.ornaments)
    assert [name_of(t.pitch) for t in played.touches] == ["G4", "F#4", "E4", "F#4"]


def test_under_the_index_finger_there_is_no_tap() -> None:
    (played,) = ornament_of(fingered("F#4", "push", 1, "roll"), BC, D_MAJOR, table=TABLES.ornaments)
    assert (played.asked, played.played) == ("long roll", "two cuts")
    assert "finger 1 leaves no finger free below" in played.reason
    assert {t.role for t in played.touches} == {"N", "U"}


def test_where_no_note_lies_below() -> None:
    """B pushed on the outer row: a cut only (the same table)."""
    (played,) = ornament_of(fingered("B4", "push", 2, "roll"), BC, G_MAJOR, table=TABLES.ornaments)
    assert played.played == "two cuts"
    assert "no note close enough below B4 is on the push" in played.reason


def test_under_the_little_finger_there_is_no_cut_but_a_triplet() -> None:
    (played,) = ornament_of(fingered("A4", "pull", 4, "cut"), BC, D_MAJOR, table=TABLES.ornaments)
    assert played.played == "triplet"
    assert [t.finger for t in played.touches] == [4, 3, 4]
    assert {t.pitch for t in played.touches} == {pitch_of("A4")}


def test_a_cran_has_two_different_cuts_and_no_tap() -> None:
    (played,) = ornament_of(fingered("D4", "pull", 1, "cran"), BC, D_MAJOR, table=TABLES.ornaments)
    assert played.played == "cran"
    cuts = [t.pitch for t in played.touches if t.role != "N"]
    assert len(cuts) == len(set(cuts)) == 2
    assert all(cut > pitch_of("D4") for cut in cuts)


def test_marks_that_are_no_ornaments_are_passed_over() -> None:
    assert ornament_of(fingered("D4", "pull", 1, "fermata"), BC, D_MAJOR, table=TABLES.ornaments) == ()


def test_every_ornament_on_every_note_is_in_one_direction_and_in_hand() -> None:
    """On all boxes' notes, fingers and marks: what is played sounds as it says, and fingers keep their order."""
    table = TABLES.ornaments
    for mark in sorted({name for ornament in table.ornaments for name in ornament.names}):
        for finger in (1, 2, 3, 4):
            for name in ("G3", "D4", "E4", "F#4", "G4", "A4", "B4", "C5", "C#5", "D5", "E5", "F#5", "G5", "A5", "B5"):
                found = finger_round(tune(f"{name}*3"), BC, pins=[Pin(0, finger=finger)], tables=TABLES).notes[0]
                marked = Played(0, "A", 1, 1, Fraction(0), Fraction(3, 8), found.note.pitch, (mark,))
                note = Fingered(marked, found.press, finger, found.place, 0, 0.5)
                (played,) = ornament_of(note, BC, D_MAJOR, table=TABLES.ornaments)
                assert played.played == played.asked or played.reason
                for touch in played.touches:
                    assert BC.pitch(touch.press) == touch.pitch
                    assert touch.press.bellows is note.press.bellows
                    if touch.role in "UV":
                        assert touch.finger > finger
                    if touch.role == "L":
                        assert touch.finger < finger


REACH = "[reach]\nabove=4\nbelow=3\nstretch=1\n"


def test_a_broken_table_is_told(tmp_path: Path) -> None:
    for number, (text, words) in enumerate(
        [
            ('[cut]\nnotes = "U N"\n', "missing"),
            ('[reach]\nabove=5\nbelow=3\nstretch=1\n[cut]\nnotes="X"\nnames=[]\nmeans=""\n', "made of N, U, V and L"),
            (
                '[reach]\nabove=5\nbelow=3\nstretch=1\n[cut]\nnotes="U N"\nnames=[]\nmeans=""\nelse="gone"\n',
                "leads nowhere",
            ),
            ("[cut", "not valid TOML"),
        ]
    ):
        file = tmp_path / f"ornaments{number}.toml"
        file.write_text(text)
        with pytest.raises(UserError, match=words):
            read_ornaments(file)
