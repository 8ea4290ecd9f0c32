"""Fields: the statements of ABC 2.1 (December 2011), each under its section.

Source of every expectation: https://abcnotation.com/wiki/abc:standard:v2.1, the section in the first column. Where the
standard leaves a choice to the program, the case says "(ours)".
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.notation.abc_cases import tune

UNITS = [
    ("3.1.7 2/4 is less than 3/4", "M:2/4\n", Fraction(1, 16)),
    ("3.1.7 3/4", "M:3/4\n", Fraction(1, 8)),
    ("3.1.7 6/8", "M:6/8\n", Fraction(1, 8)),
    ("3.1.7 4/4", "M:4/4\n", Fraction(1, 8)),
    ("3.1.7 3/8", "M:3/8\n", Fraction(1, 16)),
    ("3.1.7 5/8", "M:5/8\n", Fraction(1, 16)),
    ("3.1.7 C", "M:C\n", Fraction(1, 8)),
    ("3.1.7 C|", "M:C|\n", Fraction(1, 8)),
    ("3.1.7 none", "M:none\n", Fraction(1, 8)),
    ("3.1.7 no meter", "", Fraction(1, 8)),
    ("3.1.7 said", "M:2/4\nL:1/4\n", Fraction(1, 4)),
    ("3.1.7 said before the meter", "L:1/4\nM:2/4\n", Fraction(1, 4)),
    ("3.1.7 L:1", "L:1\n", Fraction(1)),
    ("3.1.7 L:1/1", "L:1/1\n", Fraction(1)),
    ("3.1.7 L:1/512", "L:1/512\n", Fraction(1, 512)),
]


@pytest.mark.parametrize(("header", "wanted"), [c[1:] for c in UNITS], ids=[c[0] for c in UNITS])
def test_unit_note_length(header: str, wanted: Fraction) -> None:
    written = tune("A", header)
    assert written.unit == wanted
    assert written.notes[0].length == wanted


METERS = [
    ("3.1.6 6/8", "6/8", Fraction(3, 4), [Fraction(3, 8)] * 2),
    ("3.1.6 9/8", "9/8", Fraction(9, 8), [Fraction(3, 8)] * 3),
    ("3.1.6 12/8", "12/8", Fraction(3, 2), [Fraction(3, 8)] * 4),
    ("3.1.6 3/4", "3/4", Fraction(3, 4), [Fraction(1, 4)] * 3),
    ("3.1.6 2/4", "2/4", Fraction(1, 2), [Fraction(1, 4)] * 2),
    ("3.1.6 C is 4/4", "C", Fraction(1), [Fraction(1, 4)] * 4),
    ("3.1.6 C| is 2/2", "C|", Fraction(1), [Fraction(1, 2)] * 2),
    ("3.1.6 none", "none", None, []),
    ("3.1.6 (2+3+2)/8", "(2+3+2)/8", Fraction(7, 8), [Fraction(2, 8), Fraction(3, 8), Fraction(2, 8)]),
    ("3.1.6 without parentheses", "2+3+2/8", Fraction(7, 8), [Fraction(2, 8), Fraction(3, 8), Fraction(2, 8)]),
    ("3.1.6 3/8", "3/8", Fraction(3, 8), [Fraction(1, 8)] * 3),
]


@pytest.mark.parametrize(("text", "bar", "beats"), [c[1:] for c in METERS], ids=[c[0] for c in METERS])
def test_meters(text: str, bar: Fraction | None, beats: list[Fraction]) -> None:
    meter = tune("A", f"M:{text}\n").meter
    assert (meter.text, meter.bar, list(meter.beats)) == (text, bar, beats)


def test_3_1_6_no_meter_is_free() -> None:
    assert tune("ABc|ABcdef|A", "").meter.bar is None


# The table of 3.1.14, one row a signature: how many sharps, and the seven keys that have it.
KEYS = """
7 C# A#m G#Mix D#Dor E#Phr F#Lyd B#Loc
6 F# D#m C#Mix G#Dor A#Phr BLyd E#Loc
5 B G#m F#Mix C#Dor D#Phr ELyd A#Loc
4 E C#m BMix F#Dor G#Phr ALyd D#Loc
3 A F#m EMix BDor C#Phr DLyd G#Loc
2 D Bm AMix EDor F#Phr GLyd C#Loc
1 G Em DMix ADor BPhr CLyd F#Loc
0 C Am GMix DDor EPhr FLyd BLoc
-1 F Dm CMix GDor APhr BbLyd ELoc
-2 Bb Gm FMix CDor DPhr EbLyd ALoc
-3 Eb Cm BbMix FDor GPhr AbLyd DLoc
-4 Ab Fm EbMix BbDor CPhr DbLyd GLoc
-5 Db Bbm AbMix EbDor FPhr GbLyd CLoc
-6 Gb Ebm DbMix AbDor BbPhr CbLyd FLoc
-7 Cb Abm GbMix DbDor EbPhr FbLyd BbLoc
"""


@pytest.mark.parametrize("row", KEYS.split("\n")[1:-1])
def test_3_1_14_the_table_of_keys(row: str) -> None:
    count, *keys = row.split()
    fifths = int(count)
    order = "FCGDAEB" if fifths > 0 else "BEADGCF"
    wanted = tuple((letter, 1 if fifths > 0 else -1) for letter in order[: abs(fifths)])
    assert {key: tune("A", key=key).key.signature for key in keys} == dict.fromkeys(keys, wanted)


@pytest.mark.parametrize(
    ("text", "tonic", "mode", "sharps"),
    [
        ("C major", "C", "major", 0),
        ("A minor", "A", "minor", 0),
        ("C ionian", "C", "ionian", 0),
        ("A aeolian", "A", "aeolian", 0),
        ("G mixolydian", "G", "mixolydian", 0),
        ("E phrygian", "E", "phrygian", 0),
        ("B locrian", "B", "locrian", 0),
        ("F# mixolydian", "F#", "mixolydian", 5),
        ("F#MIX", "F#", "mixolydian", 5),
        ("F#Mix", "F#", "mixolydian", 5),
        ("GMaj", "G", "major", 1),
        ("Emin", "E", "minor", 1),
    ],
)
def test_3_1_14_modes_by_their_first_three_letters(text: str, tonic: str, mode: str, sharps: int) -> None:
    key = tune("A", key=text).key
    assert (key.tonic, key.mode, len(key.signature)) == (tonic, mode, sharps)


TEMPI = [
    ("3.1.8 1/2=120", "1/2=120", Fraction(1, 2), 120, ""),
    ("3.1.8 several beats", "1/4 3/8 1/4 3/8=40", Fraction(5, 4), 40, ""),
    ("3.1.8 words before", '"Allegro" 1/4=120', Fraction(1, 4), 120, "Allegro"),
    ("3.1.8 words after", '3/8=50 "Slowly"', Fraction(3, 8), 50, "Slowly"),
    ("13.4 spaces", '"Andante mosso" 1/4 = 110', Fraction(1, 4), 110, "Andante mosso"),
    ("10.1 Q:C=120 counts units", "C=120", Fraction(1, 8), 120, ""),
    ("10.1 Q:120 counts units", "120", Fraction(1, 8), 120, ""),
]


@pytest.mark.parametrize(("text", "beat", "rate", "words"), [c[1:] for c in TEMPI], ids=[c[0] for c in TEMPI])
def test_tempi(text: str, beat: Fraction, rate: float, words: str) -> None:
    tempo = tune("A", f"L:1/8\nQ:{text}\n").tempo
    assert tempo is not None
    assert (tempo.beat, tempo.per_minute, tempo.words) == (beat, rate, words)


def test_3_1_8_words_alone_are_no_tempo() -> None:
    assert tune("A", 'Q:"Andante"\n').tempo is None
    assert tune("A", 'Q:"Andante"\n').problems == ()
