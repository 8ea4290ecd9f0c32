"""The statements of the ABC 2.1 standard (December 2011), each under the number of its section.

Source of every expectation: https://abcnotation.com/wiki/abc:standard:v2.1, the section in the first column. Where the
standard leaves a choice to the program, the case says "(ours)".
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from companion.notation.abc_reader import read_abc
from companion.tune.model import Note
from companion.tune.tune import Tune


def tune(music: str, header: str = "L:1/8\n", key: str = "C") -> Tune:
    return read_abc(f"X:1\nT:t\n{header}K:{key}\n{music}\n").tunes[0]


def notes(music: str, header: str = "L:1/8\n", key: str = "C") -> tuple[Note, ...]:
    return tune(music, header, key).notes


def pitches(*args: str) -> list[int]:
    return [n.pitch for n in notes(*args)]


def lengths(*args: str) -> str:
    """The lengths in eighths, which are whole fractions in every case."""
    return " ".join(str(n.length * 8) for n in notes(*args))


def warned(written: Tune) -> list[str]:
    return [p.message for p in written.problems]


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
    ("3.1.14 modified: a natural", "Cc", "D =c", [60, 72]),
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


BARS = [
    ("4.8 |", "CDEF|CDEF|", "11112222"),
    ("4.8 |]", "CDEF|CDEF|]", "11112222"),
    ("4.8 ||", "CDEF||CDEF||", "11112222"),
    ("4.8 [|", "CDEF[|CDEF|]", "11112222"),
    ("4.8 |: :|", "|:CDEF:|CDEF|", "11112222"),
    ("4.8 ::", "|:CDEF::CDEF:|", "11112222"),
    ("4.8 |[|", "CDEF|[|CDEF|", "11112222"),
    ("4.8 [|:::", "CDEF[|:::CDEF:|", "11112222"),
    ("4.8 a dotted bar line in a long bar", "CD.|EF|CDEF|", "11112222"),
    ("4.8 an invisible bar line in a bar", "CD[|]EF|CDEF|", "11112222"),
    ("a pick-up", "F|CDEF|CDE|]", "01111222"),
    ("a pick-up before |:", "F|:CDEF|CDE:|", "01111222"),
    ("a repeat within a bar", "CDEF|CD:|EF|CDEF|", "1111222233" + "33"),
    ("endings that complete a bar", "|:CDEF|CD|1EF:|2GA|CDEF|]", "11112222" + "22" + "3333"),
    ("4.9 endings are bars", "|:CDEF|1CDEF:|2CDEF|]", "111122223333"),
]


@pytest.mark.parametrize(("music", "bars"), [c[1:] for c in BARS], ids=[c[0] for c in BARS])
def test_bars(music: str, bars: str) -> None:
    written = tune(music, "M:4/4\nL:1/4\n")
    assert "".join(str(n.bar) for n in written.notes) == bars
    assert written.problems == ()


def test_4_9_a_number_away_from_its_bar_line_is_no_ending() -> None:
    written = tune("CDEF| 1CDEF|", "M:4/4\nL:1/4\n")
    assert any("“1”" in message for message in warned(written))


def test_2_2_5_comments_and_remarks() -> None:
    written = tune("|:DEF FED| % this is an end of line comment\n% this is a comment line\nDEF [r:and a remark] FED:|")
    assert [n.pitch for n in written.notes] == [62, 64, 65, 65, 64, 62] * 2
    assert written.problems == ()


def test_2_2_5_a_line_with_only_a_comment_is_no_empty_line() -> None:
    assert len(tune("CDE|\n   % nothing here\nFGA|").notes) == 6


def test_2_2_4_lines_of_white_space_are_empty() -> None:
    book = read_abc("X:1\nT:a\nK:C\nCDE|\n \t \nfree text | with a bar\n\nX:2\nT:b\nK:C\nFGA|\n")
    assert [len(t.notes) for t in book.tunes] == [3, 3]


def test_2_2_2_the_file_header_gives_defaults() -> None:
    text = "%abc-2.1\nM:6/8\nL:1/4\nO:Ireland\nR:jig\n\nX:1\nT:a\nK:C\nC|\n\nX:2\nT:b\nM:2/4\nR:polka\nK:C\nC|\n"
    one, two = read_abc(text).tunes
    assert (one.meter.text, one.unit, one.rhythm, one.field("O")) == ("6/8", Fraction(1, 4), "jig", "Ireland")
    assert (two.meter.text, two.unit, two.rhythm, two.field("O")) == ("2/4", Fraction(1, 4), "polka", "Ireland")


def test_2_2_3_free_text_between_tunes_is_left_out() -> None:
    text = "Dear reader,\nhere are tunes.\n\nX:1\nT:a\nK:C\nC|\n\nA word between.\n\nX:2\nT:b\nK:C\nD|\n"
    assert [t.title for t in read_abc(text).tunes] == ["a", "b"]


def test_3_1_2_several_titles() -> None:
    written = read_abc("X:1\nT:Dusty Miller, The\nT:Binny's Jig\nK:G\nG|\n").tunes[0]
    assert (written.title, written.titles) == ("Dusty Miller, The", ("Dusty Miller, The", "Binny's Jig"))


def test_3_3_field_continuation() -> None:
    written = read_abc("X:1\nT:a\nH:this is considered\n% a comment\n+:as a single entry\nH:another\nK:C\nC|\n").tunes[
        0
    ]
    assert [t for n, t in written.fields if n == "H"] == ["this is considered as a single entry", "another"]


def test_10_1_history_over_several_lines() -> None:
    written = read_abc("X:1\nT:a\nH:a long\nstory\nM:4/4\nK:C\nC|\n").tunes[0]
    assert written.field("H") == "a long story"
    assert written.problems == ()


def test_3_fields_that_do_not_exist_are_left_out_with_a_warning() -> None:
    written = read_abc("X:1\nT:a\nJ:what\nK:C\nC|\n").tunes[0]
    assert [(p.line, p.severity) for p in written.problems] == [(3, "warning")]


def test_3_a_line_that_begins_with_a_note_and_a_colon_is_music() -> None:
    assert pitches("C|\nd:|\ne|") == [60, 74, 76]


def test_3_2_both_ways_of_changing_the_meter_are_the_same() -> None:
    header = "M:6/8\nL:1/8\n"
    inline = tune("E2E EFE|E2E EFG|[M:9/8] A2G F2E D2|]", header)
    by_line = tune("E2E EFE|E2E EFG|\\\nM:9/8\nA2G F2E D2|]", header)
    assert [(n.onset, n.pitch, n.bar) for n in inline.notes] == [(n.onset, n.pitch, n.bar) for n in by_line.notes]


@pytest.mark.parametrize("music", ["abc cba|\\ % comment\nabc cba|", "abc \\\ncba|abc cba|", "abc cba|abc cba|"])
def test_6_1_1_continued_lines(music: str) -> None:
    assert pitches(music) == [81, 83, 72, 72, 83, 81] * 2
    assert tune(music).problems == ()


@pytest.mark.parametrize(
    ("header", "music"),
    [("I:linebreak $\n", "|:abc def|$fed cba:|"), ("I:linebreak !\n", "|:abc def|!fed cba:|"), ("", "abc|$def!|"),
     ("%%continueall true\n", "abc|!def!ga|")],
)  # fmt: skip
def test_6_1_1_line_break_signs_are_not_music(header: str, music: str) -> None:
    wanted = [c for c in music if c in "abcdefg"]
    written = tune(music, "L:1/8\n" + header)
    assert len(written.notes) == len(wanted)
    assert written.problems == ()


def test_12_2_an_exclamation_mark_with_a_bar_line_before_the_next_is_a_line_break() -> None:
    assert [n.ornaments for n in notes("A!B|c!trill!d")] == [(), (), (), ("trill",)]


@pytest.mark.parametrize(("how", "wanted"), [("not", [61, 60, 72]), ("octave", [61, 61, 72]), ("pitch", [61, 61, 73])])
@pytest.mark.parametrize("form", ["I:propagate-accidentals {}\n", "%%propagate-accidentals {}\n"])
def test_11_3_propagation(how: str, wanted: list[int], form: str) -> None:
    assert pitches("^CCc|", "L:1/8\n" + form.format(how)) == wanted


def test_4_2_microtones_are_refused_with_a_warning() -> None:
    written = tune("^/F G|")
    assert [n.pitch for n in written.notes] == [65, 67]
    assert [p.severity for p in written.problems] == ["warning"]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("caf\\'e", "café"),
        ("caf&eacute;", "café"),
        ("caf\\u00e9", "café"),
        ("\\AArhus", "Århus"),
        ("\\cCa va", "Ça va"),
        ("Stra\\ssE", "StraßE"),
        ("\\'Eire", "Éire"),
        ('M\\"uller', "Müller"),
        ("\\~nandu", "ñandu"),
        ("\\vSkoda", "Škoda"),
        ("\\HO", "Ő"),
        ("\\ue", "ĕ"),
        ("\\DH \\th", "Ð þ"),
        ("gin & tonic", "gin & tonic"),
        ("G\\&T", "G&T"),
        ("100\\%", "100%"),
        ("a\\\\b", "a\\b"),
        ("&copy; 1850", "© 1850"),
        ("\\U0001d11e", "\U0001d11e"),
        ("\\oA", "Å"),
        ("\\/O", "Ø"),
    ],
)
def test_8_2_text_strings(text: str, wanted: str) -> None:
    assert read_abc(f"X:1\nT:{text}\nK:C\nC|\n").tunes[0].title == wanted


def test_7_the_first_voice_is_the_melody_and_the_others_are_kept() -> None:
    text = "X:1\nT:a\nM:4/4\nL:1/4\nV:T1\nV:T2\nK:C\n[V:T1]cdef|g4|\n[V:T2]CDEF|G4|\n[V:T1]a4|\n"
    written = read_abc(text).tunes[0]
    assert [n.pitch for n in written.notes] == [72, 74, 76, 77, 79, 81]
    assert [(v.name, [n.pitch for n in v.notes]) for v in written.voices] == [("T2", [60, 62, 64, 65, 67])]
    assert [p.message for p in written.problems] == ["The tune has several voices; “T1” is taken as the melody."]


def test_7_another_voice_can_be_asked_for() -> None:
    text = "X:1\nT:a\nM:4/4\nL:1/4\nK:C\nV:high\ncdef|\nV:low octave=-1\nCDEF|\n"
    assert [n.pitch for n in read_abc(text, voice="low").tunes[0].notes] == [48, 50, 52, 53]


def test_7_1_a_clef_of_a_voice_transposes_it() -> None:
    text = "X:1\nT:a\nL:1/4\nV:T clef=treble-8\nK:C\nV:T\nC|\n"
    assert read_abc(text).tunes[0].notes[0].pitch == 48


def test_7_4_an_overlay_is_left_out_of_the_melody() -> None:
    written = tune("A2|cdefga&\\\nAAAAAA&\\\nFEDCB,A,|]", "M:6/8\nL:1/8\n")
    assert [n.pitch for n in written.notes] == [69, 72, 74, 76, 77, 79, 81]
    assert written.bars == 1
    assert [[n.pitch for n in v.notes][:1] for v in written.voices] == [[69], [65]]


def test_7_4_an_overlay_of_two_bars() -> None:
    written = tune("g4f4|e6e2|\n&&(d8|c6)c2|\nC8|]", "M:4/4\nL:1/8\n")
    assert [n.pitch for n in written.notes] == [79, 77, 76, 76, 60]
    assert [n.onset for n in written.voices[0].notes] == [0, 1, Fraction(7, 4)]
    assert written.bars == 3


def test_9_1_a_static_macro() -> None:
    written = tune("~G3 ~G2 ~F3|", "L:1/8\nm: ~G3 = G{A}G{F}G\n")
    assert [(n.pitch, n.grace) for n in written.notes] == [(67, ()), (67, (69,)), (67, (65,)), (67, ()), (65, ())]


def test_9_2_a_transposing_macro() -> None:
    written = tune("~A2 ~d2|", "L:1/8\nm: ~n2 = (3o/n/m/ n\n", "ADor")
    assert [n.pitch for n in written.notes] == [71, 69, 67, 69, 76, 74, 72, 74]


def test_4_15_a_symbol_line_is_the_same_as_symbols_before_the_notes() -> None:
    below = tune('C2  C2 Ez   A2|\ns: "C" *  "Am" * |\ns: *   *  !>!  * |')
    before = tune('"C" C2 C2 "Am" !>! Ez A2|')
    assert [(n.chord, n.ornaments) for n in below.notes] == [(n.chord, n.ornaments) for n in before.notes]


def test_4_15_a_bar_in_a_symbol_line_advances_to_the_next_bar() -> None:
    written = tune('CDEF|G```AB`c\ns: "^slow" | !f! ** !fff!')
    assert [n.ornaments for n in written.notes] == [()] * 4 + [("f",), (), (), ("fff",)]


def test_3_1_17_unknown_instructions_are_left_out_silently() -> None:
    assert tune("C|", "I:papersize A4\nI:newpage\n%%titlefont Arial\n").problems == ()


def test_10_5_1_a_file_with_one_tune_may_lack_its_number() -> None:
    written = read_abc("T:Alone\nM:4/4\nL:1/4\nK:G\nGABc|\n").tunes[0]
    assert (written.number, written.title, len(written.notes)) == (1, "Alone", 4)
    assert len(written.problems) == 1
