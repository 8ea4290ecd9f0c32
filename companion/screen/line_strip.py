"""The still picture of one page of the bellows line: bar lines, the slanting line, its numbers and fingers.

It is drawn in two states: what is to come in full colour, what has been more quietly.
"""

from __future__ import annotations

import pygame

from companion.screen.brush import CAPITAL, Brush, DrawnText, stroke_on
from companion.screen.contrast import Colour, quieter
from companion.screen.line_pages import LinePage
from companion.screen.line_plot import ABOVE, AIR, APART, BELOW, Plot, Segment
from companion.screen.look import Look
from companion.screen.page_values import PracticePage
from companion.screen.revealed import visible
from companion.screen.signs import direction_colour
from companion.screen.theme import SHAPE, Theme
from companion.screen.words import load_words


def line_strip(
    brush: Brush, glance: PracticePage, plot: Plot, lines: tuple[Segment, ...], page: LinePage, past: bool, look: Look
) -> tuple[pygame.Surface, tuple[DrawnText, ...]]:
    """The still picture of one page, and the texts in it."""
    u = plot.unit
    seen = [
        n for n, line in enumerate(lines)
        if plot.x(line.end, page.start) > -4 * u and plot.x(line.at, page.start) < plot.width + 4 * u
    ]  # fmt: skip
    known = visible(glance)
    strip = _lines_only(brush, glance, plot, lines, page, past, seen, known)
    outside, listed = brush.surface, brush.placed
    brush.on(strip).placed = []
    for n in seen:
        if n in known:
            _note(brush, glance, plot, lines, page, n, past, look)
    for at in glance.air:
        _air(brush, plot, plot.x(at, page.start), past, look)
    texts, brush.placed = brush.placed, listed
    brush.on(outside)
    return strip, tuple(texts)


def _lines_only(
    brush: Brush,
    glance: PracticePage,
    plot: Plot,
    lines: tuple[Segment, ...],
    page: LinePage,
    past: bool,
    seen: list[int],
    known: frozenset[int],
) -> pygame.Surface:
    """The picture without its texts. The slanting line is drawn large and scaled down."""
    theme, u = brush.theme, plot.unit
    strip = pygame.Surface((plot.width, plot.height))
    strip.fill(theme.ground)
    _frame(strip, glance, plot, page, theme)
    top = round(plot.top - 2 * u)
    high = round(plot.bottom + 2 * u) - top
    fine = 3 if plot.width <= 2000 else 2
    picture = pygame.Surface((plot.width * fine, high * fine), pygame.SRCALPHA)

    def spot(at: float, opening: float) -> tuple[float, float]:
        return plot.x(at, page.start) * fine, (plot.y(opening) - top) * fine

    for n in seen:
        line = lines[n]
        colour = direction_colour(theme, glance.notes[n].fingered.press.bellows) if n in known else theme.rule
        ends = (spot(line.at, line.before), spot(line.end, line.after))
        stroke_on(picture, ends, quieter(colour, theme.ground, 0.5, SHAPE) if past else colour, 0.8 * u * fine)
        if n + 1 < len(lines) and lines[n + 1].at > line.end + 1e-9:
            _rest_line(picture, theme.rule, ends[1], spot(lines[n + 1].at, 0)[0], u * fine)
    for n in seen:
        where = spot(lines[n].at, lines[n].before)
        pygame.draw.circle(picture, theme.soft if past else theme.ink, where, 0.72 * u * fine)
    # Opaque shapes on clear black, scaled down, are colours already multiplied by their coverage.
    small = pygame.transform.smoothscale(picture, (plot.width, high))
    strip.blit(small, (0, top), special_flags=pygame.BLEND_PREMULTIPLIED)
    return strip


def _frame(strip: pygame.Surface, glance: PracticePage, plot: Plot, page: LinePage, theme: Theme) -> None:
    """The bar lines, thicker where a phrase or the piece ends, and two dashed lines as a hold for the eye."""
    u = plot.unit
    dash, thin = max(2, round(1.0 * u)), max(1, round(0.15 * u))
    for y in (plot.top, plot.bottom):
        for dot in range(0, plot.width, dash * 2):
            strip.fill(theme.hair, (dot, round(y), dash, thin))
    for at in sorted({*glance.bars, glance.length}):
        strong = at >= glance.length - 1e-9 or any(abs(at - phrase) < 1e-9 for phrase in glance.phrases)
        thick = max(1, round((0.42 if strong else 0.2) * u))
        x, top = plot.x(at, page.start) - thick / 2, plot.top - 5.4 * u
        strip.fill(theme.rule, (round(x), round(top), thick, round(plot.bottom + (plot.below - 3.0) * u - top)))


def _rest_line(picture: pygame.Surface, colour: Colour, start: tuple[float, float], end: float, unit: float) -> None:
    """A rest: the bellows stand still, a thin dotted line."""
    x = start[0] + unit
    while x < end - 0.5 * unit:
        pygame.draw.circle(picture, colour, (x, start[1]), 0.22 * unit)
        x += 1.3 * unit


def _air(brush: Brush, plot: Plot, x: float, past: bool, look: Look) -> None:
    """Where the air button is used: an open ring over the line, and the word where there is height for it."""
    theme, h = brush.theme, plot.unit
    said, room = load_words(look.language)("air"), plot.top >= (ABOVE + AIR) * h - 1
    y, radius = (2.6 * h, round(1.5 * h, 1)) if room else (1.1 * h, round(1.0 * h, 1))
    colour = theme.soft if past else theme.care
    if x < 0 or x + 4.0 * h + (brush.width(said, plot.read, True) if room else 0) > plot.width:
        return
    brush.disc((x + 1.8 * h, y), radius, colour, hole=radius - max(1.2, 0.4 * h))
    if room:
        brush.write(said, plot.read, colour, (x + 4.0 * h, y), bold=True, middle=True)


def _note(
    brush: Brush, glance: PracticePage, plot: Plot, lines: tuple[Segment, ...], page: LinePage, n: int, past: bool,
    look: Look,
) -> None:  # fmt: skip
    """The button above the line and the finger below it, where it has room."""
    theme, h = brush.theme, plot.unit
    fingered = glance.notes[n].fingered
    left = plot.x(lines[n].at, page.start) + 0.7 * h
    after = plot.x(lines[n + 1].at, page.start) + 0.7 * h if n + 1 < len(lines) else plot.width - 0.5 * h
    number, room = str(fingered.press.button), after - left - APART * plot.read
    wide = min(brush.width(number, plot.read, True), room)
    if left < 0 or left + wide > plot.width or room < 1:
        return
    ys = [
        plot.y(opening)
        for line in lines[max(0, n - 1) : n + 3]
        for at, opening in ((line.at, line.before), (line.end, line.after))
        if left - 1.0 * h <= plot.x(at, page.start) <= left + wide + 1.0 * h
    ]
    ys += [_height(plot, lines, page, n, x) for x in (left, left + wide)]
    high, middle = plot.read * CAPITAL, left + wide / 2
    colour = theme.soft if past else theme.ink
    ink = brush.figure(number, plot.read, colour, (middle, min(ys) - 1.2 * h - high / 2), wide, bold=True)
    finger = str(fingered.finger)
    if plot.below == BELOW:
        below = max(ys) + 1.2 * h + high / 2
        brush.figure(finger, plot.read, theme.soft, (middle, below), min(wide, brush.width(finger, plot.read)))
    rows = glance.box.rows
    if len(rows) > 1 and fingered.press.row == rows[0].name:
        bar = pygame.Rect(ink.left, 0, ink.width, max(2, round(0.42 * h)))
        bar.bottom = round(ink.top - 0.5 * h) if not look.outer_below else round(ink.bottom + 0.5 * h + bar.height)
        pygame.draw.rect(brush.surface, colour, bar)


def _height(plot: Plot, lines: tuple[Segment, ...], page: LinePage, n: int, x: float) -> float:
    """The y of the line at `x`, looked for from note `n` on."""
    for line in lines[n : n + 3]:
        x0, x1 = plot.x(line.at, page.start), plot.x(line.end, page.start)
        if x <= x1 and x1 > x0:
            share = min(1.0, max(0.0, (x - x0) / (x1 - x0)))
            return plot.y(line.before + (line.after - line.before) * share)
    return plot.y(lines[min(n + 2, len(lines) - 1)].after)
