"""The order of play: repeats, endings, parts and jumps. Sections are those of the ABC 2.1 standard."""

from __future__ import annotations

from fractions import Fraction

import pytest

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
    # the end of the tune as the end of a repeat
    ("the end of the tune ends a repeat", "C4:|\n|:D4|E4", "CCDEDE", "AABB"),
]


@pytest.mark.parametrize(("music", "order", "form"), [o[1:] for o in ORDERS], ids=[o[0] for o in ORDERS])
def test_the_order_of_play(music: str, order: str, form: str) -> None:
    assert letters(music) == order
    assert tune(music).form == form


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
]


@pytest.mark.parametrize(("header", "music", "order", "form"), [p[1:] for p in PARTS], ids=[p[0] for p in PARTS])
def test_the_order_of_parts(header: str, music: str, order: str, form: str) -> None:
    header = "M:4/4\nL:1/4\n" + header
    assert letters(music, header) == order
    assert tune(music, header).form == form


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
]


@pytest.mark.parametrize(("music", "order"), [j[1:] for j in JUMPS], ids=[j[0] for j in JUMPS])
def test_jumps(music: str, order: str) -> None:
    assert letters(music) == order


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
    assert [(s.bar, s.at, s.length) for s in round_.bars][:2] == [(0, 0, Fraction(1, 4)), (1, Fraction(1, 4), 1)]


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
