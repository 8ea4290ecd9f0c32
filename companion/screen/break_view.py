"""The page between two pieces: the map of the tune, what got better, what comes next."""

from __future__ import annotations

from dataclasses import replace

import pygame

from companion.screen.actions import Action
from companion.screen.brush import Brush
from companion.screen.card import key_words
from companion.screen.page_values import BreakPage
from companion.screen.rows import draw_alert_rows
from companion.screen.tune_map import draw_map
from companion.screen.window_layout import Layout
from companion.screen.words import Words


def draw_calm(brush: Brush, page: BreakPage, layout: Layout, words: Words, text: float) -> None:
    """Draw the page over the whole of the brush's surface."""
    u, theme, (width, height) = layout.unit, brush.theme, layout.size
    left, inner = layout.margin, width - 2 * layout.margin
    row = layout.head.top + 3 * u
    brush.write(page.title, 5.2 * u, theme.ink, (left, row), bold=True, middle=True, width=inner, least=0.5)
    brush.write(
        words("calm.done", piece=page.piece),
        3.5 * u * text,
        theme.soft,
        (left, row + 5.2 * u),
        middle=True,
        width=inner,
    )
    if page.tune_map is not None:
        band = pygame.Rect(left, round(0.24 * height), inner, round(0.13 * height))
        draw_map(brush, page.tune_map, replace(layout, map=band))
    columns = pygame.Rect(left, round(0.5 * height), round((inner - 5 * u) / 2), round(0.38 * height))
    draw_gained(brush, page.gained, columns, u, words, text)
    _next(brush, page, columns.move(inner - columns.width, 0), u, words, text)
    foot = pygame.Rect(left, round(0.885 * height), inner, round(0.095 * height))
    draw_alert_rows(brush, page.notices, page.caution, foot, u, text)


def draw_gained(brush: Brush, gained: tuple[str, ...], box: pygame.Rect, u: float, words: Words, text: float) -> None:
    """What was gained, a line each with a tick before it, three at most."""
    theme = brush.theme
    brush.write(
        words("calm.gained"), 3.2 * u * text, theme.soft, (box.left, box.top + 2 * u), middle=True, width=box.width
    )
    shown = gained[:3]
    high = (box.height - 6 * u) / 3
    for n, said in enumerate(shown):
        line = pygame.Rect(
            round(box.left + 5 * u), round(box.top + 6 * u + n * high), round(box.width - 5 * u), round(high)
        )
        x, y, half = box.left + 1.7 * u, line.centery, 1.4 * u
        tick = [(x - half, y), (x - half * 0.25, y + half * 0.75), (x + half, y - half * 0.75)]
        brush.stroke(tick, theme.right, max(1.5, 0.55 * u))
        brush.write_lines(said, 4.2 * u * text, theme.ink, line, lines=2, least=0.55)


def _next(brush: Brush, page: BreakPage, box: pygame.Rect, u: float, words: Words, text: float) -> None:
    theme = brush.theme
    brush.write(
        words("calm.next"), 3.2 * u * text, theme.soft, (box.left, box.top + 2 * u), middle=True, width=box.width
    )
    name = pygame.Rect(box.left, round(box.top + 5.5 * u), box.width, round(12 * u))
    brush.write_lines(page.next_piece, 6.4 * u * min(text, 1.15), theme.ink, name, lines=2, bold=True)
    how = (
        words("calm.tempo", step=page.next_step, bpm=round(page.bpm), beat=page.beat_name)
        if page.bpm
        else page.next_step
    )
    line = pygame.Rect(box.left, round(box.top + 18.5 * u), box.width, round(9 * u))
    brush.write_lines(how, 3.8 * u * text, theme.ink, line, lines=2)
    key = key_words(words, Action.PAUSE)
    wait = _wait_words(page, key, words)
    line = pygame.Rect(box.left, round(box.top + 28.5 * u), box.width, round(8 * u))
    brush.write_lines(wait, 3.2 * u * text, theme.soft, line, lines=2)


def _wait_words(page: BreakPage, key: str, words: Words) -> str:
    """When it goes on, or ends; in minutes where it is long."""
    wait = page.wait
    if wait is None:
        return words("calm.ready", key=key)
    if page.ends:
        return words("calm.ends", n=wait, key=key, leave=key_words(words, Action.QUIT))
    if wait < 60:
        return words("calm.wait", n=wait, key=key)
    return words("calm.wait_minutes", minutes=wait // 60, seconds=wait % 60, key=key)
