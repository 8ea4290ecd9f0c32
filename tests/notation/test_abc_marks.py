"""Symbols over notes, graces, chords, rests: the statements of ABC 2.1 (December 2011), each under its section.

Source of every expectation: https://abcnotation.com/wiki/abc:standard:v2.1, the section in the first column. Where the
standard leaves a choice to the program, the case says "(ours)".
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from companion.notation.abc_reader import read_abc
from tests.notation.abc_cases import notes, tune, warned

ORNAMENTS = [
    ("4.14 .", ".A", ("staccato",)),
    ("4.14 ~", "~A", ("roll",)),
    ("4.14 H", "HA", ("fermata",)),
    ("4.14 L", "LA", ("accent",)),
    ("4.14 M", "MA", ("mordent",)),
    ("4.14 O", "OA", ("coda",)),
    ("4.14 P", "PA", ("upper mordent",)),
    ("4.14 S", "SA", ("segno",)),
    ("4.14 T", "TA", ("trill",)),
    ("4.14 u", "uA", ("up-bow",)),
    ("4.14 v", "vA", ("down-bow",)),
    ("4.14 !trill!", "!trill!A", ("trill",)),
    ("4.14 !roll!", "!roll!A", ("roll",)),
    ("4.14 !mordent! is the lower one", "!mordent!A", ("mordent",)),
    ("4.14 !pralltriller! is the upper one", "!pralltriller!A", ("upper mordent",)),
    ("4.14 !turn!", "!turn!A", ("turn",)),
    ("4.14 !>!", "!>!A", ("accent",)),
    ("4.14 !emphasis!", "!emphasis!A", ("accent",)),
    ("4.14 !fermata!", "!fermata!A", ("fermata",)),
    ("4.14 !tenuto!", "!tenuto!A", ("tenuto",)),
    ("4.14 !slide!", "!slide!A", ("slide",)),
    ("4.14 !segno!", "!segno!A", ("segno",)),
    ("4.14 several, with spaces", "! A", ()),
    ("4.14 several", "~.A", ("roll", "staccato")),
    ("4.14 spaces before the note", ". A", ("staccato",)),
    ("4.14 an unknown symbol is left out", "!wobble!A", ()),
    ("4.14 dynamics", "!mf!A", ("mf",)),
    ("12.1.2 +trill+", "+trill+A", ("trill",)),
    ("4.20 before an accidental", "~^c", ("roll",)),
    ("4.20 ~^c'3", "~^c'3", ("roll",)),
    ('4.20 "Gm7"v.=G,2', '"Gm7"v.=G,2', ("down-bow", "staccato")),
    ("4.16 on a chord", "H[CEG]", ("fermata",)),
    ("4.14 inside a chord", "[C!trill!E]", ("trill",)),
    ("4.12 after grace notes", "{g}~A", ("roll",)),
    ("4.12 before grace notes", "~{g}A", ("roll",)),
]


@pytest.mark.parametrize(("music", "wanted"), [c[1:] for c in ORNAMENTS], ids=[c[0] for c in ORNAMENTS])
def test_decorations(music: str, wanted: tuple[str, ...]) -> None:
    assert notes(music)[0].ornaments == wanted


def test_4_13_staccato_triplet() -> None:
    assert [n.ornaments for n in notes("(3.a.b.c d")] == [("staccato",)] * 3 + [()]


@pytest.mark.parametrize("finger", range(6))
def test_4_14_fingerings(finger: int) -> None:
    assert notes(f"!{finger}!A B")[0].finger == finger
    assert notes(f"!{finger}!A B")[1].finger is None


@pytest.mark.parametrize(
    ("definition", "music", "wanted"),
    [
        ("T = !turn!", "TA", ("turn",)),
        ("k = !roll!", "kA", ("roll",)),
        ("W=!trill!", "WA", ("trill",)),
        ("~ = !trill!", "~A", ("trill",)),
        ("T = !nil!", "TA", ()),
        ("T = !none!", "TA", ()),
        ('p = "^+"', "pA", ()),
        ("m = +fermata+", "mA", ("fermata",)),
    ],
)
def test_4_16_redefinable_symbols(definition: str, music: str, wanted: tuple[str, ...]) -> None:
    written = tune(music, f"L:1/8\nU: {definition}\n")
    assert written.notes[0].ornaments == wanted
    assert written.problems == ()


def test_4_16_a_definition_of_the_file_holds_in_every_tune_that_has_none_of_its_own() -> None:
    text = "U: T = !turn!\n\nX:1\nT:a\nK:C\nTA|\n\nX:2\nT:b\nU: T = !roll!\nK:C\nTA|\n\nX:3\nT:c\nK:C\nTA|\n"
    assert [t.notes[0].ornaments for t in read_abc(text).tunes] == [("turn",), ("roll",), ("turn",)]


@pytest.mark.parametrize(
    ("music", "chords"),
    [
        ('"Am7"A2D2', ["Am7", None]),
        ('"C/E"C', ["C/E"]),
        ('"G(Em)"G', ["G(Em)"]),
        ('"Bb"B', ["Bb"]),
        ('"F#m"A', ["F#m"]),
        ('"Dsus4"A', ["Dsus4"]),
        ('"Adim"A', ["Adim"]),
        ('"Caug"A', ["Caug"]),
        ('"C+"A', ["C+"]),
        ('"Gmaj7"A', ["Gmaj7"]),
        ('"D7"~A', ["D7"]),
        ('"B♭"B', ["B♭"]),
        ('"^Am"A', [None]),
        ('"_under"A', [None]),
        ('"<("">)"C', [None]),
        ('"@this"A', [None]),
        ('"^above""G"A', ["G"]),
        ('"Am" !pp! yA', ["Am"]),
        ('"C"[CEG]', ["C"]),
        ('"Horns"A', [None]),
    ],
)
def test_4_18_chord_symbols_and_4_19_annotations(music: str, chords: list[str | None]) -> None:
    assert [n.chord for n in notes(music)] == chords


@pytest.mark.parametrize(
    ("music", "grace"),
    [
        ("{g}A", (79,)),
        ("{GdGe}A", (67, 74, 67, 76)),
        ("{/g}C", (79,)),
        ("{/gagab}C", (79, 81, 79, 81, 83)),
        ("{a3/2b/}C", (81, 83)),
        ("{a>b}C", (81, 83)),
        ("{^f}G", (78,)),
    ],
)
def test_4_12_grace_notes(music: str, grace: tuple[int, ...]) -> None:
    assert notes(music)[0].grace == grace
    assert notes(music)[0].length == Fraction(1, 8)


def test_4_12_grace_notes_follow_the_key() -> None:
    assert notes("{f}g", key="D")[0].grace == (78,)


def test_4_17_the_rest_of_a_chord_is_kept() -> None:
    assert notes("[CEGc]")[0].under == (60, 64, 67)
    assert notes("[DD]")[0].under == (62,)


@pytest.mark.parametrize(
    ("music", "onset"),
    [
        ("Z4|C", Fraction(4)),
        ("Z|C", Fraction(1)),
        ("X2|C", Fraction(2)),
        ("z8|x8|C", Fraction(2)),
        ("z/C", Fraction(1, 16)),
        ("x3/2C", Fraction(3, 16)),
    ],
)
def test_4_5_rests(music: str, onset: Fraction) -> None:
    assert notes(music, "M:4/4\nL:1/8\n")[0].onset == onset


def test_4_5_a_rest_of_several_bars_counts_them() -> None:
    written = tune("CDEF|Z4|CDEF|]", "M:2/4\nL:1/8\n")
    assert [n.bar for n in written.notes] == [1, 1, 1, 1, 6, 6, 6, 6]
    assert written.bars == 6
    assert written.problems == ()


@pytest.mark.parametrize("words", ["Fine", "^Fine", "D.C.", "D.C", "D. C.", "D.S. al Coda", "Da Capo", "dal segno"])
def test_jumps_in_words_are_read_with_a_warning(words: str) -> None:
    assert any(words in message for message in warned(tune(f'A"{words}"B')))


@pytest.mark.parametrize("words", ["D", "Dm", "F", "Final", "Slowly", "DC3", "^fine tune", "Codetta"])
def test_other_words_are_no_jumps(words: str) -> None:
    written = tune(f'A"{words}"B')
    assert written.problems == ()
    assert all(note.ornaments == () for note in written.notes)
