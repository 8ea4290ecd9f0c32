"""The bellows line: time to the right, how far the bellows are open upwards; it rises on the pull, falls on the push.

On it stand the notes with button and finger, the bar lines, the playhead, and below each note its verdict. What stands
still within a page is drawn once, in two states: what is to come in full colour, what has been more quietly.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise
from typing import Any

import pygame

from companion.box.box_values import Bellows
from companion.screen.brush import CAPITAL, Brush, DrawnText, PictureCache, stroke_on
from companion.screen.contrast import Colour, quieter
from companion.screen.line_pages import TURN, LinePage, pages, seen_from
from companion.screen.look import Look
from companion.screen.page_values import LineNote, PracticePage
from companion.screen.signs import direction_colour, verdict_mark
from companion.screen.theme import SHAPE, Theme
from companion.screen.window_layout import Layout
from companion.screen.words import Words, load_words

_FLATTEST = 0.2  # smallest range of opening that fills the height, so that small moves do not look large
_LEAST_NOTE = 4.6  # units of width for a note of common length
_EDGE = 1.6  # units kept free left of the first note


@dataclass(frozen=True, slots=True)
class Plot:
    """How time and opening become pixels within the line's own picture."""

    width: int
    height: int
    unit: float
    scale: float  # pixels a whole note
    low: float
    high: float
    top: float
    bottom: float
    pages: tuple[LinePage, ...]
    edge: float

    def x(self, at: float, start: float) -> float:
        """The x of a time in a picture that begins at `start`."""
        return self.edge + (at - start) * self.scale

    def y(self, opening: float) -> float:
        """The y of an opening."""
        share = (opening - self.low) / (self.high - self.low)
        return self.bottom - share * (self.bottom - self.top)


@dataclass(frozen=True, slots=True)
class Segment:
    """The stretch of the line that one note takes: times and openings at its beginning and end."""

    at: float
    end: float
    before: float
    after: float


def segments(notes: tuple[LineNote, ...]) -> tuple[Segment, ...]:
    """The line's stretches, one a note; where the first one begins is inferred from how fast the bellows move."""
    if not notes:
        return ()
    rates = [abs(b.fingered.opening - a.fingered.opening) / b.length for a, b in pairwise(notes) if b.length > 0]
    rate = sorted(rates)[len(rates) // 2] if rates else 0.2
    first = notes[0]
    way = 1 if first.fingered.press.bellows is Bellows.PULL else -1
    before = min(1.0, max(0.0, first.fingered.opening - way * rate * first.length))
    found = []
    for step in notes:
        found.append(Segment(step.at, step.at + step.length, before, step.fingered.opening))
        before = step.fingered.opening
    return tuple(found)


class BellowsLine:
    """Draws the bellows line and keeps its pictures page by page."""

    def __init__(self) -> None:
        # The layout, and two pictures each of two pages: more than 2 MB each in a large window.
        self._kept = PictureCache(5)
        self._seen: tuple[Any, ...] = ()
        self._score: tuple[Any, ...] = ()
        self._serial = 0  # counts the scores; what is kept belongs to one

    def draw(self, brush: Brush, glance: PracticePage, layout: Layout, look: Look, words: Words) -> None:
        """Draw the line into its band of the brush's surface."""
        surface, band, u = brush.surface, layout.line, layout.unit
        if not glance.notes:
            return
        column = round(
            max(brush.width(words("open"), int(2.6 * u)), brush.width(words("shut"), int(2.6 * u))) + 2.2 * u
        )
        area = pygame.Rect(band.left + column, band.top, band.width - column, band.height)
        score = self._score_of(glance)
        plot, lines = self._kept.get(
            ("plot", score, area.size, u), lambda: (_plot(glance, area.size, u), segments(glance.notes))
        )
        _axis(brush, plot, band, words, u)
        old = surface.get_clip()
        surface.set_clip(area)
        start = self._strips(brush, glance, look, plot, lines, area, score)
        self._current(brush, glance, plot, lines, area, start)
        self._marks(brush, glance, plot, area, start)
        _playhead(brush, area, plot.x(self._now(glance), start) + area.left, u)
        surface.set_clip(old)

    def _score_of(self, glance: PracticePage) -> int:
        """A number for what the still picture depends on: the notes without their verdicts."""
        key = (glance.notes, glance.bars, glance.length, glance.phrases, glance.air, glance.box)
        if len(self._seen) != len(key) or any(a is not b for a, b in zip(self._seen, key, strict=True)):
            self._seen = key
            notes = tuple(
                (s.at, s.length, s.fingered.press, s.fingered.finger, s.fingered.opening) for s in glance.notes
            )
            score = (notes, *key[1:5], tuple(row.name for row in glance.box.rows))
            if score != self._score:
                self._score, self._serial = score, self._serial + 1
        return self._serial

    def _now(self, glance: PracticePage) -> float:
        if not glance.clocked and glance.current is not None:
            return glance.notes[glance.current].at
        return min(max(glance.now, 0.0), glance.length)

    def _strips(
        self, brush: Brush, glance: PracticePage, look: Look, plot: Plot, lines: tuple[Segment, ...], area: pygame.Rect,
        score: int,
    ) -> float:  # fmt: skip
        """Put the pictures of the page (and, while it turns, of the page before) in place. Returns where it begins."""
        now = self._now(glance)
        at, start = seen_from(plot.pages, now, look.reduced_motion or not glance.clocked)
        turning = at > 0 and start < plot.pages[at].start
        head = round(plot.x(now, start))
        for index in [at - 1, at] if turning else [at]:
            page = plot.pages[index]
            shift = round((page.start - start) * plot.scale)
            for past in (True, False):
                strip, texts = self._strip(brush, glance, look, plot, lines, index, past, score)
                left, right = (0, head) if past else (head, plot.width)
                if right <= left:
                    continue
                part = pygame.Rect(left - shift, 0, right - left, plot.height)
                brush.surface.blit(strip, (area.left + left, area.top), part)
                if not past:
                    brush.placed += [replace(one, box=one.box.move(area.left + shift, area.top)) for one in texts]
        self._prepare(brush, glance, look, plot, lines, at, score, now)
        return start

    def _strip(
        self, brush: Brush, glance: PracticePage, look: Look, plot: Plot, lines: tuple[Segment, ...], index: int,
        past: bool, score: int,
    ) -> tuple[pygame.Surface, tuple[DrawnText, ...]]:  # fmt: skip
        key = self._key(plot, index, past, score)
        make = partial(_strip, brush, glance, plot, lines, plot.pages[index], past, look)
        strip: tuple[pygame.Surface, tuple[DrawnText, ...]] = self._kept.get(key, make)
        return strip

    def _key(self, plot: Plot, index: int, past: bool, score: int) -> tuple[Any, ...]:
        return ("strip", index, past, score, plot.width, plot.height)

    def _prepare(
        self, brush: Brush, glance: PracticePage, look: Look, plot: Plot, lines: tuple[Segment, ...],
        at: int, score: int,
        now: float,
    ) -> None:  # fmt: skip
        """Draw one of the pictures that will be needed soon, so that turning a page takes no longer."""
        wanted = [(at, True), (at + 1, False), (at + 1, True)]
        for index, past in wanted:
            if index < len(plot.pages) and self._key(plot, index, past, score) not in self._kept:
                # Not in the frame that turned the page, nor in the next: they have enough to do.
                if now > plot.pages[at].first + 2 * TURN or past:
                    self._strip(brush, glance, look, plot, lines, index, past, score)
                return

    def _current(
        self,
        brush: Brush,
        glance: PracticePage,
        plot: Plot,
        lines: tuple[Segment, ...],
        area: pygame.Rect,
        start: float,
    ) -> None:
        """The note to be played, thicker."""
        if glance.current is None:
            return
        line, step = lines[glance.current], glance.notes[glance.current]
        ends = [
            (round(area.left + plot.x(at, start)), area.top + plot.y(opening))
            for at, opening in ((line.at, line.before), (line.end, line.after))
        ]
        colour = direction_colour(brush.theme, step.fingered.press.bellows)
        brush.stroke(ends, colour, max(3.0, 1.35 * plot.unit))
        brush.disc(ends[0], round(1.15 * plot.unit, 1), brush.theme.ink)

    def _marks(self, brush: Brush, glance: PracticePage, plot: Plot, area: pygame.Rect, start: float) -> None:
        """Below each note that has been judged, its verdict."""
        y = area.bottom - 1.9 * plot.unit
        for step in glance.notes:
            if step.verdict is not None:
                x = round(area.left + plot.x(step.at, start) + 2.0 * plot.unit)
                if area.left <= x <= area.right:
                    verdict_mark(brush, (x, y), 2.6 * plot.unit, step.verdict)


def _plot(glance: PracticePage, size: tuple[int, int], u: float) -> Plot:
    width, height = size
    lines = segments(glance.notes)
    openings = [line.after for line in lines] + [lines[0].before]
    low, high = min(openings), max(openings)
    if high - low < _FLATTEST:
        middle = (low + high) / 2
        low, high = middle - _FLATTEST / 2, middle + _FLATTEST / 2
    common = sorted(step.length for step in glance.notes)[len(glance.notes) // 4]
    edge = _EDGE * u
    room = (width - edge) / (_LEAST_NOTE * u) * common
    found = pages(glance.bars, glance.length, room)
    span = found[0].end - found[0].start
    scale = (width - edge - 1.2 * u) / span
    return Plot(width, height, u, scale, low, high, (9.2 if glance.air else 6.4) * u, height - 8.4 * u, found, edge)


def _strip(
    brush: Brush, glance: PracticePage, plot: Plot, lines: tuple[Segment, ...], page: LinePage, past: bool, look: Look
) -> tuple[pygame.Surface, tuple[DrawnText, ...]]:
    """The still picture of one page, and the texts in it."""
    u = plot.unit
    seen = [
        n for n, line in enumerate(lines)
        if plot.x(line.end, page.start) > -4 * u and plot.x(line.at, page.start) < plot.width + 4 * u
    ]  # fmt: skip
    strip = _lines_only(brush, glance, plot, lines, page, past, seen)
    outside, listed = brush.surface, brush.placed
    brush.on(strip).placed = []
    for n in seen:
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
        colour = direction_colour(theme, glance.notes[n].fingered.press.bellows)
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
        x, top = plot.x(at, page.start) - thick / 2, plot.top - 5.2 * u
        strip.fill(theme.rule, (round(x), round(top), thick, round(plot.bottom + 4.4 * u - top)))


def _rest_line(picture: pygame.Surface, colour: Colour, start: tuple[float, float], end: float, unit: float) -> None:
    """A rest: the bellows stand still, a thin dotted line."""
    x = start[0] + unit
    while x < end - 0.5 * unit:
        pygame.draw.circle(picture, colour, (x, start[1]), 0.22 * unit)
        x += 1.3 * unit


def _air(brush: Brush, plot: Plot, x: float, past: bool, look: Look) -> None:
    """Where the air button is used: an open ring over the line, and the word."""
    theme, u = brush.theme, plot.unit
    said, size, y = load_words(look.language)("air"), 2.5 * u, 1.6 * u
    if x < 0 or x + 3.2 * u + brush.width(said, int(size), True) > plot.width:
        return
    colour = theme.soft if past else theme.care
    brush.disc((x + 1.6 * u, y), round(1.1 * u, 1), colour, hole=round(1.1 * u, 1) - max(1.2, 0.3 * u))
    brush.write(said, size, colour, (x + 3.2 * u, y), bold=True, middle=True)


def _note(
    brush: Brush,
    glance: PracticePage,
    plot: Plot,
    lines: tuple[Segment, ...],
    page: LinePage,
    n: int,
    past: bool,
    look: Look,
) -> None:
    """The button above the line and the finger below it."""
    theme, u = brush.theme, plot.unit
    fingered = glance.notes[n].fingered
    left = plot.x(lines[n].at, page.start) + 0.9 * u
    after = plot.x(lines[n + 1].at, page.start) + 0.9 * u if n + 1 < len(lines) else plot.width - 0.5 * u
    number = str(fingered.press.button)
    size = min(4.7 * u, 4.7 * u * max(0.5, (after - left - 0.5 * u) / max(brush.width(number, int(4.7 * u), True), 1)))
    wide = brush.width(number, int(size), True)
    if left < 0 or left + wide > plot.width:
        return
    ys = [
        plot.y(opening)
        for line in lines[max(0, n - 1) : n + 3]
        for at, opening in ((line.at, line.before), (line.end, line.after))
        if left - 1.0 * u <= plot.x(at, page.start) <= left + wide + 1.0 * u
    ]
    ys += [_height(plot, lines, page, n, x) for x in (left, left + wide)]
    above, below = min(ys) - 1.3 * u, max(ys) + 1.3 * u
    colour = theme.soft if past else theme.ink
    ink = brush.write(number, size, colour, (left, above), bold=True)
    below += 3.1 * u * CAPITAL
    brush.write(
        str(fingered.finger),
        min(3.1 * u, size),
        theme.soft,
        (left + (wide - brush.width(str(fingered.finger), int(min(3.1 * u, size)))) / 2, below),
    )
    rows = glance.box.rows
    if len(rows) > 1 and fingered.press.row == rows[0].name:
        bar = pygame.Rect(ink.left, 0, ink.width, max(2, round(0.42 * u)))
        bar.bottom = round(ink.top - 0.5 * u) if not look.outer_below else round(ink.bottom + 0.5 * u + bar.height)
        pygame.draw.rect(brush.surface, colour, bar)


def _height(plot: Plot, lines: tuple[Segment, ...], page: LinePage, n: int, x: float) -> float:
    """The y of the line at `x`, looked for from note `n` on."""
    for line in lines[n : n + 3]:
        x0, x1 = plot.x(line.at, page.start), plot.x(line.end, page.start)
        if x <= x1 and x1 > x0:
            share = min(1.0, max(0.0, (x - x0) / (x1 - x0)))
            return plot.y(line.before + (line.after - line.before) * share)
    return plot.y(lines[min(n + 2, len(lines) - 1)].after)


def _axis(brush: Brush, plot: Plot, band: pygame.Rect, words: Words, u: float) -> None:
    """What up and down mean; left out where notices leave no room for it."""
    if plot.bottom - plot.top < 4 * u:
        return
    for word, y, tip in (("open", plot.top, -1), ("shut", plot.bottom, 1)):
        middle = band.top + y
        brush.write(words(word), 2.6 * u, brush.theme.soft, (band.left, middle), middle=True)
        x, base = band.left + 1.2 * u, middle + tip * 2.4 * u
        brush.polygon([(x - 0.9 * u, base), (x + 0.9 * u, base), (x, base + tip * 1.3 * u)], brush.theme.soft)


def _playhead(brush: Brush, area: pygame.Rect, x: float, u: float) -> None:
    left = round(min(max(x, area.left + 1), area.right - 2))
    width = max(2, round(0.35 * u))
    head = 1.5 * u
    box = (left - width // 2, area.top + round(head), width, area.height - round(head + 3.9 * u))
    pygame.draw.rect(brush.surface, brush.theme.ink, box)
    brush.polygon([(left - head, area.top), (left + head, area.top), (left, area.top + head * 1.4)], brush.theme.ink)
