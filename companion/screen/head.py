"""The top and the foot of the practice window: tune, piece, tempo, clean rounds; the sentence, notices, cautions."""

from __future__ import annotations

import pygame

from companion.screen.brush import Brush
from companion.screen.page_values import PracticePage
from companion.screen.rows import alert_rows, draw_alert_rows
from companion.screen.window_layout import Layout
from companion.screen.words import Words

_SMALLEST_SENTENCE = 0.66  # of its usual size; before it gets smaller, what comes next gives way


def draw_head(brush: Brush, glance: PracticePage, layout: Layout, words: Words, text: float) -> None:
    """The tune's title and what is practised at the left; tempo, round and clean rounds at the right."""
    u, box, theme = layout.unit, layout.head, brush.theme
    rows = (box.top + 3 * u, box.top + 8.2 * u)
    left = _clean_rounds(brush, glance, layout, words, rows, text)
    above, below = _tempo(brush, glance, layout, words, rows, text, left - 3.5 * u)
    if glance.standin:
        above = _standin(brush, layout, words, rows[0], above - 3 * u, min(text, 1.15))
    room = above - 3 * u - box.left
    brush.write(glance.title, 5.2 * u, theme.ink, (box.left, rows[0]), bold=True, middle=True, width=room, least=0.5)
    what, room = words("what_and_how", piece=glance.piece, step=glance.step), below - 3 * u - box.left
    brush.write(what, 3.5 * u * text, theme.soft, (box.left, rows[1]), middle=True, width=room, least=0.55)


def _clean_rounds(
    brush: Brush, glance: PracticePage, layout: Layout, words: Words, rows: tuple[float, float], text: float
) -> float:
    """A ring for each clean round that is needed, filled and ticked when it is there. Returns its left edge."""
    u, theme = layout.unit, brush.theme
    radius, right = round(1.9 * u), layout.head.right
    step = radius * 2 + 1.1 * u
    for n in range(glance.clean_needed):
        centre = (right - radius - (glance.clean_needed - 1 - n) * step, rows[0])
        if n < glance.clean:
            brush.disc(centre, radius, theme.right)
            x, y, half = centre[0], centre[1], radius * 0.5
            tick = [(x - half, y), (x - half * 0.25, y + half * 0.7), (x + half, y - half * 0.7)]
            brush.stroke(tick, theme.ground, max(1.5, radius * 0.24))
        else:
            brush.disc(centre, radius, theme.rule, hole=radius - max(1.5, 0.35 * u))
    row = words("clean", clean=glance.clean, needed=glance.clean_needed)
    label = brush.write(row, 3.0 * u * text, theme.soft, (right, rows[1]), align="right", middle=True, width=24 * u)
    return float(min(label.left, right - glance.clean_needed * step))


def _tempo(
    brush: Brush,
    glance: PracticePage,
    layout: Layout,
    words: Words,
    rows: tuple[float, float],
    text: float,
    right: float,
) -> tuple[float, float]:
    """Tempo now and where it is going, and which round this is. Returns the left edges of both lines."""
    u, theme = layout.unit, brush.theme
    if not glance.clocked:
        big, small = words("no_clock"), words("no_clock_how")
    else:
        going = round(glance.bpm) != round(glance.target_bpm)
        big = words("tempo_to" if going else "tempo_at", bpm=round(glance.bpm), target=round(glance.target_bpm))
        small = words("tempo_unit", beat=glance.beat_name)
    small = f"{small} · {words('round', n=glance.round_number)}"
    top = brush.write(big, 5.2 * u, theme.ink, (right, rows[0]), align="right", bold=True, middle=True, width=34 * u)
    low = brush.write(small, 3.0 * u * text, theme.soft, (right, rows[1]), align="right", middle=True, width=44 * u)
    return float(top.left), float(low.left)


def _standin(brush: Brush, layout: Layout, words: Words, row: float, right: float, text: float) -> float:
    """The label that says that the stand-in plays. Returns its left edge."""
    u, theme = layout.unit, brush.theme
    size, pad = round(2.9 * u * text), round(1.6 * u)
    width = brush.width(words("standin"), size, True) + 2 * pad
    box = pygame.Rect(round(right - width), round(row - 2.6 * u), width, round(5.2 * u))
    brush.pill(box, theme.standin, line=max(1.5, 0.3 * u))
    brush.write(words("standin"), size, theme.standin, box.center, align="centre", bold=True, middle=True)
    return float(box.left)


def alerts(glance: PracticePage) -> tuple[tuple[str, str], ...]:
    """The notices and the caution, as (kind, text), at most three lines."""
    return alert_rows(glance.notices, glance.caution)


def draw_alerts(brush: Brush, glance: PracticePage, layout: Layout, text: float) -> None:
    """Each notice and caution in a line of its own, with its sign."""
    draw_alert_rows(brush, glance.notices, glance.caution, layout.alerts, layout.unit, text)


def draw_foot(brush: Brush, glance: PracticePage, layout: Layout, words: Words, text: float) -> None:
    """One sentence about the last round at the left; what comes after this piece at the right, if there is room."""
    u, theme, box = layout.unit, brush.theme, layout.foot
    following = words("next", what=glance.following) if glance.following else ""
    share = pygame.Rect(box.right - round(box.width * 0.36), box.top, round(box.width * 0.36), box.height)
    laid = brush.wrap_into(following, share, 2.9 * u * text)
    wide = max((brush.width(line, laid.size) for line in laid.lines), default=0)
    room = pygame.Rect(box.left, box.top, box.width - wide - round(4 * u if following else 0), box.height)
    size = 3.7 * u * text
    if brush.wrap_into(glance.sentence, room, size, 2, True, _SMALLEST_SENTENCE).cut:
        room, following = box, ""
    brush.write_lines(glance.sentence, size, theme.ink, room, lines=2, bold=True, least=_SMALLEST_SENTENCE)
    brush.write_lines(following, 2.9 * u * text, theme.soft, share, align="right")
