"""Pieces on the staff: every note has its head, in order, and only what fits is engraved."""

from __future__ import annotations

import subprocess
import sys
import xml.etree.ElementTree as Xml
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.engraving.engraver import SPACE, EngravedStaff, engrave
from companion.engraving.staff_musicxml import staff_musicxml
from companion.engraving.staff_tune import StaffPiece, bars_of_piece, notes_within
from tests.engraving.pieces import DEMO, demo_piece, made_piece

WIDE = 2000.0  # staff spaces: room for all of a tune


def whole(piece: StaffPiece) -> EngravedStaff:
    found = engrave(staff_musicxml(piece, Fraction(0), piece.laid.length), WIDE)
    assert found is not None
    return found


def beams(piece: StaffPiece) -> list[str]:
    """The beams of each note head, the first of several beams first."""
    root = Xml.fromstring(staff_musicxml(piece, Fraction(0), piece.laid.length))
    return ["/".join(beam.text or "" for beam in note.findall("beam")) for note in root.iter("note")]


@pytest.mark.parametrize("number", range(len(DEMO)))
def test_a_demo_tune_has_a_head_for_each_note_from_left_to_right(number: int) -> None:
    piece = demo_piece(number)
    heads = whole(piece).heads
    assert len(heads) == len(piece.laid.notes)
    xs = [x for x, _ in heads]
    assert all(a + SPACE < b for a, b in pairwise(xs))
    pitches = [one.note.pitch for one in piece.laid.notes]
    by_pitch = {pitch: {y for (_, y), other in zip(heads, pitches, strict=True) if other == pitch} for pitch in pitches}
    assert all(len(ys) == 1 for ys in by_pitch.values())
    assert max(by_pitch[max(pitches)]) < min(by_pitch[min(pitches)])


@pytest.mark.parametrize("number", range(len(DEMO)))
def test_each_bar_by_itself_has_its_own_notes(number: int) -> None:
    piece = demo_piece(number)
    edges = bars_of_piece(piece)
    for start, end in pairwise(edges[:7]):
        engraved = engrave(staff_musicxml(piece, start, end), 120.0)
        assert engraved is not None
        assert len(engraved.heads) == len(notes_within(piece, start, end))


def test_what_does_not_fit_on_one_system_is_not_engraved() -> None:
    text = staff_musicxml(demo_piece(2), Fraction(0), Fraction(8))
    assert engrave(text, 60.0) is None
    fits = engrave(text, 300.0)
    assert fits is not None
    assert fits.width == pytest.approx(300 * SPACE, rel=0.01)
    assert engrave("no music", 100.0) is None


def test_a_note_over_a_bar_line_is_one_note_with_two_heads() -> None:
    piece = made_piece([Fraction(3, 4), Fraction(1, 2), Fraction(3, 4)])
    text = staff_musicxml(piece, Fraction(0), piece.laid.length)
    assert text.count('<tie type="start"') == text.count('<tie type="stop"') == 1
    assert len(whole(piece).heads) == 3
    assert notes_within(piece, Fraction(1), Fraction(2)) == (1, 2)
    second = engrave(staff_musicxml(piece, Fraction(1), Fraction(2)), 100.0)
    assert second is not None
    assert len(second.heads) == 2


def test_beams_go_by_half_bars_in_common_time_and_short_notes_have_hooks() -> None:
    assert beams(made_piece([Fraction(1, 8)] * 8)) == ["begin", "continue", "continue", "end"] * 2
    dotted = [Fraction(3, 16), Fraction(1, 16), Fraction(1, 4), Fraction(1, 2)]
    assert beams(made_piece(dotted)) == ["begin", "end/backward hook", "", ""]


def test_triplets_are_bracketed() -> None:
    text = staff_musicxml(made_piece([Fraction(1, 12)] * 6 + [Fraction(1, 2)]), Fraction(0), Fraction(1))
    assert text.count('<tuplet type="start"') == text.count('<tuplet type="stop"') == 2


_LENGTH = st.sampled_from([Fraction(1, n) for n in (1, 2, 4, 8, 12, 16, 24)] + [Fraction(n, 16) for n in (3, 5, 7, 11)])


@settings(max_examples=60, deadline=None)
@given(st.lists(_LENGTH, min_size=1, max_size=14), st.lists(st.integers(52, 90), min_size=1, max_size=5))
def test_any_rhythm_has_a_head_for_each_note(lengths: list[Fraction], pitches: list[int]) -> None:
    """Random lengths and pitches, ties and triplets over bar lines among them."""
    piece = made_piece(lengths, pitches)
    engraved = whole(piece)
    assert len(engraved.heads) == len(lengths)
    xs = [x for x, _ in engraved.heads]
    assert xs == sorted(xs)


def test_a_second_thread_engraves_too() -> None:
    text = staff_musicxml(made_piece([Fraction(1, 4)] * 4), Fraction(0), Fraction(1))
    assert engrave(text, 100.0) is not None
    with ThreadPoolExecutor(1) as pool:
        assert pool.submit(engrave, text, 100.0).result() is not None


def test_the_engraver_is_loaded_only_when_it_is_needed() -> None:
    code = "import sys, companion.screen.window, companion.pages.practice_page; sys.exit('verovio' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
