"""The band beneath the hand: the sentence that says what went wrong; notices and cautions as long as they are new."""

from __future__ import annotations

import pygame

from companion.screen.brush import Brush
from companion.screen.page_values import PracticePage
from companion.screen.rows import alert_rows
from companion.screen.signs import care_sign, warning_sign
from companion.screen.window_layout import Layout

CLOSE = 1.08  # ems from line to line: large letters need less between them
_SMALLEST = 0.5  # of the usual size, for what is far longer than anything the program says


def draw_said(brush: Brush, page: PracticePage, layout: Layout, text: float) -> None:
    """Write the sentence, or what must be seen before it, into its band."""
    rows = alert_rows(() if page.notices_old else page.notices, page.caution)
    if rows:
        _draw_alerts(brush, rows, layout, text)
    else:
        write_sentence(brush, page.sentence, layout.sentence, layout.read, layout.lines, text)


def write_sentence(brush: Brush, said: str, box: pygame.Rect, size: float, lines: int, text: float) -> None:
    """Write a sentence into `box` at the em `size` (pixels), larger by `text` where there is room; what is too long for
    its lines gets smaller, never shorter."""
    for count in range(lines, lines + 3):
        least = 1 / text if count == lines else _SMALLEST / text
        if not brush.wrap_into(said, box, size * text, count, True, least, CLOSE).cut:
            break
    brush.write_lines(said, size * text, brush.theme.ink, box, lines=count, bold=True, least=least, step=CLOSE)


def _draw_alerts(brush: Brush, rows: tuple[tuple[str, str], ...], layout: Layout, text: float) -> None:
    """Each notice and caution with its sign before it."""
    box, h, theme = layout.sentence, layout.tall, brush.theme
    high = box.height / len(rows)
    lines = max(1, layout.lines // len(rows))
    for n, (kind, said) in enumerate(rows):
        size = min(layout.read * text, high / (CLOSE * lines))
        row = pygame.Rect(box.left, round(box.top + n * high), box.width, round(high))
        sign = min(3.8 * h, 0.8 * high)
        (warning_sign if kind == "warn" else care_sign)(brush, (row.left + sign / 2, row.centery), sign)
        room = pygame.Rect(round(row.left + 1.5 * sign), row.top, round(row.width - 1.5 * sign), row.height)
        colour = theme.warn if kind == "warn" else theme.care
        brush.write_lines(said, size, colour, room, lines=lines + 1, bold=True, least=0.4, step=CLOSE)


def draw_old_notice(brush: Brush, page: PracticePage, layout: Layout) -> None:
    """The small sign that is left of notices, in the corner."""
    if page.notices and page.notices_old:
        middle = (layout.size[0] - layout.margin / 2, layout.map.centery)
        warning_sign(brush, middle, min(0.66 * layout.margin, 2.6 * layout.tall))
