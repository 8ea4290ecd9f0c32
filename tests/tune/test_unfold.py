"""The order of play: repeats, endings, parts and jumps. Sections are those of the ABC 2.1 standard."""

from __future__ import annotations

from fractions import Fraction

import pytest

from companion.errors import UserError
from companion.notation.abc_reader import read_abc
from companion.tune.tune import Tune
from companion.tune.unfold import unfold


def tune(music: str, header: str = "M:4/4\nL:1/4\n") -> Tune:
    return read_abc(f"X:1\nT:t\n{header}K:C\n{music}\n").tunes[0]


def letters(music: str, header: str = "M:4/4\nL:1/4\n") -> str:
    """The names of the notes in the order of play (all between C and B)."""
    names = {60: "C", 62: "D", 64: "E", 65: "F", 67: "G", 69: "A", 71: "B"}
    return "".join(names[n.pitch] for n in unfold(tune(music, header)).notes)


ORDERS = [
    # 4.8: what the signs mean
    ("4.8 a repeat", "|:C4|D4:|", "CDCD", "AA"),
    ("4.8 the first |: left out", "C4|D4:|", "CDCD", "AA"),
    ("4.8 back to the last end of a repeat", "C4:|D4:|", "CCDD", "AABB"),
    ("4.8 back to the last double bar", "C4||D4:|", "CDD", "ABB"),
    ("4.8 back to |: past a double bar", "|:C4||D4:|", "CDCD", "AA"),
    ("4.8 :: ends and begins", "|:C4::D4:|", "CCDD", "AABB"),
    ("4.8 :|: is ::", "|:C4:|:D4:|", "CCDD", "AABB"),
    ("4.8 :||: is ::", "|:C4:||:D4:|", "CCDD", "AABB"),
    ("4.8 three times", "|::C4::|", "CCC", "AAA"),
    ("4.8 no repeats", "C4|D4||E4|F4|]", "CDEF", "AB"),
    # 4.9 and 4.10: endings
    ("4.9 two endings", "|:C4|1D4:|2E4|]", "CDCE", "AA"),
    ("4.9 in brackets", "|:C4|[1 D4:|[2 E4|]", "CDCE", "AA"),
    ("4.9 without |:", "C4|1D4:|2E4||F4|]", "CDCEF", "AAB"),
    ("4.9 the last ending closed too", "|:C4|1D4:|2E4:|", "CDCE", "AA"),
    ("4.9 two parts with endings", "C4|1D4:|2E4||F4|1G4:|2A4|]", "CDCEFGFA", "AABB"),
    ("4.10 a list", "|:C4|[1,3 D4:|[2 E4:|", "CDCECD", "AAA"),
    ("4.10 a range", "|:C4|[1-3 D4:|[4 E4|]", "CDCDCDCE", "AAAA"),
    ("4.10 four endings", "C4|[1D4:|[2E4:|[3F4:|[4G4|]", "CDCECFCG", "AAAA"),
    ("4.9 a first ending only", "|:C4|1D4:|E4|]", "CDCE", "AAB"),
    # pick-ups
    ("a pick-up before the repeat is played once", "G|:CDEF|G3:|", "GCDEFGCDEFG", "AA"),
    ("a pick-up between two repeats too", "|:CDEF|G3:|A|:CDEF|G3:|", "CDEFGCDEFGACDEFGCDEFG", "AABB"),
    ("a full bar before the repeat is a part", "G4|:CDEF|G4:|", "GCDEFGCDEFG", "ABB"),
    ("a short bar at the very end belongs to the last part", "C4:|D3||E", "CCDE", "AAB"),
    ("... and is played after its last time only", "C4:|D3:|E", "CCDDE", "AABB"),
    ("... of three", "C4:|D4:|E3:|G", "CCDDEEG", "AABBCC"),
    ("a short bar that is repeated is a part", "C4:|D3|:E:|", "CCDEE", "AABB"),
    ("a full bar at the very end is a part", "C4:|D4||E4", "CCDE", "AABC"),
    # signs as they are met in books
    ("a double bar just before the end of a repeat", "|:C4|D4||:|E4|]", "CDCDE", "AAB"),
    ("... of which the beginning is not marked", "C4|D4||:|E4|]", "CDCDE", "AAB"),
    ("a double bar within a repeat", "|:C4||D4|E4:|F4|]", "CDECDEF", "AAB"),
    ("a double bar after a repeat begins a part", "C4:|D4||E4:|", "CCDEE", "AABCC"),
    ("a double bar after the first ending", "|:C4|1D4||2E4|]", "CDCE", "AA"),
    ("endings without a repeat sign", "C4|[1D4|[2E4|F4|]", "CDCEF", "AA"),
    ("as often as the greater of the two signs says", "|:C4::|", "CCC", "AAA"),
    ("... which may be the first", "|::C4:|", "CCC", "AAA"),
    ("a first ending only, and no beginning marked", "C4|1D4:|E4|]", "CDCE", "AAB"),
    ("a first ending and no sign of a repeat", "C4|1D4||E4|]", "CDE", "AB"),
    ("endings with a new repeat sign between them, in a later part", "C4||D4|1E4:||:2F4|]", "CDEDF", "ABB"),
    ("endings with a new repeat sign between them", "|:C4|1D4::2E4|]", "CDCE", "AA"),
    ("... and a double bar", "|:C4|1D4:||:2E4|]", "CDCE", "AA"),
    ("endings of a tune in two halves with no sign between", "|:C4|1D4:|2E4|1F4:|2G4|]", "CDCEFG", "AABB"),
    ("what follows the second ending is a part", "|:C4|1D4:|2E4||F4:|", "CDCEFF", "AABB"),
    ("the ending of a later time marked first", "|:C4|[2D4:|[1E4|]", "CCDE", "AAB"),
    ("an ending for the third time only", "|:C4|[3D4:|E4|]", "CCCDE", "AAAB"),
]


@pytest.mark.parametrize(("music", "order", "form"), [o[1:] for o in ORDERS], ids=[o[0] for o in ORDERS])
def test_the_order_of_play(music: str, order: str, form: str) -> None:
    assert letters(music) == order
    assert tune(music).form == form
    assert tune(music).problems == ()


ODD = [
    ("a repeat begun within a repeat", "|:C4|D4|:E4:|", "CDEE", 8, "before the one before it has ended"),
    ("a repeat that the end of the tune ends", "C4:|\n|:D4|E4", "CCDEDE", 1, "not ended"),
    ("... as often as it was begun for", "|::C4|D4", "CDCDCD", 1, "not ended"),
    ("a repeat of nothing", ":|C4|]", "C", 1, "nothing before it"),
    ("a first ending after the repeat sign", "C4:|1D4:|2E4|]", "CDCE", 3, "at a bar line"),
    ("a second ending without a first", "|:C4:|2D4|]", "CCD", 5, "without a first one"),
    ("a last ending that runs on", "|:C4|1D4:|2E4|F4:|", "CDCEFF", 17, "as long as the first"),
    ("... by several bars", "|:C4|1D4:|2E4|F4|G4:|", "CDCEFGFG", 20, "as long as the first"),
    ("... with two bars in each", "|:C4|1D4|E4:|2D4|F4|G4:|", "CDECDFGG", 23, "as long as the first"),
    ("... into the next first ending", "|:C4|1D4:|2E4|F4|1G4:|2A4|]", "CDCEFGFA", 17, "as long as the first"),
]


@pytest.mark.parametrize(("music", "order", "column", "words"), [o[1:] for o in ODD], ids=[o[0] for o in ODD])
def test_signs_that_contradict_each_other_are_read_on_from_with_a_warning(
    music: str, order: str, column: int, words: str
) -> None:
    assert letters(music) == order
    (problem,) = tune(music).problems
    assert problem.severity == "warning"
    assert (problem.line, problem.column) == (6 + music.count("\n"), column)
    assert words in problem.message


PARTS = [
    ("3.1.9 as written", "", "P:A\nC4|]\nP:B\nD4|]", "CD", "AB"),
    ("3.1.9 an order", "P:ABA\n", "P:A\nC4|]\nP:B\nD4|]", "CDC", "ABA"),
    ("3.1.9 a number", "P:A3B\n", "P:A\nC4|]\nP:B\nD4|]", "CCCD", "AAAB"),
    ("3.1.9 a group", "P:(AB)2\n", "P:A\nC4|]\nP:B\nD4|]", "CDCD", "ABAB"),
    (
        "3.1.9 nested, with dots",
        "P:((AB)2.(CD)2)2\n",
        "[P:A]C4|[P:B]D4|[P:C]E4|[P:D]F4|]",
        "CDCDEFEF" * 2,
        "ABABCDCD" * 2,
    ),
    ("4.10 endings by the order", "P:A4\n", "P:A\nC4|[1D4:|[2E4:|[3F4:|[4G4|]", "CDCECFCG", "AAAA"),
    ("4.10 endings without repeat signs", "P:ABA\n", "P:A\nC4|[1D4|[2E4|]\nP:B\nF4|]", "CDFCE", "ABA"),
    ("a part asked for once keeps its repeats", "P:AB\n", "P:A\n|:C4:|\nP:B\n|:D4:|", "CCDD", "AABB"),
    ("an order that tells the repeats", "P:AABB\n", "P:A\n|:C4:|\nP:B\n|:D4:|", "CCDD", "AABB"),
    ("an order for parts without names", "P:AABB\n", "|:C4:|\n|:D4:|", "CCDD", "AABB"),
    ("an order that a tune without names does not fit", "P:BC\n", "C4||D4|]", "CD", "AB"),
    ("a bar at the very end is played once", "P:AABB\n", "C4:|D3:|E", "CCDDE", "AABB"),
    ("a number repeats what stands before it only", "P:(AB)2A3\n", "P:A\nC4|]\nP:B\nD4|]", "CDCDCCC", "ABABAAA"),
    ("a group in a group", "P:(A(BA)2)2\n", "P:A\nC4|]\nP:B\nD4|]", "CDCDCCDCDC", "ABABAABABA"),
    ("a number in front repeats nothing", "P:2A(3B)\n", "P:A\nC4|]\nP:B\nD4|]", "CD", "AB"),
    ("spaces and commas say nothing", "P: A, B A\n", "P:A\nC4|]\nP:B\nD4|]", "CDC", "ABA"),
    ("a number after a number repeats nothing", "P:A2.3B\n", "P:A\nC4|]\nP:B\nD4|]", "CCD", "AAB"),
    ("a part asked for no time", "P:A0B\n", "P:A\nC4|]\nP:B\nD4|]", "D", "B"),
    ("a pick-up before the first part", "P:ABA\n", "G|\nP:A\nCDE|]\nP:B\nD4|]", "GCDEDGCDE", "ABA"),
    ("what stands before the first part comes first", "P:BA\n", "|:G4:|F4||\nP:A\nC4|]\nP:B\nD4|]", "GGFDC", "CCDBA"),
    ("the letters are the parts' own", "", "P:B\nC4|]\nP:A\nD4|]", "CD", "BA"),
    ("a part with a word for a name has the next free letter", "", "P:Slow\n|:C4:|\nP:A\nD4|]", "CCD", "BBA"),
    ("... which goes with the name", "", "P:Slow\nC4|]\nP:A\nD4|]\nP:Slow\nE4|]", "CDE", "BAB"),
    ("an order for parts with words for names", "P:BA\n", "P:Slow\nC4|]\nP:Fast\nD4|]", "DC", "BA"),
    ("a part asked for again has its repeats again", "P:ABA\n", "P:A\n|:C4:|\nP:B\nD4|]", "CCDCC", "AABAA"),
    ("... though nothing marks where they begin", "P:AB\n", "P:A\nC4:|\nP:B\nD4|]", "CCD", "AAB"),
    ("a part shorter than a bar", "", "P:A\n|:CDE:|\nP:B\nD4|]", "CDECDED", "AAB"),
    ("... though nothing marks where it begins", "", "P:A\nCDE:|\nP:B\nD4|]", "CDECDED", "AAB"),
    ("a part of two sections", "P:AB\n", "P:A\n|:C4:|\nE4|]\nP:B\nD4|]", "CCED", "AB"),
    ("... twice in a row, without its repeats", "P:AAB\n", "P:A\n|:C4:|\nE4|]\nP:B\nD4|]", "CECED", "AAB"),
    ("... as it is written", "", "P:A\n|:C4:|\nE4|]\nP:B\nD4|]", "CCED", "AB"),
    ("endings begin again when they are through", "P:A3B\n", "P:A\nC4|[1D4|[2E4|]\nP:B\nF4|]", "CDCECDF", "AAAB"),
    ("... and when it is asked for anew", "P:ABAA\n", "P:A\nC4|[1D4|[2E4|]\nP:B\nF4|]", "CDFCDCE", "ABAA"),
    ("a part of another letter case is another part", "P:Aa\n", "P:A\nC4|]\nP:a\nD4|]", "CD", "Aa"),
]

NO_ORDERS = [
    ("P:A(B\n", "is not an order"),
    ("P:A)B\n", "is not an order"),
    ("P:A-B\n", "is not an order"),
    ("P:XY\n", "asks for X, Y, which"),
]


@pytest.mark.parametrize(("header", "words"), NO_ORDERS)
def test_what_is_no_order_of_the_parts_is_told_and_the_tune_played_as_written(header: str, words: str) -> None:
    music, header = "P:B\n|:C4:|\nP:A\nD4|]", "M:4/4\nL:1/4\n" + header
    assert letters(music, header) == "CCD"
    (problem,) = tune(music, header).problems
    assert (problem.severity, problem.line, problem.column) == ("warning", 5, 3)
    assert words in problem.message


def test_a_part_that_is_not_there_is_told_and_passed_over() -> None:
    music, header = "P:A\nC4|]\nP:B\nD4|]", "M:4/4\nL:1/4\nP:BCAC\n"
    assert letters(music, header) == "DC"
    assert "asks for C, which" in tune(music, header).problems[0].message


TOO_LONG = [
    ("A20001", "too long"),
    ("(A200)101", "too long"),
    ("A9999A9999A9999", "too long"),
    ("((((A20)20)20)20)20", "too long"),
    ("A" + "9" * 5000, "too long"),
    ("(" * 100 + "A" + ")" * 100, "too long"),
    ("B(A200)50", "longer than"),  # part A has two bars
]


@pytest.mark.parametrize(("order", "words"), TOO_LONG, ids=range(len(TOO_LONG)))
def test_more_bars_than_can_be_meant_are_an_error(order: str, words: str) -> None:
    written = tune("P:A\n|:C4:|\nE4|]\nP:B\nD4|]", f"M:4/4\nL:1/4\nP:{order}\n")
    assert [(p.line, p.column) for p in written.errors] == [(5, 3)]
    assert words in written.errors[0].message
    with pytest.raises(UserError, match=r"^5:3: “t” cannot be played: "):
        unfold(written)


def test_a_tune_without_a_name_that_cannot_be_played_is_named_by_its_number() -> None:
    untitled = read_abc("X:7\nM:4/4\nK:C\nz4|]\n").tunes[0]
    with pytest.raises(UserError, match="Tune 7 cannot be played: The tune has no notes"):
        unfold(untitled)


def test_a_long_line_that_is_no_order_is_quoted_in_short() -> None:
    for order, quoted in (("A-B", "“A-B” is"), ("A-" * 100, "“" + "A-" * 20 + "…” is")):
        (problem,) = tune("C4|]", f"M:4/4\nL:1/4\nP:{order}\n").problems
        assert problem.message.startswith(quoted)


def test_as_many_bars_as_can_be_meant_are_played() -> None:
    assert tune("P:A\nC4|]", "M:4/4\nL:1/4\nP:(A200)100\n").form == "A" * 20_000


@pytest.mark.parametrize(("header", "music", "order", "form"), [p[1:] for p in PARTS], ids=[p[0] for p in PARTS])
def test_the_order_of_parts(header: str, music: str, order: str, form: str) -> None:
    header = "M:4/4\nL:1/4\n" + header
    assert letters(music, header) == order
    assert tune(music, header).form == form
    assert tune(music, header).problems == ()


JUMPS = [
    ("D.C. al fine", "C4|D4!fine!|E4|F4!D.C.!|]", "CDEFCD"),
    ("D.S. al fine", "C4|!segno!D4|E4!fine!|F4!D.S.!|]", "CDEFDE"),
    ("D.C. al coda", "C4|D4!dacoda!|E4|F4!D.C.!||!coda!G4|]", "CDEFCDG"),
    ("two coda signs", "C4|D4!coda!|E4|F4!D.S.!||!coda!G4|]", "CDEFCDG"),
    ("!D.C.alcoda!", "C4|D4!dacoda!|E4|F4!D.C.alcoda!||!coda!G4|]", "CDEFCDG"),
    ("!D.S.alfine!", "C4|!segno!D4|E4!fine!|F4!D.S.alfine!|]", "CDEFDE"),
    ("in words after the notes (ours)", 'C4|D4"Fine"|E4|F4"D.C."|]', "CDEFCD"),
    ("in words over the notes (ours)", 'C4|"^Fine"D4|E4|"^D.C. al Fine"F4|]', "CDEFCD"),
    ("in words, from the sign (ours)", 'C4|"^Segno"D4|"Fine"E4|F4"D.S. al fine"|]', "CDEFDE"),
    ("no repeats on the way back", "|:C4:|D4!fine!||E4!D.C.!|]", "CCDECD"),
    ("the last ending on the way back", "|:C4|1D4:|2E4!fine!||F4!D.C.!|]", "CDCEFCE"),
    ("D.C. at the end with no fine is the next round", "C4|D4!D.C.!|]", "CD"),
    ("... after repeats too", "|:C4:|\n|:D4:|!D.C.!|]", "CCDD"),
    ("D.C. before the end goes back and then on", "C4|D4|E4!D.C.!|F4|]", "CDECDEF"),
    ("... after a repeat", "|:C4|D4:|E4!D.C.!|F4|G4|]", "CDCDECDEFG"),
    ("... within a repeat, on its last time", "|:C4|D4!D.C.!:|E4|]", "CDCDCDE"),
    ("... within a second ending", "|:C4|1D4:|2E4!D.C.!||F4|]", "CDCECEF"),
    ("D.C. goes past the sign to the beginning", "C4|!segno!D4|E4|F4!D.C.!|G4|]", "CDEFCDEFG"),
    ("D.S. without a sign goes to the beginning", "C4|D4|F4!D.S.!|G4|]", "CDFCDFG"),
    ("the first of two signs", "C4|!segno!D4|!segno!E4|F4!D.S.!|G4|]", "CDEFDEFG"),
    ("the first of two jumps", "C4!D.C.!|D4!D.C.!|E4|]", "CCDE"),
    ("a fine before the sign is passed over", "C4!fine!|!segno!D4|E4!fine!|F4!D.S.!|]", "CDEFDE"),
    ("a fine after the jump is passed over", "C4|D4!D.C.!|E4!fine!|F4|]", "CDCDEF"),
    ("a fine at the jump itself", "C4|D4!fine!!D.C.!|E4|]", "CDCD"),
    ("after the fine nothing is played", "C4|D4!fine!|E4|F4!D.C.!|G4|]", "CDEFCD"),
    ("no repeats on the way to the coda", "|:C4|D4:|!dacoda!|:E4|F4:|G4!D.C.!|!coda!A4|B4|]", "CDCDEFEFGCDAB"),
    ("the coda has its repeats", "|:C4:|D4|E4!dacoda!||F4!D.C.!||!coda!|:G4:|]", "CCDEFCDEGG"),
    ("one coda sign alone is no coda", "C4|D4!coda!|E4!D.C.!|F4|]", "CDECDEF"),
    ("of three coda signs the first leaves and the last arrives", "C4|!coda!D4|E4!D.C.!|!coda!F4|!coda!G4|]", "CDECG"),
    ("a jump in an ending that never comes is taken before it", "C4::2D4::2E4!D.C.!||F4|]", "CCDCDF"),
    ("the way back begins with the pick-up", "G|:CDEF|G3!fine!:|A|CDEF|G3!D.C.!|]", "GCDEFGCDEFGACDEFGGCDEFG"),
    ("a fine in a part that is repeated", "|:C4!fine!:|\n|:D4!D.C.!:|", "CCDDC"),
]


@pytest.mark.parametrize(("music", "order"), [j[1:] for j in JUMPS], ids=[j[0] for j in JUMPS])
def test_jumps(music: str, order: str) -> None:
    assert letters(music) == order


def test_the_parts_of_a_jump_go_on_counting_their_times() -> None:
    round_ = unfold(tune("|:C4:|D4!fine!||E4|F4!D.C.!|]"))
    assert [(n.part, n.turn, n.bar) for n in round_.notes] == [
        ("A", 1, 1), ("A", 2, 1), ("B", 1, 2), ("C", 1, 3), ("C", 1, 4), ("A", 3, 1), ("B", 2, 2),
    ]  # fmt: skip
    assert round_.form == "AABCAB"


def test_an_order_of_the_parts_stands_above_the_jumps() -> None:
    music = "P:A\nC4|D4!fine!|]\nP:B\nE4|F4!D.C.!|]"
    assert letters(music) == "CDEFCD"
    assert letters(music, "M:4/4\nL:1/4\nP:AB\n") == "CDEF"


def test_a_part_of_two_sections_counts_as_one_time_through() -> None:
    round_ = unfold(tune("P:A\n|:C4:|\nE4|]\nP:B\nD4|]", "M:4/4\nL:1/4\nP:ABA\n"))
    assert [(n.part, n.turn) for n in round_.notes] == [
        ("A", 1), ("A", 1), ("A", 1), ("B", 1), ("A", 2), ("A", 2), ("A", 2),
    ]  # fmt: skip


def test_times_of_a_part_asked_for_again_are_counted_on() -> None:
    round_ = unfold(tune("P:A\n|:C4:|\nP:B\nD4|]", "M:4/4\nL:1/4\nP:ABAAB\n"))
    assert [(n.part, n.turn) for n in round_.notes] == [
        ("A", 1), ("A", 2), ("B", 1), ("A", 3), ("A", 4), ("B", 2),
    ]  # fmt: skip


def test_the_place_of_each_note_in_the_round() -> None:
    round_ = unfold(tune("G|:CDEF|1G4:|2A3||B|C4|]"))
    assert round_.form == "AAB"
    assert round_.pickup == Fraction(1, 4)
    assert [(n.part, n.turn, n.bar, n.at) for n in round_.notes] == [
        ("A", 1, 0, Fraction(0)),
        ("A", 1, 1, Fraction(1, 4)),
        ("A", 1, 1, Fraction(2, 4)),
        ("A", 1, 1, Fraction(3, 4)),
        ("A", 1, 1, Fraction(1)),
        ("A", 1, 2, Fraction(5, 4)),
        ("A", 2, 1, Fraction(9, 4)),
        ("A", 2, 1, Fraction(10, 4)),
        ("A", 2, 1, Fraction(11, 4)),
        ("A", 2, 1, Fraction(3)),
        ("A", 2, 3, Fraction(13, 4)),
        ("B", 1, 3, Fraction(4)),
        ("B", 1, 4, Fraction(17, 4)),
    ]
    assert round_.length == Fraction(21, 4)
    quarter = Fraction(1, 4)
    assert [(s.part, s.turn, s.bar, s.at, s.length) for s in round_.bars] == [
        ("A", 1, 0, 0, quarter), ("A", 1, 1, quarter, 1), ("A", 1, 2, 5 * quarter, 1), ("A", 2, 1, 9 * quarter, 1),
        ("A", 2, 3, 13 * quarter, 3 * quarter), ("B", 1, 3, 4, quarter), ("B", 1, 4, 17 * quarter, 1),
    ]  # fmt: skip


def test_a_pick_up_in_two_pieces_is_one_pick_up() -> None:
    assert unfold(tune("G[P:A]A|CDEF|G2|]")).pickup == Fraction(1, 2)
    assert unfold(tune("CDEF|G4|]")).pickup == 0


def test_what_is_written_on_a_note_is_there_each_time_it_is_played() -> None:
    notes = unfold(tune('|:~C{D}E"G"F!2!G:|')).notes
    for first in (0, 4):
        roll, grace, chord, finger = notes[first : first + 4]
        assert roll.ornaments == ("roll",)
        assert grace.grace == (62,)
        assert chord.chord == "G"
        assert finger.finger == 2
        assert (chord.ornaments, chord.grace, grace.chord, chord.finger) == ((), (), None, None)


def test_a_tie_into_both_endings_is_joined_in_both() -> None:
    written = tune("|:C4-|1C4:|2C4|]")
    assert [(n.onset, n.length) for n in written.notes] == [(0, 2), (2, 1)]
    assert [(n.written, n.at, n.length) for n in unfold(written).notes] == [(0, 0, 2), (0, 2, 2)]


def test_a_tie_over_a_repeat_sign_follows_the_order_of_play() -> None:
    written = tune("|:C4|D2C2-:|D4|]")
    played = unfold(written).notes
    assert [(n.written, n.length) for n in played] == [
        (0, 1), (1, Fraction(1, 2)), (2, Fraction(3, 2)), (1, Fraction(1, 2)), (2, Fraction(1, 2)), (3, 1),
    ]  # fmt: skip


def test_a_bar_that_a_repeat_sign_splits_counts_once() -> None:
    written = tune("D|:EFGA|B3:|D|EFGA|B3|]")
    assert [n.bar for n in written.notes] == [0, 1, 1, 1, 1, 2, 2, 3, 3, 3, 3, 4]
    assert written.bars == 4
    assert written.problems == ()


@pytest.mark.parametrize("between", ["z", "z/", "|z2|", "x"])
def test_a_tie_over_a_rest_joins_nothing(between: str) -> None:
    """A rest between two notes of one pitch is heard, tie or not."""
    played = unfold(tune(f"C-{between}CC")).notes
    rest = {"z": 1, "z/": Fraction(1, 2), "|z2|": 2, "x": 1}[between] * Fraction(1, 4)
    quarter = Fraction(1, 4)
    assert [(n.at, n.length) for n in played] == [(at, quarter) for at in (0, quarter + rest, 2 * quarter + rest)]
