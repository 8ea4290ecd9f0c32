"""The practice window: the same glance gives the same picture, and nothing on it overlaps or is cut, at any size."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pygame
import pytest

from companion.screen.brush import DrawnText
from companion.screen.line_pages import pages
from companion.screen.look import Facing, Look
from companion.screen.page_values import PracticePage
from companion.screen.theme import load_theme
from companion.screen.view import Painter, draw
from tests.screen.glances import LONG, all_glances, jig, judged, long_round

SIZES = ((800, 480), (800, 600), (1280, 720), (1920, 1080), (3840, 2160), (1200, 1920))
ODD_SIZES = ((800, 1000), (1000, 480), (2560, 1080))


def picture(glance: PracticePage, size: tuple[int, int] = (800, 480), look: Look | None = None) -> bytes:
    surface = pygame.Surface(size)
    draw(surface, glance, load_theme(), look)
    return pygame.image.tobytes(surface, "RGB")


def texts(glance: PracticePage, size: tuple[int, int], look: Look | None = None) -> tuple[DrawnText, ...]:
    painter = Painter(load_theme(), look, listing=True)
    painter.paint(pygame.Surface(size), glance)
    return painter.placed


def faults(placed: tuple[DrawnText, ...], size: tuple[int, int]) -> list[str]:
    window = pygame.Rect((0, 0), size)
    found = [f"outside: {one}" for one in placed if not window.contains(one.box)]
    found += [f"cut: {one}" for one in placed if one.cut]
    found += [f"overlap: {a} {b}" for a, b in combinations(placed, 2) if a.box.colliderect(b.box)]
    return found


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", [name for name in all_glances() if name not in ("long", "all-alerts")])
def test_nothing_overlaps_or_is_cut(name: str, size: tuple[int, int]) -> None:
    placed = texts(all_glances()[name], size)
    assert len(placed) > 20
    assert faults(placed, size) == []


@pytest.mark.parametrize("size", [*SIZES, *ODD_SIZES])
@pytest.mark.parametrize("name", ["long", "all-alerts"])
def test_at_worst_the_title_ends_in_an_ellipsis(name: str, size: tuple[int, int]) -> None:
    found = faults(texts(all_glances()[name], size), size)
    assert [fault for fault in found if not (fault.startswith("cut") and LONG in fault)] == []


@pytest.mark.parametrize("size", ODD_SIZES)
@pytest.mark.parametrize("name", ["playing", "reach", "round", "big-box", "paused", "count-in"])
def test_odd_windows(name: str, size: tuple[int, int]) -> None:
    assert faults(texts(all_glances()[name], size), size) == []


@pytest.mark.parametrize("size", [(800, 480), (1280, 720), (1200, 1920)])
@pytest.mark.parametrize("facing", list(Facing))
@pytest.mark.parametrize("left_handed", [False, True])
@pytest.mark.parametrize("name", ["reach", "big-box", "stand-in", "paused"])
def test_large_text_from_every_side(size: tuple[int, int], facing: Facing, left_handed: bool, name: str) -> None:
    look = Look(facing=facing, left_handed=left_handed, text=1.4)
    assert faults(texts(all_glances()[name], size, look), size) == []


@pytest.mark.parametrize("size", [*SIZES, *ODD_SIZES])
def test_the_next_button_is_an_eighth_of_the_height(size: tuple[int, int]) -> None:
    placed = texts(judged(jig(), 7), size)
    label = max((one for one in placed if one.text == "5"), key=lambda one: one.size)
    assert label.box.height >= size[1] / 8


@pytest.mark.parametrize("name", list(all_glances()))
def test_the_same_glance_gives_the_same_picture(name: str) -> None:
    """Whatever was drawn before it by the same painter."""
    glance, size = all_glances()[name], (800, 480)
    painter, surface = Painter(load_theme()), pygame.Surface(size)
    for before in (jig(), long_round(), all_glances()["all-alerts"], glance):
        painter.paint(surface, before)
    assert pygame.image.tobytes(surface, "RGB") == picture(glance)


def test_drawing_only_what_has_changed_gives_the_same_picture() -> None:
    """As the window does: the surface keeps what was drawn on it."""
    painter, surface = Painter(load_theme()), pygame.Surface((800, 480))
    base = long_round()
    moments = [judged(base, n, now=base.notes[n].at + part) for n in range(40, 70) for part in (0.0, 0.04, 0.09)]
    moments[20] = replace(moments[20], paused=True)
    for n, moment in enumerate(moments):
        painter.paint(surface, moment, fresh=n == 0)
        if n % 7 == 0 or 18 < n < 24:
            assert pygame.image.tobytes(surface, "RGB") == picture(moment)


def test_what_changes_is_seen() -> None:
    """Each of these must look different from the others."""
    glances = list(all_glances().values())
    glances += [judged(jig(), 7, now=1.2), judged(jig(), 7, wrong=()), judged(jig(), 8), jig(clean=1), jig(bpm=70)]
    assert len({picture(glance) for glance in glances}) == len(glances)
    looks = [Look(facing=facing, left_handed=hand) for facing in Facing for hand in (False, True)]
    # A left-handed box seen in the mirror is a right-handed one seen by its player.
    assert len({picture(judged(jig(), 7), look=look) for look in looks}) == 4


def test_push_and_pull_differ_without_colour() -> None:
    """In grey, with both directions in one colour, the window still looks different."""
    from companion.box.box_values import Bellows, Press

    theme = load_theme()
    plain = replace(theme, pull=theme.push, on_pull=theme.on_push)
    shown = []
    for bellows in Bellows:
        step = jig().notes[0]
        fingered = replace(step.fingered, press=Press("C", 5, bellows))
        surface = pygame.Surface((800, 480))
        draw(surface, jig(notes=(replace(step, fingered=fingered), *jig().notes[1:])), plain)
        shown.append(surface)
    for place in (pygame.Rect(0, 70, 120, 90), pygame.Rect(120, 70, 190, 90), pygame.Rect(320, 200, 60, 70)):
        one, other = (pygame.image.tobytes(surface.subsurface(place), "RGB") for surface in shown)
        assert one != other, f"sign, word or button at {place}"


def test_the_line_rises_on_the_pull_and_falls_on_the_push() -> None:
    from companion.box.box_values import Bellows
    from companion.screen.line_plot import segments

    glance = long_round()
    for step, line in zip(glance.notes, segments(glance.notes), strict=True):
        rises = line.after > line.before
        assert rises == (step.fingered.press.bellows is Bellows.PULL)


def test_with_reduced_motion_pages_turn_at_once() -> None:
    """Shortly after a page has turned its numbers lie where they will lie; else they are still on their way."""
    base, size = long_round(), (1280, 720)

    def numbers(at: float, look: Look) -> list[tuple[str, int]]:
        placed = texts(judged(base, 1, now=at), size, look)
        return [(one.text, one.box.left) for one in placed if one.box.top > 0.6 * size[1] and one.text.isdigit()]

    turned = next(page.first for page in pages(base.bars, base.length, 3.0)[1:])
    calm, lively = Look(reduced_motion=True), Look()
    begun = next(
        at for at in (turned + n / 16 for n in range(-16, 48)) if numbers(at, lively) != numbers(at + 1 / 256, lively)
    )
    assert numbers(begun + 1 / 128, calm) == numbers(begun + 1 / 4, calm)
    assert numbers(begun + 1 / 128, lively) != numbers(begun + 1 / 4, lively)
