"""Bars, lines, voices, macros, the file: the statements of ABC 2.1 (December 2011), each under its section.

Source of every expectation: https://abcnotation.com/wiki/abc:standard:v2.1, the section in the first column. Where the
standard leaves a choice to the program, the case says "(ours)".
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from companion.notation.abc_reader import read_abc
from tests.notation.abc_cases import notes, pitches, tune, warned

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


def test_a_tune_of_which_no_note_is_played_is_an_error() -> None:
    """Found by fuzzing: all its notes stand in an ending that never comes."""
    written = tune("::2::2b")
    assert [problem.message for problem in written.errors] == [
        "No note of the tune is ever played; look at its endings."
    ]
