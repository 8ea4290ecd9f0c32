"""Lines of text with a sign before them: notices and cautions."""

from __future__ import annotations

import pygame

from companion.screen.brush import Brush
from companion.screen.signs import care_sign, warning_sign


def alert_rows(notices: tuple[str, ...], caution: str) -> tuple[tuple[str, str], ...]:
    """The notices and the caution, as (kind, text), at most three lines."""
    rows = [("warn", text) for text in notices]
    if len(rows) > 2:
        rows = [rows[0], ("warn", " · ".join(text for _, text in rows[1:]))]
    if caution:
        rows.append(("care", caution))
    return tuple(rows)


def draw_alert_rows(
    brush: Brush, notices: tuple[str, ...], caution: str, box: pygame.Rect, u: float, text: float
) -> None:
    """Each notice and caution in a line of its own, with its sign."""
    rows = alert_rows(notices, caution)
    if not rows:
        return
    theme, step = brush.theme, min(box.height / len(rows), 5.2 * u)
    top = box.centery - step * len(rows) / 2
    for n, (kind, said) in enumerate(rows):
        y = top + (n + 0.5) * step
        colour = theme.warn if kind == "warn" else theme.care
        size = min(3.4 * u, step * 0.72)
        (warning_sign if kind == "warn" else care_sign)(brush, (box.left + size * 0.6, y), size * 1.1)
        left = box.left + size * 1.8
        size = min(3.3 * u * text, step * 0.72)
        brush.write(said, size, colour, (left, y), bold=True, middle=True, width=box.right - left)
