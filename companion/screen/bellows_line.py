"""The bellows line: time to the right, how far the bellows are open upwards; it rises on the pull, falls on the push.

On it stand the notes with button and finger, the bar lines, the playhead, and below each note its verdict. What stands
still within a page is drawn once, in two states: what is to come in full colour, what has been more quietly. What is
hidden, by heart, is a dot in time on a level line.
"""

from __future__ import annotations

from bisect import bisect_right
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
from companion.screen.page_values import LineNote, PracticePage, Shown
from companion.screen.revealed import first_notes, is_seen, shown_now, visible
from companion.screen.signs import direction_colour, verdict_mark
from companion.screen.theme import SHAPE, Theme
from companion.screen.window_layout import Layout
from companion.screen.words import load_words

_FLATTEST = 0.2  # smallest range of opening that fills the height, so that small moves do not look large
_EDGE = 1.6  # hundredths of the height kept free left of the first note
_WIDTHS = (0.64, 1.18)  # of a number of one and of two figures, in ems
_PRESSED = 0.66  # as far as a number is pressed together where notes are short
_APART = 0.2  # ems between two numbers
_USUAL = 0.8  # so many of the notes have room for a number that is not pressed together
_LEVEL, _TILT = 0.5, 0.06  # the opening of a hidden note, and how far a first note goes from there
# Hundredths of the height above and below the line: the playhead's head, a stroke, a figure; a figure, a mark.
_ABOVE, _BELOW, _AIR = 7.4, 8.0, 4.8
_BELOW_BARE = 4.8  # with the staff above it the line goes without its fingers


@dataclass(frozen=True, slots=True)
class Plot:
    """How time and opening become pixels within the line's own picture; `read` is the em of the numbers, `below` what
    is kept free below the line, in hundredths of the window's height."""

    width: int
    height: int
    unit: float
    read: int
    scale: float  # pixels a whole note
    low: float
    high: float
    top: float
    bottom: float
    pages: tuple[LinePage, ...]
    edge: float
    below: float

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

    def draw(self, brush: Brush, glance: PracticePage, layout: Layout, look: Look) -> None:
        """Draw the line into its band of the brush's surface."""
        if not glance.notes:
            return
        surface, area, h = brush.surface, layout.line, layout.tall
        shown = shown_now(glance)
        plot, lines, score = self._plotted(glance, layout)
        old = surface.get_clip()
        surface.set_clip(area)
        start = self._strips(brush, glance, look, plot, lines, area, score)
        _chosen(brush, glance, plot, lines, area, start)
        self._current(brush, glance, plot, lines, area, start)
        if shown is Shown.ALL:
            self._marks(brush, glance, plot, area, start)
        _playhead(brush, area, plot.x(place_of(glance), start) + area.left, h)
        surface.set_clip(old)

    def pages(self, glance: PracticePage, layout: Layout) -> tuple[LinePage, ...]:
        """The pages of the line; none without notes."""
        return self._plotted(glance, layout)[0].pages if glance.notes else ()

    def _plotted(self, glance: PracticePage, layout: Layout) -> tuple[Plot, tuple[Segment, ...], int]:
        """How the line is plotted, its stretches, and the number of its score."""
        shown = shown_now(glance)
        score = self._score_of(glance, shown)
        plot, lines = self._kept.get(
            ("plot", score, layout.line.size, layout.read),
            lambda: (_plot(glance, layout), _shown_lines(glance, shown)),
        )
        return plot, lines, score

    def _score_of(self, glance: PracticePage, shown: Shown) -> int:
        """A number for what the still picture depends on: the notes without their verdicts, how much is shown."""
        key = (glance.notes, glance.bars, glance.length, glance.phrases, glance.air, glance.box, shown)
        if len(self._seen) != len(key) or any(a is not b for a, b in zip(self._seen, key, strict=True)):
            self._seen = key
            notes = tuple(
                (s.at, s.length, s.fingered.press, s.fingered.finger, s.fingered.opening) for s in glance.notes
            )
            score = (notes, *key[1:5], tuple(row.name for row in glance.box.rows), shown)
            if score != self._score:
                self._score, self._serial = score, self._serial + 1
        return self._serial

    def _strips(
        self, brush: Brush, glance: PracticePage, look: Look, plot: Plot, lines: tuple[Segment, ...], area: pygame.Rect,
        score: int,
    ) -> float:  # fmt: skip
        """Put the pictures of the page (and, while it turns, of the page before) in place. Returns where it begins."""
        now = place_of(glance)
        at, start = seen_from(plot.pages, now, look.reduced_motion or not glance.clocked)
        turning = at > 0 and start < plot.pages[at].start
        head = round(plot.x(now, start))
        turned = max(0.0, (plot.pages[at].start - start) * plot.scale)  # how much of the page before is still seen
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
                    seen = area if index == at else pygame.Rect(*area.topleft, round(turned), area.height)
                    moved = [replace(one, box=one.box.move(area.left + shift, area.top)) for one in texts]
                    brush.placed += [one for one in moved if seen.contains(one.box)]
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
        seen = is_seen(glance, glance.current)
        colour = direction_colour(brush.theme, step.fingered.press.bellows) if seen else brush.theme.soft
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


def place_of(page: PracticePage) -> float:
    """Where the playhead is (whole notes): with no clock, at the note that is waited for."""
    if not page.clocked and page.current is not None:
        return page.notes[page.current].at
    return min(max(page.now, 0.0), page.length)


def note_at(page: PracticePage, layout: Layout, look: Look, x: float) -> int:
    """The note (index in `page.notes`, which has some) that is drawn at `x` (pixels)."""
    plot = _plot(page, layout)
    start = seen_from(plot.pages, place_of(page), look.reduced_motion or not page.clocked)[1]
    time = start + (x - layout.line.left - plot.edge) / plot.scale
    return max(0, bisect_right([note.at for note in page.notes], time) - 1)


def _shown_lines(page: PracticePage, shown: Shown) -> tuple[Segment, ...]:
    """The line's stretches as they are shown: level where they are hidden, a first note up or down from there."""
    if shown is Shown.ALL:
        return segments(page.notes)
    first = first_notes(page) if shown is Shown.FIRST_NOTES else frozenset()
    found = []
    for n, note in enumerate(page.notes):
        tilt = _TILT if note.fingered.press.bellows is Bellows.PULL else -_TILT
        found.append(Segment(note.at, note.at + note.length, _LEVEL, _LEVEL + (tilt if n in first else 0.0)))
    return tuple(found)


def _room(notes: tuple[LineNote, ...], read: int) -> float:
    """How many pixels a whole note must have at least so that the numbers stay apart at the em `read`."""
    needs = []
    for note in notes:
        wide = _WIDTHS[len(str(note.fingered.press.button)) > 1]
        needs.append((wide / max(note.length, 1e-6), (_PRESSED * wide + _APART) / max(note.length, 1e-6)))
    usual = sorted(wide for wide, _ in needs)[int(_USUAL * (len(needs) - 1))]
    return read * max(usual + _APART / _common(notes), *(pressed for _, pressed in needs))


def _common(notes: tuple[LineNote, ...]) -> float:
    """The length of a common note, rather a short one (whole notes)."""
    return max(sorted(note.length for note in notes)[len(notes) // 4], 1e-6)


def _plot(glance: PracticePage, layout: Layout) -> Plot:
    (width, height), h, read = layout.line.size, layout.tall, layout.read
    below = _BELOW_BARE if layout.staff.height else _BELOW
    lines = _shown_lines(glance, shown_now(glance))
    openings = [line.after for line in lines] + [lines[0].before]
    low, high = min(openings), max(openings)
    if high - low < _FLATTEST:
        middle = (low + high) / 2
        low, high = middle - _FLATTEST / 2, middle + _FLATTEST / 2
    edge = _EDGE * h
    found = pages(glance.bars, glance.length, (width - edge) / _room(glance.notes, read))
    span = found[0].end - found[0].start
    scale = (width - edge - 1.2 * h) / span
    top, bottom = _ABOVE * h, height - below * h
    if glance.air:
        top = min(top + _AIR * h, bottom - 1.5 * h)
    return Plot(width, height, h, read, scale, low, high, top, bottom, found, edge, below)


def _strip(
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
    said, room = load_words(look.language)("air"), plot.top >= (_ABOVE + _AIR) * h - 1
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
    number, room = str(fingered.press.button), after - left - _APART * plot.read
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
    if plot.below == _BELOW:
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


def _chosen(
    brush: Brush, page: PracticePage, plot: Plot, lines: tuple[Segment, ...], area: pygame.Rect, start: float
) -> None:
    """A frame round the notes that are being chosen."""
    if page.chosen is None:
        return
    first, last = sorted(page.chosen)
    left, right = plot.x(lines[first].at, start), plot.x(lines[last].end, start)
    box = pygame.Rect(round(area.left + left), area.top, max(2, round(right - left)), area.height)
    box = box.clip(area)
    if box.width > 1:
        brush.pill(box, brush.theme.ink, radius=1.0 * plot.unit, line=max(2.0, 0.45 * plot.unit))


def _playhead(brush: Brush, area: pygame.Rect, x: float, u: float) -> None:
    left = round(min(max(x, area.left + 1), area.right - 2))
    width = max(2, round(0.35 * u))
    head = 1.5 * u
    box = (left - width // 2, area.top + round(head), width, area.height - round(head + 3.9 * u))
    pygame.draw.rect(brush.surface, brush.theme.ink, box)
    brush.polygon([(left - head, area.top), (left + head, area.top), (left, area.top + head * 1.4)], brush.theme.ink)
