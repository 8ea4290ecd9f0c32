"""The chips that come over the map while you play: what can be chosen now, how it stands, each with its key."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import pygame

from companion.screen.actions import Action
from companion.screen.brush import Brush
from companion.screen.card import key_words
from companion.screen.page_values import PracticePage, RoundChoice
from companion.screen.window_layout import Layout
from companion.screen.words import Words

_WIDE = 20.0  # units: a chip is at least so wide
_TOUCH = 46  # pixels: a chip is at least so high (WCAG 2.2, success criterion 2.5.5, asks for 44)


@dataclass(frozen=True, slots=True)
class Chip:
    """A choice and where to touch for it (pixels)."""

    choice: RoundChoice
    box: pygame.Rect


def chips(page: PracticePage, layout: Layout) -> tuple[Chip, ...]:
    """The chips for a page, in rows above the map; the way back to the lesson first, where the player left it."""
    choices = page.choices
    if page.own and all(choice.action is not Action.LESSON for choice in choices):
        choices = (RoundChoice(Action.LESSON, ""), *choices)
    if not choices:
        return ()
    u, band = layout.unit, layout.map
    most = max(1, int(band.width / (_WIDE * u)))
    rows = ceil(len(choices) / most)
    columns, gap = ceil(len(choices) / rows), round(0.8 * u)
    high = max(round(8.6 * u), _TOUCH)
    wide = (band.width - gap * (columns - 1)) / columns
    top = band.top - round(u) - rows * (high + gap)
    return tuple(
        Chip(
            choice,
            pygame.Rect(
                round(band.left + n % columns * (wide + gap)), top + n // columns * (high + gap), round(wide), high
            ),
        )
        for n, choice in enumerate(choices)
    )


def chips_box(page: PracticePage, layout: Layout) -> pygame.Rect:
    """The panel that the chips lie on; empty where there are none."""
    boxes, grown = [chip.box for chip in chips(page, layout)], round(2 * layout.unit)
    return boxes[0].unionall(boxes).inflate(grown, grown) if boxes else pygame.Rect(0, 0, 0, 0)


def draw_chips(brush: Brush, page: PracticePage, layout: Layout, words: Words, over: pygame.Rect | None) -> None:
    """Draw them on a panel; the one at `over` lies under the pointer."""
    found, u, theme = chips(page, layout), layout.unit, brush.theme
    if not found:
        return
    panel = chips_box(page, layout)
    brush.pill(panel, theme.board, radius=1.6 * u)
    brush.pill(panel, theme.rule, radius=1.6 * u, line=max(1.2, 0.2 * u))
    for chip in found:
        draw_choice(brush, chip.box, chip.choice, u, words, chip.box == over)


def draw_choice(brush: Brush, box: pygame.Rect, choice: RoundChoice, u: float, words: Words, under: bool) -> None:
    """One choice in its box: its name over how it stands and its key; a filled dot where it is on, a ring where off."""
    theme = brush.theme
    brush.pill(box, theme.ink if under else theme.button, radius=1.2 * u)
    ink = theme.ground if under else theme.button_ink
    brush.pill(box, theme.ink if under else theme.rule, radius=1.2 * u, line=max(1.2, 0.2 * u))
    size, left = min(3.2 * u, 0.34 * box.height), box.left + 1.4 * u
    if choice.on is not None:
        radius = max(3.0, 0.62 * u)
        middle = (left + radius, box.top + 0.32 * box.height)
        brush.disc(middle, radius, ink, hole=0.0 if choice.on else radius * 0.55)
        left += 2 * radius + 0.9 * u
    room, base = box.right - u - left, box.left + 1.4 * u
    name = words(f"card.{choice.action.value}")
    brush.write(name, size, ink, (left, box.top + 0.32 * box.height), bold=True, middle=True, width=room, least=0.5)
    low, key = box.top + 0.72 * box.height, key_words(words, choice.action)
    shown = brush.write(
        key, 0.86 * size, ink, (box.right - 1.4 * u, low), align="right", middle=True, width=box.width / 2
    )
    brush.write(choice.value, 0.86 * size, ink, (base, low), middle=True, width=shown.left - u - base, least=0.5)
