"""The left hand in the direction that the right hand has."""

from __future__ import annotations

from dataclasses import replace

import pytest

from companion.box.basses import buttons_for, left_hand
from companion.box.box_values import Bellows
from companion.box.chords import Chord, chord_of, likely_chords
from companion.box.fingering import finger_round
from companion.box.layout import load_box
from companion.box.ornaments import scale_of
from companion.tune.tune_values import OnceThrough
from tests.box.box_tunes import tune
from tests.shipped_tables import TABLES

BC = load_box("bc-21")
D_MAJOR = scale_of([("F", 1), ("C", 1)])
G_MAJOR = scale_of([("F", 1)])


@pytest.mark.parametrize(
    ("symbol", "chord"),
    [
        ("G", Chord(7)),
        ("Em", Chord(4, 3)),
        ("Em7", Chord(4, 3)),
        ("D/F#", Chord(2)),
        ("Bb", Chord(10)),
        ("F#m", Chord(6, 3)),
        ("Amaj7", Chord(9)),
        ("Bdim", Chord(11, 3, 6)),
        ("A7", Chord(9)),
        ("N.C.", None),
        ("slowly", None),
    ],
)
def test_chord_symbols(symbol: str, chord: Chord | None) -> None:
    assert chord_of(symbol) == chord


# The usual bass set G/D, E/A, C/G, C/F (hspeek.home.xs4all.nl/irishbox/basses.html): D is missing on the push.
@pytest.mark.parametrize(
    ("chord", "bellows", "scale", "sounds", "reason"),
    [
        ("G", "push", G_MAJOR, "bass G, chord G", ""),
        ("G", "pull", G_MAJOR, "bass G, chord G", ""),
        ("D", "pull", D_MAJOR, "bass D, chord D", ""),
        ("A", "pull", D_MAJOR, "bass A, chord A", ""),
        ("D", "push", D_MAJOR, "", "silence"),
        ("C", "push", G_MAJOR, "bass C, chord C", ""),
        ("Em", "push", G_MAJOR, "bass E, chord G", "shares two notes"),
        ("Bm", "pull", D_MAJOR, "bass D, chord D", "shares two notes"),
        ("Am", "pull", G_MAJOR, "bass A", "the bass A alone"),
    ],
)
def test_the_usual_set(chord: str, bellows: str, scale: frozenset[int], sounds: str, reason: str) -> None:
    asked = chord_of(chord)
    assert asked is not None
    _, _, heard, why = buttons_for(BC, asked, Bellows(bellows), scale)
    assert heard == sounds
    assert reason in why
    assert bool(reason) == bool(why)


def with_chords(round_: OnceThrough, symbols: dict[int, str]) -> OnceThrough:
    notes = tuple(replace(note, chord=symbols.get(i)) for i, note in enumerate(round_.notes))
    return replace(round_, notes=notes)


def test_the_left_hand_follows_the_bellows() -> None:
    round_ = with_chords(tune("G4 A4 B4 G4 | D4*2 F#4 A4"), {0: "G", 4: "D"})
    found = left_hand(round_, finger_round(round_, BC, tables=TABLES), G_MAJOR, 7)
    assert [(s.first, s.last, s.chord, s.bellows.value, s.sounds) for s in found] == [
        (0, 0, "G", "push", "bass G, chord G"),
        (1, 2, "G", "pull", "bass G, chord G"),
        (3, 3, "G", "push", "bass G, chord G"),
        (4, 4, "D", "pull", "bass D, chord D"),
        (5, 5, "D", "push", ""),
        (6, 6, "D", "pull", "bass D, chord D"),
    ]
    assert not any(s.guessed for s in found)
    for stretch in found:
        for index in (stretch.bass, stretch.button):
            if index is not None:
                assert BC.basses[index].kind == ("bass" if index == stretch.bass else "chord")


def test_before_the_first_symbol_the_left_hand_waits() -> None:
    round_ = with_chords(tune("D4 | G4*2 B4*2"), {1: "G"})
    assert left_hand(round_, finger_round(round_, BC, tables=TABLES), G_MAJOR, 7)[0].first == 1


def test_likely_chords_of_a_plain_tune() -> None:
    """Bars that spell a triad get that triad (common practice)."""
    round_ = tune("D4*2 F#4 A4 | G4*2 B4 D5 | A4*2 C#5 E5 | D5*2 A4 F#4")
    chords = likely_chords(round_, D_MAJOR, 2)
    names = [chord.name for chord, note in zip(chords, round_.notes, strict=True) if note.at % 1 in (0, 1 / 2)]
    assert names == ["D", "G", "A", "D"]
    found = left_hand(round_, finger_round(round_, BC, tables=TABLES), D_MAJOR, 2)
    assert all(s.guessed for s in found)


def test_one_row_box_has_two_basses() -> None:
    box = load_box("d-10")
    d, a = chord_of("D"), chord_of("A")
    assert d is not None
    assert a is not None
    assert buttons_for(box, d, Bellows.PUSH, D_MAJOR)[2] == "bass D, chord D"
    assert buttons_for(box, a, Bellows.PULL, D_MAJOR)[2] == "bass A, chord A"
    assert buttons_for(box, a, Bellows.PUSH, D_MAJOR)[:2] == (None, None)
