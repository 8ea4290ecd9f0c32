"""The map of the tune: every bar has its place, whatever the tune; how far it is shows without colour."""

from __future__ import annotations

from itertools import combinations, pairwise

import pygame
import pytest

from companion.screen.page_values import BarProgress
from companion.screen.theme import load_theme
from companion.screen.tune_map import bar_at, draw_cell, map_cells, nearest_bar
from companion.screen.view import Painter
from companion.screen.window_layout import lay_out
from tests.screen.glances import jig, tune_map

SIZES = ((800, 480), (1280, 720), (3840, 2160), (1200, 1920))


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(("parts", "bars"), [(1, 8), (2, 8), (2, 16), (3, 32), (8, 8), (8, 32)])
def test_every_bar_has_a_place_of_its_own(size: tuple[int, int], parts: int, bars: int) -> None:
    layout = lay_out(size)
    tune = tune_map(("K" * (bars // 2) + " " + "N" * (bars // 2),) * parts)
    cells = map_cells(tune, layout)
    assert [first for first, _, _ in cells] == [5 * n for n in range(parts * bars)]
    boxes = [box for _, _, box in cells]
    assert all(layout.map.contains(box) and box.width >= 2 for box in boxes)
    assert not any(a.colliderect(b) for a, b in combinations(boxes, 2))
    for n in range(0, len(boxes), 7):
        assert bar_at(tune, layout, boxes[n].center) == n == nearest_bar(tune, layout, boxes[n].center)
    assert bar_at(tune, layout, (boxes[0].left, layout.map.top - 3 * round(layout.tall))) is None
    assert nearest_bar(tune, layout, (size[0], boxes[-1].centery)) == len(boxes) - 1


def test_a_phrase_and_a_part_begin_after_a_gap() -> None:
    boxes = [box for _, _, box in map_cells(tune_map(("KKKK KKKK", "NNNN NNNN")), lay_out((1280, 720)))]
    gaps = [b.left - a.right for a, b in pairwise(boxes)]
    assert gaps[3] > gaps[0]
    assert gaps[7] > gaps[3]
    assert gaps[11] == pytest.approx(gaps[3], abs=1)


@pytest.mark.parametrize("size", [(3, 10), (8, 14), (30, 20)])
def test_states_differ_without_colour(size: tuple[int, int]) -> None:
    from dataclasses import replace

    theme = load_theme()
    plain = replace(theme, right=theme.ink, wrong=theme.ink, soft=theme.ink, rule=theme.ink)
    seen = set()
    for progress in BarProgress:
        surface = pygame.Surface(size)
        surface.fill(theme.ground)
        draw_cell(surface, surface.get_rect(), progress, plain)
        seen.add(pygame.image.tobytes(surface, "RGB"))
    assert len(seen) == len(BarProgress)


def test_where_i_am_and_what_is_practised_are_seen_on_the_map() -> None:
    band, seen = lay_out((1280, 720)).map, set()
    for here, at in (((0, 19), 0), ((0, 19), 7), ((0, 9), 0), ((150, 4), 0), ((0, 19), None)):
        surface = pygame.Surface((1280, 720))
        Painter(load_theme()).paint(surface, jig(tune_map=tune_map(here=here, at=at)))
        seen.add(pygame.image.tobytes(surface.subsurface(band), "RGB"))
    assert len(seen) == 5
