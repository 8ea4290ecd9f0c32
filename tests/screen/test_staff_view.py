"""The staff above the bellows line, and the note's name in the call and on the button."""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pygame
import pytest

from companion.engraving.engraver import LINES
from companion.engraving.staff_tune import bars_of_piece
from companion.screen.look import Look
from companion.screen.page_values import PracticePage, Shown
from companion.screen.staff_view import STAFF, StaffSheet, Wanted, make_sheets
from companion.screen.theme import load_theme
from companion.screen.view import Painter
from companion.screen.window_layout import lay_out
from tests.engraving.pieces import DEMO, demo_piece
from tests.screen.glances import jig, judged, long_round

SIZES = ((800, 480), (800, 600), (1280, 720), (1920, 1080), (1200, 1920))
BOTH, STAFFED, NAMED = Look(names=True, staff=True), Look(staff=True), Look(names=True)


def picture(page: PracticePage, size: tuple[int, int] = (1280, 720), look: Look = STAFFED) -> pygame.Surface:
    surface = pygame.Surface(size, 0, 24)
    Painter(load_theme(), look).paint(surface, page)
    return surface


def band(page: PracticePage, size: tuple[int, int] = (1280, 720), look: Look = STAFFED) -> np.ndarray:
    """The staff's band: which pixels are not the ground."""
    pixels = pygame.surfarray.array3d(picture(page, size, look).subsurface(lay_out(size, page.standin, True).staff))
    found: np.ndarray = (pixels != load_theme().ground).any(axis=2)
    return found


@pytest.mark.parametrize("size", SIZES)
def test_five_lines_go_through_the_band_and_are_high_enough(size: tuple[int, int]) -> None:
    rows = np.flatnonzero(band(judged(jig(), 2), size)[10:-10].mean(axis=0) > 0.9)
    lines = [row for row in rows if row - 1 not in rows]
    assert len(lines) == LINES + 1
    assert lines[-1] - lines[0] >= STAFF / 100 * size[1] - 1


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("standin", [False, True])
def test_nothing_of_it_is_cut(size: tuple[int, int], standin: bool) -> None:
    """No ink but the playhead and the bar at the note now touches the edges of the band."""
    pixels = band(replace(judged(jig(), 2), clocked=False, current=None, standin=standin), size)
    assert pixels.any()
    assert not pixels[:, 0].any()
    assert not pixels[:, -1].any()


def test_the_note_now_has_a_bar_behind_it_that_moves_on() -> None:
    places = []
    for note in (0, 5, 12, 19):
        with_bar = band(judged(jig(clocked=False), note))
        places.append(np.flatnonzero(with_bar.mean(axis=1) > 0.99).mean())
    assert places == sorted(places)
    assert places[-1] > places[0] + 600


def test_by_heart_there_is_no_staff() -> None:
    for shown in (Shown.NOTHING, Shown.FIRST_NOTES):
        assert not band(judged(jig(shown=shown), 8)).any()
    assert band(judged(jig(), 8)).any()


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("standin", [False, True])
def test_the_staff_takes_its_height_from_its_neighbours_only(size: tuple[int, int], standin: bool) -> None:
    off, on = lay_out(size, standin), lay_out(size, standin, True)
    assert off.staff.height == 0 < on.staff.height
    assert (off.head, off.call, off.map) == (on.head, on.call, on.map)
    assert on.sentence.bottom <= on.staff.top <= on.staff.bottom <= on.line.top


def sheets_of(number: int, size: tuple[int, int]) -> tuple[StaffSheet, ...]:
    piece, layout, theme = demo_piece(number), lay_out(size, False, True), load_theme()
    edges = bars_of_piece(piece)
    space = round(STAFF / LINES * layout.tall)
    return make_sheets(Wanted(piece, edges[0], edges[-1], layout.staff.size, space, theme.ink, theme.ground))


@pytest.mark.parametrize("size", [(800, 600), (1920, 1080), (1200, 1920)])
@pytest.mark.parametrize("number", range(len(DEMO)))
def test_the_sheets_of_a_tune_follow_each_other_and_leave_no_note_out(number: int, size: tuple[int, int]) -> None:
    piece, sheets = demo_piece(number), sheets_of(number, size)
    assert len(sheets) > 1
    assert sheets[-1].until == float(piece.laid.length)
    assert [sheet.until for sheet in sheets] == sorted({sheet.until for sheet in sheets})
    start = 0.0
    for sheet in sheets:
        mine = [n for n, one in enumerate(piece.laid.notes) if start <= float(one.at) < sheet.until]
        assert set(mine) <= set(sheet.heads)
        xs = [sheet.heads[n] for n in sorted(sheet.heads)]
        assert xs == sorted(xs)
        assert 0 < xs[0] < xs[-1] < sheet.picture.get_width()
        start = sheet.until


def test_the_playhead_goes_from_head_to_head() -> None:
    page = judged(jig(), 3)
    heads = {n: 100.0 + 40 * n for n in range(len(page.notes))}
    sheet = StaffSheet(3.0, pygame.Surface((1000, 60)), pygame.Surface((1000, 60)), heads, 6.0)
    assert sheet.x(page, page.notes[3].at) == pytest.approx(220)
    assert sheet.x(page, (page.notes[3].at + page.notes[4].at) / 2) == pytest.approx(240)
    assert sheet.x(page, page.length) == 999


def test_a_window_does_not_wait_for_the_engraver() -> None:
    surface, page = pygame.Surface((1280, 720)), judged(long_round(), 3)
    painter = Painter(load_theme(), STAFFED, waits=False)
    painter.paint(surface, page)
    assert painter.unfinished
    until = time.monotonic() + 20
    while painter.unfinished and time.monotonic() < until:
        time.sleep(0.01)
        painter.paint(surface, page, fresh=False)
    assert not painter.unfinished
    whole = pygame.Surface((1280, 720))
    Painter(load_theme(), STAFFED).paint(whole, page)
    assert pygame.image.tobytes(surface, "RGB") == pygame.image.tobytes(whole, "RGB")


def test_another_piece_is_another_staff() -> None:
    surface = pygame.Surface((1280, 720))
    painter = Painter(load_theme(), STAFFED)
    seen = []
    for page in (judged(jig(), 3), judged(long_round(), 3), judged(jig(), 3)):
        painter.paint(surface, page, fresh=False)
        seen.append(pygame.image.tobytes(surface.subsurface(lay_out((1280, 720), False, True).staff), "RGB"))
    assert seen[0] == seen[2] != seen[1]


@pytest.mark.parametrize("size", SIZES)
def test_the_name_stands_in_the_call_and_on_the_button(size: tuple[int, int]) -> None:
    page = judged(jig(), 4)  # F# on the outer row
    assert page.notes[4].name == "F#"
    painter = Painter(load_theme(), NAMED, listing=True)
    painter.paint(pygame.Surface(size), page)
    layout = lay_out(size)
    named = [one for one in painter.placed if "F#" in one.text]
    (call,) = [one for one in named if layout.call.contains(one.box)]
    assert not call.cut
    on_button = [one for one in named if layout.keys.inflate(0, 2 * layout.tall).contains(one.box)]
    assert len(on_button) == (0 if size[1] > size[0] else 1)
    painter = Painter(load_theme(), Look(), listing=True)
    painter.paint(pygame.Surface(size), page)
    assert not any("F#" in one.text for one in painter.placed)


def test_by_heart_no_name_is_told() -> None:
    painter = Painter(load_theme(), NAMED, listing=True)
    painter.paint(pygame.Surface((1280, 720)), judged(jig(shown=Shown.NOTHING), 4))
    assert not any("F#" in one.text for one in painter.placed)
