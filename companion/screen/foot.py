"""The foot of a page with a list: what can be done here, each with its key, large enough to touch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pygame

from companion.screen.actions import BACK_KEY, NAV_KEYS, Action, Asked, Nav, Typed, load_keys
from companion.screen.brush import Brush
from companion.screen.card import key_name
from companion.screen.window_layout import Layout
from companion.screen.words import Words

_HIGH = 8.0  # hundredths of the layout's unit


@dataclass(frozen=True, slots=True)
class FootButton:
    """What is asked for by it, and its word."""

    asked: Asked
    word: str


def foot_top(layout: Layout) -> int:
    """The y at which the foot begins."""
    return round(layout.size[1] - (_HIGH + 1.6) * layout.unit)


def foot_cells(layout: Layout, count: int) -> tuple[pygame.Rect, ...]:
    """Where so many buttons lie, side by side."""
    left, inner = layout.margin, layout.size[0] - 2 * layout.margin
    gap = round(0.8 * layout.unit)
    wide = (inner - gap * (count - 1)) / max(1, count)
    high = round(_HIGH * layout.unit)
    return tuple(pygame.Rect(round(left + n * (wide + gap)), foot_top(layout), round(wide), high) for n in range(count))


def touched_foot(buttons: Sequence[FootButton], layout: Layout, at: tuple[int, int]) -> Asked | None:
    """What is asked for at a point."""
    cells = foot_cells(layout, len(buttons))
    return next((one.asked for one, cell in zip(buttons, cells, strict=True) if cell.collidepoint(at)), None)


def draw_foot(brush: Brush, buttons: Sequence[FootButton], layout: Layout, words: Words, text: float) -> None:
    """Draw the buttons, the key of each beneath its word."""
    u, theme = layout.unit, brush.theme
    for one, cell in zip(buttons, foot_cells(layout, len(buttons)), strict=True):
        brush.pill(cell, theme.button, radius=1.2 * u)
        brush.pill(cell, theme.rule, radius=1.2 * u, line=max(1.2, 0.2 * u))
        room, size = cell.width - 1.6 * u, 3.0 * u * min(text, 1.2)
        where = (cell.centerx, cell.centery - 0.18 * cell.height)
        brush.write(words(one.word), size, theme.button_ink, where, bold=True, align="centre", middle=True, width=room)
        where = (cell.centerx, cell.centery + 0.24 * cell.height)
        key = _key_words(words, one.asked)
        brush.write(key, 2.5 * u, theme.button_ink, where, align="centre", middle=True, width=room)


def _key_words(words: Words, asked: Asked) -> str:
    """The key of a button: of an action one that is no letter, since letters may be typed here."""
    if isinstance(asked, Action):
        return key_name(words, next((key for key in load_keys()[asked] if len(key) > 1), ""))
    if asked is Nav.LEAVE:
        return key_name(words, BACK_KEY)
    if isinstance(asked, Typed):
        return key_name(words, "tab")
    return key_name(words, next(key for key, nav in NAV_KEYS.items() if nav is asked))
