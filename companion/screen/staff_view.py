"""The staff above the bellows line: as much of the piece as can be read, the note now marked, and the playhead.

A sheet is engraved and made a picture before it is needed, beside the pictures of the window: the one in hand and the
next are kept. It turns with the pages of the bellows line; where a page has more bars than can be read, it is cut.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import pairwise
from math import ceil
from typing import Any

import pygame

from companion.engraving.engraver import HEAD, LINES, SPACE, EngravedStaff, engrave
from companion.engraving.staff_musicxml import staff_musicxml
from companion.engraving.staff_tune import StaffPiece, bars_of_piece, notes_within
from companion.screen.bellows_line import place_of
from companion.screen.brush import Brush, PictureCache
from companion.screen.contrast import Colour, mixed
from companion.screen.line_pages import LinePage, page_at
from companion.screen.page_values import PracticePage, Shown
from companion.screen.revealed import shown_now
from companion.screen.signs import direction_colour
from companion.screen.theme import Theme
from companion.screen.window_layout import Layout

STAFF = 5.0  # the height of the five lines, in hundredths of the window's: it is read from afar
_AROUND = 6  # spaces above and below the lines that are looked through for what is written there
_FREE = 1  # pixels above and below what is written
_SMALLEST = 3  # pixels from line to line
_WIDER = (1.0, 1.3, 1.7, 2.3, 3.2, 5.0)  # times the window, for a single bar that is too full for it
_TINT = 0.58  # how far the bar behind the note now has gone from its direction's colour towards the ground


@dataclass(frozen=True, slots=True)
class StaffSheet:
    """What is seen of the piece until the place `until` (whole notes): the picture of the band, the notes alone with
    nothing behind them (colours already multiplied), the middle of the head of each note (by index, pixels), half a
    head."""

    until: float
    picture: pygame.Surface
    notes: pygame.Surface
    heads: dict[int, float]
    half: float

    def x(self, page: PracticePage, now: float) -> float:
        """Where the playhead stands."""
        marks = [(page.notes[n].at, x) for n, x in self.heads.items() if n < len(page.notes)]
        marks.append((page.length, float(self.picture.get_width() - 1)))
        for (at, x), (after, right) in pairwise(marks):
            if now < after:
                share = max(0.0, now - at) / max(after - at, 1e-6)
                return x + share * (right - x)
        return marks[-1][1]


@dataclass(frozen=True, slots=True)
class Wanted:
    """A page to be engraved: what of which piece, and the room and the colours for it."""

    piece: StaffPiece
    first: Fraction
    last: Fraction
    room: tuple[int, int]
    space: int
    ink: Colour
    ground: Colour


class StaffView:
    """Draws the staff.

    Parameters
    ----------
    waits : draw no picture without its staff; else it comes in a later one, and `unfinished` says so.
    """

    def __init__(self, *, waits: bool) -> None:
        self.unfinished = False
        self._waits = waits
        self._kept = PictureCache(4)
        self._coming: dict[Any, Future[tuple[StaffSheet, ...]]] = {}
        self._piece: StaffPiece | None = None
        self._serial = 0  # counts the pieces; what is kept belongs to one

    def draw(self, brush: Brush, page: PracticePage, layout: Layout, pages: tuple[LinePage, ...]) -> None:
        """Draw the staff into its band; `pages` are those of the bellows line. By heart nothing is drawn."""
        self.unfinished = False
        if page.staff is None or not page.notes or not layout.staff.height:
            return
        self._take(page.staff)
        now = place_of(page)
        at = page_at(pages, now)
        sheets = self._sheets(page.staff, pages[at], layout, brush.theme, self._waits)
        if not self._waits and at + 1 < len(pages):
            self._sheets(page.staff, pages[at + 1], layout, brush.theme, False)
        self.unfinished = sheets is None
        if sheets and shown_now(page) is Shown.ALL:
            sheet = next((one for one in sheets if now < one.until), sheets[-1])
            _draw_sheet(brush, page, layout, sheet, now)

    def _take(self, piece: StaffPiece) -> None:
        if piece != self._piece:
            self._serial += 1
        self._piece = piece

    def _sheets(
        self, piece: StaffPiece, page: LinePage, layout: Layout, theme: Theme, waits: bool
    ) -> tuple[StaffSheet, ...] | None:
        """The sheets of a page of the line; None while they are being made."""
        key = (self._serial, page.first, page.last, layout.staff.size)
        if key not in self._kept:
            if key not in self._coming:
                edges = bars_of_piece(piece)
                first, last = (min(edges, key=lambda edge: abs(edge - at)) for at in (page.first, page.last))
                wanted = Wanted(piece, first, last, layout.staff.size, _space(layout), theme.ink, theme.ground)
                self._coming[key] = _engraving().submit(make_sheets, wanted)
            if not waits and not self._coming[key].done():
                return None
            self._kept.get(key, self._coming.pop(key).result)
        sheets: tuple[StaffSheet, ...] = self._kept.get(key, tuple)
        return sheets


@cache
def _engraving() -> ThreadPoolExecutor:
    """The thread that engraves."""
    return ThreadPoolExecutor(1, "engraving")


def _space(layout: Layout) -> int:
    """Pixels from one staff line to the next."""
    return ceil(STAFF / LINES * layout.tall)


def make_sheets(wanted: Wanted) -> tuple[StaffSheet, ...]:
    """Engrave a page, with a bar of the next one where there is room; cut where it cannot be read otherwise."""
    edges = bars_of_piece(wanted.piece)
    first, last = edges.index(wanted.first), edges.index(wanted.last)
    return tuple(_cut(wanted, edges, first, max(last, first + 1)))


def _cut(wanted: Wanted, edges: tuple[Fraction, ...], first: int, last: int) -> Iterator[StaffSheet]:
    """The sheets of the bars from the edge `first` to the edge `last`."""
    for ends in dict.fromkeys((min(last + 1, len(edges) - 1), last)):
        if (sheet := _sheet(wanted, edges[first], edges[ends], edges[last], 1.0)) is not None:
            yield sheet
            return
    if last - first > 1:
        middle = (first + last + 1) // 2
        yield from _cut(wanted, edges, first, middle)
        yield from _cut(wanted, edges, middle, last)
        return
    wider = (_sheet(wanted, edges[first], edges[last], edges[last], times) for times in _WIDER)
    yield from [sheet for sheet in wider if sheet is not None][:1]


def _sheet(wanted: Wanted, start: Fraction, end: Fraction, until: Fraction, times: float) -> StaffSheet | None:
    """One system from `start` to `end`, `times` as wide as the room, made as small as the room asks for; None where it
    does not fit."""
    text = staff_musicxml(wanted.piece, start, end)
    notes = notes_within(wanted.piece, start, end)
    wide, high = wanted.room
    for space in range(max(_SMALLEST, int(wanted.space / times)), _SMALLEST - 1, -1):
        if (engraved := engrave(text, wide / space)) is None:
            return None
        picture, above = _picture(engraved, space, wanted.ink)
        seen = picture.get_bounding_rect()
        if seen.height <= high - 2 * _FREE or space == _SMALLEST:
            top = round((high - LINES * space) / 2) - above  # the lines in the middle, where nothing sticks out
            top = max(min(top, high - seen.bottom - _FREE), _FREE - seen.top)
            half = HEAD / 2 * space
            heads = {n: x / SPACE * space + half for n, (x, _) in zip(notes, engraved.heads, strict=True)}
            return StaffSheet(float(until), *_band(picture, top, wanted), heads, half)
    return None


def _picture(engraved: EngravedStaff, space: int, ink: Colour) -> tuple[pygame.Surface, int]:
    """The system in one colour on nothing, and the row of its top line."""
    svg, _ = engraved.picture(space, _AROUND, _AROUND, "#{:02x}{:02x}{:02x}".format(*ink))
    return pygame.image.load(io.BytesIO(svg.encode()), "staff.svg"), _AROUND * space


def _band(picture: pygame.Surface, top: int, wanted: Wanted) -> tuple[pygame.Surface, pygame.Surface]:
    """A system in its band, its own upper edge at `top`: on the ground, and alone."""
    alone = pygame.Surface(wanted.room, pygame.SRCALPHA)
    alone.blit(picture.premul_alpha(), (0, top), special_flags=pygame.BLEND_PREMULTIPLIED)
    whole = pygame.Surface(wanted.room)
    whole.fill(wanted.ground)
    whole.blit(alone, (0, 0), special_flags=pygame.BLEND_PREMULTIPLIED)
    return whole, alone


def _draw_sheet(brush: Brush, page: PracticePage, layout: Layout, sheet: StaffSheet, now: float) -> None:
    """The bar behind the note now, the notes, and the playhead over them."""
    theme, area, surface = brush.theme, layout.staff, brush.surface
    old = surface.get_clip()
    surface.set_clip(area)
    surface.blit(sheet.picture, area.topleft)
    here = page.current
    if here is not None and here in sheet.heads:
        colour = direction_colour(theme, page.notes[here].fingered.press.bellows)
        wide = round(3.4 * sheet.half)
        bar = pygame.Rect(round(sheet.heads[here] - wide / 2), 0, wide, area.height)
        where = bar.move(area.topleft)
        surface.fill(mixed(colour, theme.ground, _TINT), where)
        surface.blit(sheet.notes, where, bar, special_flags=pygame.BLEND_PREMULTIPLIED)
    if page.clocked:
        wide = max(2, round(0.25 * layout.tall))
        surface.fill(theme.ink, (round(area.left + sheet.x(page, now) - wide / 2), area.top, wide, area.height))
    surface.set_clip(old)
