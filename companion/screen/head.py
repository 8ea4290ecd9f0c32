"""The top of the practice window: the piece, the tempo with its scale, the clean rounds; who plays.

What need not be read while playing is shown while the session is paused: the tune, the step, the round, what is next.
"""

from __future__ import annotations

import pygame

from companion.screen.brush import Brush
from companion.screen.page_values import PracticePage, Shown
from companion.screen.revealed import shown_now
from companion.screen.said import CLOSE
from companion.screen.tempo_scale import draw_scale
from companion.screen.window_layout import Layout, Shape
from companion.screen.words import Words, piece_name

_ROW = {Shape.WIDE: 5.0, Shape.SQUARE: 4.6, Shape.TALL: 4.0}  # the middle of the first row, hundredths of the height


def draw_head(brush: Brush, page: PracticePage, layout: Layout, words: Words, text: float) -> None:
    """What is practised at the left; the clean rounds and the tempo at the right."""
    h, box = layout.tall, layout.head
    name = "" if shown_now(page) is Shown.NOTHING else piece_name(page.piece)  # by heart it is large below
    row = _ROW[layout.shape] * h
    tempo = words("tempo_at", bpm=round(page.bpm)) if page.clocked else words("no_clock")
    colour = brush.theme.ink if page.clocked else brush.theme.soft
    put = brush.write(tempo, layout.read, colour, (box.right, row), align="right", bold=True, middle=True)
    draw_scale(brush, page, layout)
    if layout.shape is Shape.TALL:
        _clean_rounds(brush, page, (box.right, 10.8 * h), 1.0 * h)
        room = pygame.Rect(box.left, round(1.4 * h), box.width - round(max(18 * h, put.width + 3 * h)), round(10.6 * h))
        brush.write_lines(name, layout.read * text, brush.theme.ink, room, bold=True, least=0.6 / text, step=CLOSE)
        return
    left = _clean_rounds(brush, page, (put.left - 3.4 * h, row), 1.7 * h)
    if page.standin and layout.shape is Shape.WIDE:
        left = _standin(brush, layout, words, (left - 3.4 * h, row))
    wide = left - 3 * h - box.left
    brush.write(
        name,
        layout.read * text,
        brush.theme.ink,
        (box.left, row),
        bold=True,
        middle=True,
        width=wide,
    )


def draw_standin(brush: Brush, page: PracticePage, layout: Layout, words: Words) -> None:
    """In a window that is not wide: the row that says that the demonstration plays."""
    if page.standin and layout.shape is not Shape.WIDE:
        width = _standin_width(brush, layout, words)
        _standin(brush, layout, words, (layout.standin.left + width, layout.standin.centery - 0.7 * layout.tall))


def draw_pause_facts(brush: Brush, page: PracticePage, layout: Layout, words: Words, text: float) -> None:
    """In the place of the call while the session is paused: the tune, the step, the round, the tempo, what is next."""
    h, theme, box = layout.tall, brush.theme, layout.call
    high = box.height if layout.shape is Shape.TALL else min(box.height, round(14.6 * h))
    title = pygame.Rect(box.left, box.top, box.width, round(0.46 * high))
    brush.write_lines(page.title, 5.4 * h, theme.ink, title, lines=2, bold=True, least=0.4)
    facts = pygame.Rect(box.left, title.bottom, box.width, high - title.height)
    said, size = _facts(page, words), max(3.7 * layout.unit, 2.6 * h) * text
    if layout.shape is Shape.WIDE:
        brush.write(said, size, theme.soft, (facts.left, facts.centery), middle=True, width=facts.width, least=0.5)
    else:
        brush.write_lines(said, size, theme.soft, facts, lines=3, least=0.5)


def _facts(page: PracticePage, words: Words) -> str:
    if page.free:
        return ""
    found = [page.step, words("round", n=page.round_number)]
    if page.clocked:
        going = round(page.bpm) != round(page.target_bpm)
        key = "tempo_to" if going else "tempo_at"
        tempo = words(key, bpm=round(page.bpm), target=round(page.target_bpm))
        found.append(f"{tempo} {words('tempo_unit', beat=page.beat_name)}")
    if page.clean_needed:
        found.append(words("clean", clean=page.clean, needed=page.clean_needed))
    if page.following:
        found.append(words("next", what=page.following))
    return " · ".join(found)


def _clean_rounds(brush: Brush, page: PracticePage, right: tuple[float, float], size: float) -> float:
    """A ring for each clean round that is needed, filled and ticked when it is there; `right` is the right end of their
    row (x, y), `size` their radius, in pixels. Returns their left edge."""
    theme, radius = brush.theme, round(size)
    step = 2.6 * radius
    for n in range(page.clean_needed):
        x, y = right[0] - radius - (page.clean_needed - 1 - n) * step, right[1]
        if n < page.clean:
            brush.disc((x, y), radius, theme.right)
            half = radius * 0.5
            tick = [(x - half, y), (x - half * 0.25, y + half * 0.7), (x + half, y - half * 0.7)]
            brush.stroke(tick, theme.ground, max(1.5, radius * 0.24))
        else:
            brush.disc((x, y), radius, theme.rule, hole=radius - max(1.5, 0.18 * radius))
    return right[0] - page.clean_needed * step


def _standin_width(brush: Brush, layout: Layout, words: Words) -> float:
    return min(brush.width(words("standin"), layout.read, True) + 3.2 * layout.tall, layout.standin.width)


def _standin(brush: Brush, layout: Layout, words: Words, right: tuple[float, float]) -> float:
    """The label that says that the demonstration plays, its right end at `right`. Returns its left edge."""
    h, theme = layout.tall, brush.theme
    width = _standin_width(brush, layout, words)
    box = pygame.Rect(round(right[0] - width), round(right[1] - 2.7 * h), round(width), round(5.4 * h))
    brush.pill(box, theme.standin, line=max(1.5, 0.3 * h))
    brush.write(words("standin"), layout.read, theme.standin, box.center, align="centre", bold=True, middle=True)
    return float(box.left)
