"""The bellows line: time to the right, how far the bellows are open upwards; it rises on the pull, falls on the push.

On it stand the notes with button and finger, the bar lines, the playhead, and below each note its verdict. What stands
still within a page is drawn once, in two states: what is to come in full colour, what has been more quietly. What is
hidden, by heart, is a dot in time on a level line.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace
from functools import partial
from typing import Any

import pygame

from companion.screen.brush import Brush, DrawnText, PictureCache
from companion.screen.line_pages import TURN, LinePage, seen_from
from companion.screen.line_plot import Plot, Segment, plot_of, shown_lines
from companion.screen.line_strip import line_strip
from companion.screen.look import Look
from companion.screen.page_values import PracticePage, Shown
from companion.screen.revealed import is_seen, shown_now
from companion.screen.signs import direction_colour, verdict_mark
from companion.screen.window_layout import Layout


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
            lambda: (plot_of(glance, layout), shown_lines(glance, shown)),
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
        make = partial(line_strip, brush, glance, plot, lines, plot.pages[index], past, look)
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
    plot = plot_of(page, layout)
    start = seen_from(plot.pages, place_of(page), look.reduced_motion or not page.clocked)[1]
    time = start + (x - layout.line.left - plot.edge) / plot.scale
    return max(0, bisect_right([note.at for note in page.notes], time) - 1)


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
