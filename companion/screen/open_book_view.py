"""The page that asks for a file of tunes: a line to type in, and what lies there. Drawing and touching agree."""

from __future__ import annotations

import pygame

from companion.screen.actions import Action, Asked, Nav, Picked, Typed
from companion.screen.brush import Brush
from companion.screen.foot import FootButton, draw_foot, touched_foot
from companion.screen.list_values import OpenBookPage, PathRow
from companion.screen.lists import (
    ListLayout,
    draw_more,
    draw_notice,
    draw_title,
    lay_list,
    row_face,
    touched_more,
    write_name,
)
from companion.screen.window_layout import Layout
from companion.screen.words import Words

FOOT = (
    FootButton(Nav.LEAVE, "foot.back"),
    FootButton(Nav.ENTER, "book.take"),
    FootButton(Typed("\t"), "book.complete"),
    FootButton(Action.HELP, "foot.help"),
)


def _lay(page: OpenBookPage, layout: Layout, text: float) -> ListLayout:
    return lay_list(layout, len(page.rows), max(0, page.at), text, notice=bool(page.notice), head=15.5)


def touched_path(page: OpenBookPage, layout: Layout, text: float, at: tuple[int, int]) -> Asked | None:
    """Which row or button lies at a point."""
    lay = _lay(page, layout, text)
    for n, row in enumerate(lay.rows, lay.first):
        if row.collidepoint(at):
            return Picked(n)
    return touched_foot(FOOT, layout, at) or touched_more(layout, lay, len(page.rows), at)


def draw_open_book(brush: Brush, page: OpenBookPage, layout: Layout, words: Words, text: float) -> None:
    """Draw the page over the whole of the brush's surface."""
    u, theme = layout.unit, brush.theme
    title = draw_title(brush, layout, words("book.title"))
    where = (layout.size[0] - layout.margin, layout.head.top + 3 * u)
    room = where[0] - title.right - 4 * u
    brush.write(words("book.kinds"), 3.3 * u * text, theme.soft, where, align="right", middle=True, width=room)
    lay = _lay(page, layout, text)
    line, how = lay.head.copy(), lay.head.copy()
    line.height = round(8 * u)
    how.top, how.height = line.bottom + round(0.6 * u), round(6.6 * u)
    _typed(brush, page, line, u, text)
    write_name(brush, words("book.how"), 3.3 * u * text, theme.soft, how)
    for n, row in enumerate(lay.rows, lay.first):
        _row(brush, page.rows[n], row, n == page.at, lay, u, words, text)
    if not page.rows:
        below = (layout.margin + 1.6 * u, lay.head.bottom + 6 * u)
        brush.write(words("book.empty"), 4 * u * text, theme.ink, below, middle=True, width=lay.head.width - 3 * u)
    draw_more(brush, layout, lay, len(page.rows))
    draw_notice(brush, page.notice, lay.notice, u, text)
    draw_foot(brush, FOOT, layout, words, text)


def _typed(brush: Brush, page: OpenBookPage, line: pygame.Rect, u: float, text: float) -> None:
    """What is typed, its end always seen, with a stroke behind it."""
    theme, size = brush.theme, int(4.6 * u * min(text, 1.2))
    brush.pill(line, theme.board, radius=1.2 * u)
    brush.pill(line, theme.ink if page.at < 0 else theme.rule, radius=1.2 * u, line=max(1.5, 0.3 * u))
    room, shown = line.width - 5 * u, page.typed
    while shown and brush.width(f"…{shown}", size, False) > room:
        shown = shown[1:]
    said = shown if shown == page.typed else f"…{shown}"
    ink = brush.write(said, size, theme.ink, (line.left + 1.6 * u, line.centery), middle=True)
    end = line.left + 1.6 * u + brush.width(said, size, False) if said else ink.left
    stroke = pygame.Rect(round(end + 0.4 * u), round(line.centery - 2.4 * u), max(2, round(0.3 * u)), round(4.8 * u))
    pygame.draw.rect(brush.surface, theme.ink, stroke)


def _row(
    brush: Brush, one: PathRow, row: pygame.Rect, here: bool, lay: ListLayout, u: float, words: Words, text: float
) -> None:
    theme = brush.theme
    row_face(brush, row, here, u)
    kind = words("book.folder") if one.folder and one.name != ".." else ""
    right = (row.right - 1.6 * u, row.centery)
    soft = theme.ink if here else theme.soft
    ink = brush.write(kind, 3.3 * u * text, soft, right, align="right", middle=True)
    name = pygame.Rect(round(row.left + 1.6 * u), row.top, round(ink.left - row.left - 4 * u), row.height)
    said = words("book.up") if one.name == ".." else one.name
    write_name(brush, said, min(lay.size, 0.76 * row.height), theme.ink, name, bold=not one.folder)
