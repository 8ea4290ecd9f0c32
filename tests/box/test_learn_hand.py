"""A tutor's own hand, learnt from tutors that we make up: their costs are hidden, their fingerings are not."""

from __future__ import annotations

from dataclasses import replace

from companion.box.box_tables import BoxTables
from companion.box.box_values import Bellows
from companion.box.fingering import finger_round
from companion.box.hand_costs import Hand
from companion.box.layout import load_box
from companion.box.learn_hand import FITTED, Corrected, learn_hand
from companion.box.pins import Pin
from tests.box.box_tunes import tune
from tests.shipped_tables import TABLES

BC = load_box("bc-21")
SEEN = [
    "D4 E4 F#4 G4 A4 B4 C#5 D5 | C#5 B4 A4 G4 F#4 E4 D4*2 | G4 B4 D5 G5 D5 B4 G4 B4 | A4 F#4 D4 F#4 D4*4",
    "G4 A4 B4 G4 D5 B4 A4 G4 | E4 F#4 G4 E4 D4*4 | D5 E5 F#5 G5 A5 G5 F#5 E5 | D5 B4 A4 B4 D5*4",
    "E4 G4 B4 G4 E5 B4 G4 B4 | A4 F#4 D4 F#4 A4*4 | G4 B4 D5 B4 G4 B4 D5 G5 | F#5 D5 A4 D5 F#5*4",
]
UNSEEN = [
    "A4 F#4 D4 F#4 A4 D5 A4 F#4 | G4 E4 G4 B4 E5 D5 B4 G4 | A4 B4 D5 E5 F#5 E5 D5 B4 | A4 F#4 E4 F#4 D4*4",
    "B4 G4 D5 B4 G5 D5 B4 G4 | F#4 A4 D5 A4 F#5 D5 A4 F#4 | E4 G4 B4 E5 G5 E5 B4 G4 | A4 G4 F#4 E4 D4*4",
    "D5 G5 D5 B4 G4 B4 D5 B4 | C5 E5 G5 E5 C5 E5 D5 C5 | B4 D5 G5 D5 B4 G4 A4 B4 | A4 F#4 A4 D5 G4*4",
]


def by(hand: Hand) -> BoxTables:
    return replace(TABLES, hand=hand)


def corrected(words: str, hand: Hand) -> Corrected:
    round_ = tune(words)
    fingers = [note.finger for note in finger_round(round_, BC, by(hand)).notes]
    return Corrected(
        replace(round_, notes=tuple(replace(n, finger=f) for n, f in zip(round_.notes, fingers, strict=True)))
    )


def alike(hand: Hand, tutor: Hand) -> float:
    """The share of the notes of the tunes that were not seen on which two hands agree."""
    pairs = [
        (one.finger, one.press) == (two.finger, two.press)
        for words in UNSEEN
        for one, two in zip(
            finger_round(tune(words), BC, by(hand)).notes, finger_round(tune(words), BC, by(tutor)).notes, strict=True
        )
    ]
    return sum(pairs) / len(pairs)


def test_what_a_tutor_does_otherwise_is_learnt() -> None:
    tutor = replace(TABLES.hand, little=5.0)
    learnt = learn_hand([corrected(words, tutor) for words in SEEN], BC, TABLES)
    assert learnt.fits
    assert learnt.after >= 0.95 > learnt.before
    assert alike(learnt.hand, tutor) > max(alike(TABLES.hand, tutor), 0.85)
    for name in FITTED:
        assert getattr(learnt.hand, name) >= 0
    others = {name: getattr(TABLES.hand, name) for name in FITTED}
    assert replace(learnt.hand, **others) == TABLES.hand  # nothing else is touched


def test_a_hand_that_is_followed_already_stays_as_it_is() -> None:
    learnt = learn_hand([corrected(words, TABLES.hand) for words in SEEN], BC, TABLES)
    assert learnt.hand == TABLES.hand
    assert learnt.before == learnt.after == 1.0
    assert not learnt.fits


def test_what_is_wanted_is_what_the_pins_say_and_then_the_fingers_in_the_tune() -> None:
    one = Corrected(tune("D4!2 E4 F#4 G4"), (Pin(0, finger=3), Pin(2, bellows=Bellows.PUSH)))
    assert one.wanted == (Pin(0, finger=3), None, Pin(2, bellows=Bellows.PUSH), None)
    assert all(note.finger is None for note in one.bare.notes)
