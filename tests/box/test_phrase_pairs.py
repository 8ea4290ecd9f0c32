"""Pairs of phrases that a tutor can sign by reading: fingered this way, not that way, each with its reason.

Common practice, but for the first two, which are about a slip jig that H. Speek fingers for the C#/D ("C#/D for
Dummies", 2005). In the first, the ring finger on B and the middle one on F# are his. In the second only the reason is:
he has the index on the B and the middle finger on the D, we the next ones; the little finger that he warns of, neither.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from companion.box.fingering import finger_round
from companion.box.layout import load_box
from companion.box.pins import Pin
from companion.tables import load_hand
from tests.box.box_tunes import tune
from tests.shipped_tables import TABLES

STAYS = "each finger has its own button, and the hand stays"
ONE = "two notes on one button keep one finger while the bellows turn"
AGAIN = "a note that comes again keeps its finger in the plain hand"
TOP = "one top note is the little finger's, rather than a move there and back"
CREEP = "the hand does not creep along by changing fingers on a button and then jump back"
ROLL = "a roll needs a finger on each side"
TIME = "the hand moves where there is time: on a long note or a rest"
STRONG = "an ornament is not the little finger's"
PULLED = "an E among pulled notes is pulled on the other row, and the bellows need not turn"
CLOSE = "fingers close up for notes half a button apart, and the hand stays"

PAIRS = [
    # Speek: the ring finger has the B, the middle one the F#
    ("csd-21", "B4*2 E4 G4*2 E4 F#4*3", "31212", "42323", STAYS),
    # Speek: in the last bar the D is not the little finger's, so that one is left above it to ornament it
    ("csd-21", "F#4*3 B4*2 D5 ~D5*2 B4 A4 F#4 D4", "22332321", "23443321", STRONG),
    ("bc-21", "D4 E4 F#4 G4", "1234", "1231", STAYS),
    ("bc-21", "G4 F#4 E4 D4", "4321", "1321", STAYS),
    ("bc-21", "G4 B4 D5 B4", "1232", "2342", STAYS),
    ("bc-21", "G4 B4 D5 B4 G4*4", "12321", "12311", STAYS),
    ("bc-21", "E4 G4 B4 G4", "1232", "1212", STAYS),
    ("bc-21", "E4 G4 B4 G4 E4*4", "12321", "12121", STAYS),
    ("bc-21", "D4 F#4 A4 F#4", "1232", "1231", STAYS),
    ("bc-21", "A4 F#4 D4 F#4 A4*4", "32123", "43123", STAYS),
    ("bc-21", "C5 E5 G5 E5 C5*4", "12321", "12341", STAYS),
    ("bc-21", "E5 C5 A4 C5 E5*4", "32123", "42123", STAYS),
    ("bc-21", "D5 G5 B5 G5 D5*4", "12321", "13431", STAYS),
    ("bc-21", "G5 A5 B5 A5 G5*4", "12321", "12121", STAYS),
    ("bc-21", "B4 D5 G5 D5 B4*4", "12321", "23432", STAYS),
    ("bc-21", "F#5 A5 F#5 D5 F#5*4", "23212", "34323", STAYS),
    ("bc-21", "D4 A4 F#4 A4 D4 A4 F#4 A4", "13231323", "14341434", STAYS),
    ("bc-21", "E4 B4 B4 A4 B4*2 E4 B4", "1332313", "1443414", STAYS),
    ("bc-21", "E4 F#4 G4 E4 D4*4", "12321", "23421", STAYS),
    ("bc-21", "G5 F#5 E5 D5 B4*4", "32321", "43432", STAYS),
    ("csd-21", "F#5 E5 D5 B4 A4*4", "33211", "43211", ONE),
    ("csd-21", "D5 E5 F#5 D5 A4*4", "23321", "23421", ONE),
    ("csd-21", "A4 B4 A4 F#4 D4*4", "33321", "34321", ONE),
    ("csd-21", "D4 E4 F#4 G4", "1123", "1223", ONE),
    ("bc-21", "G4 A4 G4 A4 G4*4", "11111", "12121", ONE),
    ("bc-21", "B4 A4 G4 A4 B4 D5 G5*2", "2111234", "2121234", ONE),
    ("bc-21", "D5 E5 D5 B4", "2321", "3332", PULLED),
    ("bc-21", "A4 G4 A4 B4 A4*4", "11121", "21232", ONE),
    ("d-10", "D4 E4 F#4 G4 A4*4", "11223", "12223", ONE),
    ("d-10", "D5 C#5 B4 A4 G4*4", "33221", "34321", ONE),
    ("d-10", "F#4 G4 A4 B4 A4*4", "11222", "12121", ONE),
    ("bc-21", "G4 B4 B4 B4 G4*4", "12221", "12321", AGAIN),
    ("bc-21", "G4 B4 B4 G4", "1221", "1321", AGAIN),
    ("bc-21", "D5 D5 B4 B4 G4 G4 B4*2", "3322112", "3423122", AGAIN),
    ("csd-21", "A4 A4 A4 F#4 D4*4", "33321", "34321", AGAIN),
    ("d-10", "A4 A4 F#4 F#4 D4*4", "33221", "32211", AGAIN),
    ("bc-21", "G4 B4 D5 G5 D5 B4 G4 B4", "12343212", "12323212", TOP),
    ("bc-21", "D4 E4 F#4 G4 F#4 E4 D4*2", "1234321", "1231321", TOP),
    ("d-10", "F#4 A4 D5 F#5 D5*4", "12343", "12323", TOP),
    ("dg-21", "G4 B4 D5 G5 D5*4", "12343", "12323", TOP),
    ("dg-21", "A4 F#4 D4 F#4 A4*4", "32123", "43123", STAYS),
    ("dg-21", "E4 G4 B4 G4 E4*4", "12321", "12121", STAYS),
    ("d-10", "A4 F#4 D4 F#4 A4*4", "32123", "43123", STAYS),
    ("bc-21", "G4 A4 B4 G4 D5 B4 A4 G4", "11213211", "12313211", CREEP),
    ("bc-21", "G4 E4 G4 B4 G4 E4 D4*2", "3234321", "2123211", CREEP),
    ("bc-21", "B4 D5 B4 A4 G4 B4 G4*2", "2321121", "2322121", CREEP),
    ("bc-21", "D4*6 G5 A5", "123", "112", TIME),
    ("bc-21", "D4 z*5 G5 A5", "123", "112", TIME),
    ("bc-21", "~F#4*3 A4 F#4 D4", "3321", "1321", ROLL),
    ("bc-21", "~G4*3 B4 G4 D4", "3431", "1231", ROLL),
    ("bc-21", "~B4*3 D5 B4 G4", "2321", "4321", STRONG),
    ("bc-21", "~E4*3 G4 B4 G4", "2343", "1232", ROLL),
    ("bc-21", "~D5*3 B4 A4 G4", "3211", "4322", STRONG),
    ("bc-21", "~A4*3 B4 A4 G4", "2322", "1211", ROLL),
    ("csd-21", "~F#4*3 A4 F#4 D4", "2321", "1321", ROLL),
    ("bc-21", "E4 F#4 G4 F#4 E4*4", "12321", "12221", CLOSE),
    ("bc-21", "G4 F#4 E4 F#4 G4*4", "32123", "43234", CLOSE),
    ("bc-21", "D5 E5 F#5 G5 A5*4", "12123", "12344", CLOSE),
    ("bc-21", "A5 G5 F#5 E5 D5*4", "32121", "43211", CLOSE),
    ("bc-21", "D5 C#5 D5 E5 D5*4", "21232", "32343", CLOSE),
]


def costs(box: str, words: str, fingers: str) -> tuple[float, bool]:
    """What a phrase costs with these fingers, and whether it can be played so."""
    pins = [Pin(at, finger=int(finger)) for at, finger in enumerate(fingers)]
    found = finger_round(tune(words), load_box(box), replace(TABLES, hand=load_hand()), pins)
    return found.cost, not found.refused


@pytest.mark.parametrize(("box", "words", "this", "not_that", "why"), PAIRS)
def test_this_way_and_not_that_way(box: str, words: str, this: str, not_that: str, why: str) -> None:
    found = finger_round(tune(words), load_box(box), TABLES)
    assert "".join(str(note.finger) for note in found.notes) == this, why
    cost, can_be = costs(box, words, not_that)
    assert can_be
    assert cost > costs(box, words, this)[0], why


def test_a_published_fingering_of_a_jig() -> None:
    """Four bars of a traditional jig on the D row of a C#/D, as a player posted them (chiffboard, topic 40219).

    He changes fingers on every note that comes again, which our plain hand does not.
    """
    words = "F#4 A4 A4 D5 A4 A4 | B4 A4 B4 D5 A4 G4 | F#4 A4 A4 D5 E5 F#5 | E5 D5 B4 B4 A4 G4"
    ours = finger_round(tune(words), load_box("csd-21"), TABLES).notes
    same = sum(note.finger == int(his) for note, his in zip(ours, "121212222321121233321221", strict=True))
    assert same >= 20


def test_there_are_enough_of_them() -> None:
    assert len(PAIRS) >= 60
    assert len({pair[1] for pair in PAIRS if pair[0] == "bc-21"}) >= 40
