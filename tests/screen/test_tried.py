"""A wrong press is seen where it was, with its direction, beside the button that was wanted."""

from __future__ import annotations

from dataclasses import replace

import pygame
import pytest

from companion.box.box_values import Bellows, Press
from companion.screen.page_values import PracticePage, Shown
from companion.screen.theme import Theme, load_theme
from companion.screen.view import Painter
from companion.screen.window_layout import lay_out
from tests.screen.glances import jig

SIZES = ((800, 600), (1280, 720), (1200, 1920))
PULLED, PUSHED = Press("C", 5, Bellows.PULL), Press("C", 5, Bellows.PUSH)
ELSEWHERE = Press("B", 8, Bellows.PUSH)


def keyboard(page: PracticePage, size: tuple[int, int], theme: Theme | None = None) -> pygame.Surface:
    """The keyboard's part of the picture."""
    surface, layout = pygame.Surface(size), lay_out(size)
    Painter(theme or load_theme()).paint(surface, page)
    return surface.subsurface(layout.keys.inflate(0, round(2 * layout.tall)))


def count(surface: pygame.Surface, colour: tuple[int, int, int]) -> int:
    found = pygame.mask.from_threshold(surface, colour, (1, 1, 1))
    return found.count()


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("press", [PUSHED, PULLED, ELSEWHERE])
def test_one_press_is_clear_and_the_target_stays(press: Press, size: tuple[int, int]) -> None:
    """The first note is a pull of button 5."""
    theme, plain = load_theme(), keyboard(jig(), size)
    tried = keyboard(jig(tried=(press,)), size)
    assert count(plain, theme.wrong) == 0
    assert count(tried, theme.wrong) > 0.0004 * size[0] * size[1]
    assert count(tried, theme.pull) > 0.7 * count(plain, theme.pull)


@pytest.mark.parametrize("size", SIZES)
def test_several_are_faint(size: tuple[int, int]) -> None:
    theme = load_theme()
    several = keyboard(jig(tried=(PUSHED, ELSEWHERE)), size)
    assert count(several, theme.wrong) < 0.1 * count(keyboard(jig(tried=(PUSHED,)), size), theme.wrong)
    one = keyboard(jig(tried=(PUSHED, Press("B", 9, Bellows.PUSH))), size)
    assert pygame.image.tobytes(several, "RGB") != pygame.image.tobytes(one, "RGB")


@pytest.mark.parametrize("size", SIZES)
def test_push_pull_and_target_differ_without_colour(size: tuple[int, int]) -> None:
    theme = load_theme()
    plain = replace(theme, pull=theme.push, on_pull=theme.on_push, wrong=theme.push)
    pages = (jig(), jig(tried=(PUSHED,)), jig(tried=(PULLED,)), jig(tried=(ELSEWHERE,)))
    assert len({pygame.image.tobytes(keyboard(page, size, plain), "RGB") for page in pages}) == len(pages)


def test_a_new_wrong_press_leaves_nothing_of_the_one_before() -> None:
    painter, surface = Painter(load_theme()), pygame.Surface((1280, 720))
    for n, tried in enumerate(((ELSEWHERE,), (Press("B", 1, Bellows.PULL), PUSHED), (PUSHED,), ())):
        page = jig(tried=tried)
        painter.paint(surface, page, fresh=n == 0)
        alone = pygame.Surface((1280, 720))
        Painter(load_theme()).paint(alone, page)
        assert pygame.image.tobytes(surface, "RGB") == pygame.image.tobytes(alone, "RGB")


def test_by_heart_it_would_give_the_place_away() -> None:
    page = jig(shown=Shown.NOTHING, tried=(PUSHED,), now=0.5, current=4)
    assert count(keyboard(page, (1280, 720)), load_theme().wrong) == 0
