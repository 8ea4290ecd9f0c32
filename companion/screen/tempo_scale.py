"""The tempo scale: a thin line beneath the tempo, with a mark where it is; a press on it chooses another."""

from __future__ import annotations

import pygame

from companion.screen.brush import Brush
from companion.screen.page_values import PracticePage
from companion.screen.window_layout import Layout, Shape

LEAST, MOST, STEP = 40, 110, 5  # per cent of the tune's tempo
_FULL = 100
_TOUCH = 44  # pixels: as high as a target must be (WCAG 2.2, success criterion 2.5.5)
_WIDE = {Shape.WIDE: 26.0, Shape.SQUARE: 26.0, Shape.TALL: 15.0}  # hundredths of the height
_DOWN = {Shape.WIDE: 9.4, Shape.SQUARE: 8.8, Shape.TALL: 8.0}  # from the top of the window


def scale_box(layout: Layout) -> pygame.Rect:
    """Where the line lies; its middle is its height."""
    h, head = layout.tall, layout.head
    wide = round(_WIDE[layout.shape] * h)
    return pygame.Rect(head.right - wide, round((_DOWN[layout.shape] - 0.8) * h), wide, round(1.6 * h))


def tempo_at(page: PracticePage, layout: Layout, at: tuple[int, int]) -> int | None:
    """The tempo in per cent that a press at `at` (pixels) means; None where no scale is there."""
    box = scale_box(layout)
    near = box.inflate(2 * layout.tall, max(2.4 * layout.tall, _TOUCH - box.height))
    if not page.clocked or not near.collidepoint(at):
        return None
    share = min(1.0, max(0.0, (at[0] - box.left) / box.width))
    return STEP * round((LEAST + share * (MOST - LEAST)) / STEP)


def draw_scale(brush: Brush, page: PracticePage, layout: Layout) -> None:
    """Draw the scale: a stroke across it at the full tempo, a mark at the tempo now."""
    if not page.clocked or page.target_bpm <= 0:
        return
    h, theme, box = layout.tall, brush.theme, scale_box(layout)
    thin = max(1, round(0.22 * h))
    pygame.draw.rect(brush.surface, theme.rule, (box.left, box.centery - thin // 2, box.width, thin))
    full = box.left + box.width * (_FULL - LEAST) / (MOST - LEAST)
    pygame.draw.rect(brush.surface, theme.rule, (round(full), box.top, thin, box.height))
    per_cent = min(MOST, max(LEAST, _FULL * page.bpm / page.target_bpm))
    x = box.left + box.width * (per_cent - LEAST) / (MOST - LEAST)
    brush.disc((x, box.centery), round(0.8 * h, 1), theme.ink)
