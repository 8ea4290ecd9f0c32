"""The page that asks once before you quit: what got better, and two answers, each large enough to touch."""

from __future__ import annotations

import pygame

from companion.screen.actions import BACK_KEY, Action, load_keys
from companion.screen.break_view import draw_gained
from companion.screen.brush import Brush
from companion.screen.card import key_name, key_words
from companion.screen.page_values import LeavePage
from companion.screen.window_layout import Layout
from companion.screen.words import Words

_STAY, _LEAVE = Action.PAUSE, Action.QUIT


def _answers(layout: Layout) -> dict[Action, pygame.Rect]:
    """Where the two answers lie."""
    u, (width, height) = layout.unit, layout.size
    wide = round((width - 2 * layout.margin - 4 * u) / 2)
    top, high = round(0.66 * height), round(0.2 * height)
    stay = pygame.Rect(layout.margin, top, wide, high)
    return {_STAY: stay, _LEAVE: stay.move(width - 2 * layout.margin - wide, 0)}


def touched_leave(layout: Layout, at: tuple[int, int]) -> Action | None:
    """Which answer lies at a point."""
    return next((action for action, cell in _answers(layout).items() if cell.collidepoint(at)), None)


def _enter(words: Words) -> str:
    """The Enter key where it means "next", as it does unless the player has given it away; else what does."""
    keys = load_keys()[Action.ON]
    return key_name(words, "return" if "return" in keys else keys[0])


def draw_leave(brush: Brush, page: LeavePage, layout: Layout, words: Words, text: float) -> None:
    """Draw the page over the whole of the brush's surface."""
    u, theme, (width, height) = layout.unit, brush.theme, layout.size
    left, inner = layout.margin, width - 2 * layout.margin
    row = layout.head.top + 4 * u
    brush.write(words("leave.title"), 7 * u, theme.ink, (left, row), bold=True, middle=True, width=inner)
    kept = words("leave.kept") if page.gained else words("leave.nothing")
    brush.write(kept, 3.8 * u * text, theme.soft, (left, row + 8 * u), middle=True, width=inner)
    box = pygame.Rect(left, round(0.24 * height), inner, round(0.38 * height))
    if page.gained:
        draw_gained(brush, page.gained, box, u, words, text)
    for action, cell in _answers(layout).items():
        key = _enter(words) if action is _LEAVE else key_name(words, BACK_KEY)
        keys = words("leave.keys", key=key, other=key_words(words, action))
        brush.pill(cell, theme.button, radius=1.6 * u)
        brush.pill(cell, theme.rule, radius=1.6 * u, line=max(1.5, 0.25 * u))
        said = words("leave.leave" if action is _LEAVE else "leave.stay" if page.gained else "leave.back")
        for share, size, words_here, bold in ((-0.16, 5.4, said, True), (0.22, 3.8, keys, False)):
            where = (cell.centerx, cell.centery + share * cell.height)
            brush.write(
                words_here, size * u * min(text, 1.2), theme.button_ink, where,
                bold=bold, align="centre", middle=True, width=cell.width - 3 * u,
            )  # fmt: skip
