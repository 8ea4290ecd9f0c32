"""Pitches and lengths: the statements of ABC 2.1 (December 2011), each under its section.

Source of every expectation: https://abcnotation.com/wiki/abc:standard:v2.1, the section in the first column. Where the
standard leaves a choice to the program, the case says "(ours)".
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.notation.abc_cases import lengths, notes, pitches, tune

PITCHES = [
    ("4.1 the octave from middle C", "CDEFGAB", "C", [60, 62, 64, 65, 67, 69, 71]),
    ("4.1 the octave above", "cdefgab", "C", [72, 74, 76, 77, 79, 81, 83]),
    ("4.1 commas lower", "C,C,,", "C", [48, 36]),
    ("4.1 apostrophes raise", "c'c''", "C", [84, 96]),
    ("4.1 C,', is C,", "C,',", "C", [48]),
    ("4.1 C' is c", "C'", "C", [72]),
    ("4.1 c, is C", "c,", "C", [60]),
    ("4.2 sharp, natural, flat", "^F=F_B", "C", [66, 65, 70]),
    ("4.2 double sharp and flat", "^^F__B", "C", [67, 69]),
    ("4.2 a natural against the key", "F=F", "D", [66, 65]),
    ("11.3 to the end of the bar", "^FF|F", "C", [66, 66, 65]),
    ("11.3 in every octave by default", "^Ff", "C", [66, 78]),
    ("11.3 a natural holds on too", "=FF|F", "D", [65, 65, 66]),
    ("11.3 a new accidental takes over", "^F_FF", "C", [66, 64, 64]),
    ("11.3 over a code line-break", "^F\nF|F", "C", [66, 66, 65]),
    ("11.3 a repeat sign is a bar line", "^F:|F", "C", [66, 65]),
    ("4.11 a tied note keeps its accidental over the bar line", "^F8-|FF", "C", [66, 65]),
    ("3.1.14 minor", "F", "Em", [66]),
    ("3.1.14 dorian", "FB", "Ddor", [65, 71]),
    ("3.1.14 mixolydian", "FC", "Dmix", [66, 60]),
    ("3.1.14 modified: a natural, D =c", "FCc", "D =c", [66, 60, 72]),
    ("3.1.14 modified: a natural, D maj =c", "FCc", "D maj =c", [66, 60, 72]),
    ("3.1.14 modified: without a space (ours)", "FC", "D maj=c", [66, 60]),
    ("3.1.14 modified: a natural and a sharp", "FCG", "D =c ^g", [66, 60, 68]),
    ("3.1.14 modified: beside a shift", "FC", "Dmix =f octave=1", [77, 72]),
    ("3.1.14 modified: D Phr ^f", "EFB", "D Phr ^f", [63, 66, 70]),
    ("3.1.14 explicit", "EFB", "D exp _b _e ^f", [63, 66, 70]),
    ("3.1.14 none", "F", "none", [65]),
    ("3.1.14 empty", "F", "", [65]),
    ("3.1.14 HP has no signature", "fc", "HP", [77, 72]),
    ("3.1.14 Hp has F and C sharp", "fcg", "Hp", [78, 73, 79]),
    ("4.6 octave=", "C", "C octave=-1", [48]),
    ("4.6 transpose=", "C", "C transpose=-2", [58]),
    ("4.6 t=", "C", "C t=3", [63]),
    ("4.6 treble-8", "C", "C treble-8", [48]),
    ("4.6 clef=treble+8", "C", "C clef=treble+8", [72]),
    ("4.6 a clef alone changes no pitch", "C", "clef=bass", [60]),
    ("4.6 middle= does not change the playback", "C", "C bass middle=d", [60]),
    ("4.6 K:bass middle=d transpose=-24", "d", "bass middle=d transpose=-24", [50]),
    ("3.2 an inline key", "F[K:D]F", "C", [65, 66]),
    ("3.2 a key on a line of its own", "F\nK:D\nF", "C", [65, 66]),
    ("3.2 an inline clef keeps the key", "F[K:clef=bass]F", "D", [66, 66]),
    ("4.17 the top of a chord is the melody (ours)", "[CEG]", "C", [67]),
    ("4.17 in any order", "[GCE]", "C", [67]),
    ("4.17 an accidental inside a chord", "[C^F]F", "C", [66, 66]),
    ("4.12 accidentals of grace notes hold in the bar", "{^f}gf", "C", [79, 78]),
]


@pytest.mark.parametrize(("music", "key", "wanted"), [c[1:] for c in PITCHES], ids=[c[0] for c in PITCHES])
def test_pitches(music: str, key: str, wanted: list[int]) -> None:
    assert pitches(music, "L:1/8\n", key) == wanted


LENGTHS = [
    ("4.3 multiples", "AA1A2A3A4A6A7A8", "1 1 2 3 4 6 7 8"),
    ("4.3 divided", "A/2A3/2A/4A1/4", "1/2 3/2 1/4 1/4"),
    ("4.3 A/ is A/2", "A/A//A///", "1/2 1/4 1/8"),
    ("4.3 A3/ is A3/2", "A3/A3//", "3/2 3/4"),
    ("4.3 a 128th", "A/16", "1/16"),
    ("4.4 >", "a>b", "3/2 1/2"),
    ("4.4 <", "a<b", "1/2 3/2"),
    ("4.4 >>", "a>>b", "7/4 1/4"),
    ("4.4 <<", "a<<b", "1/4 7/4"),
    ("4.4 >>>", "a>>>b", "15/8 1/8"),
    ("4.4 <<<", "a<<<b", "1/8 15/8"),
    ("4.4 deeper", "a>>>>b", "31/16 1/16"),
    ("4.4 longer notes", "a2>b2", "3 1"),
    ("4.4 the three versions", "a>b c<d abcd", "3/2 1/2 1/2 3/2 1 1 1 1"),
    ("4.4 over spaces", "a > b", "3/2 1/2"),
    ("4.12 over grace notes, sign first", "A<{g}A", "1/2 3/2"),
    ("4.12 over grace notes, sign last", "A{g}<A", "1/2 3/2"),
    ("4.4 into a rest", "a>z b", "3/2 1"),
    ("4.4 out of a rest", "z>b", "1/2"),
    ("4.4 with chords", "[CE]>[DF]", "3/2 1/2"),
    ("4.13 (2", "(2ab", "3/2 3/2"),
    ("4.13 (3", "(3abc", "2/3 2/3 2/3"),
    ("4.13 (4", "(4abcd", "3/4 3/4 3/4 3/4"),
    ("4.13 (5 in simple time", "(5abcde", "2/5 2/5 2/5 2/5 2/5"),
    ("4.13 (6", "(6abcdef", "1/3 1/3 1/3 1/3 1/3 1/3"),
    ("4.13 (7 in simple time", "(7abcdefg", "2/7 2/7 2/7 2/7 2/7 2/7 2/7"),
    ("4.13 (8", "(8abcdefga", "3/8 3/8 3/8 3/8 3/8 3/8 3/8 3/8"),
    ("4.13 (9 in simple time", "(9abcdefgab", "2/9 2/9 2/9 2/9 2/9 2/9 2/9 2/9 2/9"),
    ("4.13 (3:: is (3", "(3::abcd", "2/3 2/3 2/3 1"),
    ("4.13 (3:2 is (3", "(3:2abcd", "2/3 2/3 2/3 1"),
    ("4.13 (3:2:3 is (3", "(3:2:3abcd", "2/3 2/3 2/3 1"),
    ("4.13 (3::2", "(3::2abc", "2/3 2/3 1"),
    ("4.13 (3:2:2", "(3:2:2G4c2d", "8/3 4/3 1"),
    ("4.13 (3:2:4", "(3:2:4G2A2Bcd", "4/3 4/3 2/3 2/3 1"),
    ("4.13 longer notes", "(3D2E2F2", "4/3 4/3 4/3"),
    ("4.13 unequal notes", "(3D3EF2", "2 2/3 4/3"),
    ("4.13 spaces after the sign", "(3 a b c d", "2/3 2/3 2/3 1"),
    ("4.13 within a slur", "((3abc)d", "2/3 2/3 2/3 1"),
    ("4.13 with a rest", "(3azcd", "2/3 2/3 1"),
    ("4.13 with broken rhythm", "(3a>bc", "1 1/3 2/3"),
    ("4.13 a chord counts as one note", "(3[CE]abc", "2/3 2/3 2/3 1"),
    ("4.13 over a bar line", "(3ab|cd", "2/3 2/3 2/3 1"),
    ("4.5 rests take time, not place", "az2b", "1 1"),
    ("4.7 back quotes", "A2``B``C", "2 1 1"),
    ("4.11 a tie", "a-a", "2"),
    ("4.11 a tie over a bar line", "abc-|cba", "1 1 2 1 1"),
    ("4.11 c4-c4", "c4-c4", "8"),
    ("4.11 a tie of three", "c-c-c", "3"),
    ("4.11 a tie followed by a space", "=G,2- =G,", "3"),
    ("4.11 a dotted tie", "C.-C", "2"),
    ("4.11 a slur joins nothing", "(aa)(bb)", "1 1 1 1"),
    ("4.11 a nested slur", "(c (d e f) g a)", "1 1 1 1 1 1"),
    ("4.11 a dotted slur", ".(cde)", "1 1 1"),
    ("4.11 a tie of chords", "[CEG]-[CEG]", "2"),
    ("4.11 a tie within chords", "[C-E-G-][CEG]", "2"),
    ("4.11 a tie between two pitches is none", "c-d", "1 1"),
    ("4.17 inside and outside multiply", "[C2E2G2]3", "6"),
    ("4.17 the first note gives the length", "[C2E4]", "2"),
    ("4.17 a length outside", "[CEG]3/2", "3/2"),
    ("6.1.2 y takes no time", "ayb", "1 1"),
    ("3.2 an inline unit", "a[L:1/16]a", "1 1/2"),
    ("3.1.7 a new meter keeps the unit", "a[M:2/4]a", "1 1"),
    ("8.1 reserved characters are left out", "@a #bc2/3* de?f;", "1 1 2/3 1 1 1"),
]


@pytest.mark.parametrize(("music", "wanted"), [c[1:] for c in LENGTHS], ids=[c[0] for c in LENGTHS])
def test_lengths(music: str, wanted: str) -> None:
    assert lengths(music) == wanted


@pytest.mark.parametrize(
    ("meter", "music", "wanted"),
    [
        ("6/8", "(5abcde", Fraction(3, 5)),
        ("9/8", "(7abcdefg", Fraction(3, 7)),
        ("12/8", "(9abcdefgab", Fraction(3, 9)),
        ("3/4", "(5abcde", Fraction(2, 5)),
        ("4/4", "(7abcdefg", Fraction(2, 7)),
        ("none", "(5abcde", Fraction(2, 5)),
        ("6/8", "(2ab", Fraction(3, 2)),
        ("6/8", "(3abc", Fraction(2, 3)),
    ],
)
def test_4_13_tuplets_by_meter(meter: str, music: str, wanted: Fraction) -> None:
    assert {n.length * 8 for n in notes(music, f"M:{meter}\nL:1/8\n")} == {wanted}


@pytest.mark.parametrize(
    ("music", "column"), [("C>D2|", 3), ("C2<D|", 4), ("C>>D/|", 4), ("CDE2>F|", 6), ("(3CDE>F|", 7)]
)
def test_a_broken_rhythm_between_different_lengths_is_warned_of_once(music: str, column: int) -> None:
    problems = tune(music).problems
    assert [one.message for one in problems] == ["A broken rhythm between notes of different lengths."]
    assert [(one.severity, one.column) for one in problems] == [("warning", column)]


@pytest.mark.parametrize("music", ["C>D|", "C2<D2|", "C/>>D/|", "C>D>E|", "C > D|", "C>{g}D|"])
def test_a_broken_rhythm_between_equal_lengths_is_not(music: str) -> None:
    assert tune(music).problems == ()
