"""Text and smooth shapes on a pygame surface, with what is costly kept for the next frame.

Text is placed by its baseline or by the middle of its capitals, and shrinks, wraps, and only then ends in an ellipsis.
Shapes are drawn four times as large and scaled down, which gives smooth edges. What was placed is listed in
`Brush.placed`, so that tests can prove that nothing overlaps and nothing is cut.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import pygame

from companion.screen.contrast import Colour
from companion.screen.theme import Theme

FINE = 4  # times the size at which small shapes are drawn before they are scaled down
CAPITAL = 2048 / 2816  # height of a capital or a figure in ems: the font's own OS/2 table
_FONTS = Path(__file__).resolve().parent / "fonts"
LINE_STEP = 1.3  # from one baseline to the next, in ems
_LEAST = 1 << 20  # bytes that texts, and shapes, may always take
_LACKED = str.maketrans({"♯": "#", "♭": "b", "♮": ""})  # what to write for signs the font lacks
_KEPT = 900  # text and shapes kept; a page holds about a hundred


@dataclass(frozen=True, slots=True)
class DrawnText:
    """A text that was drawn: the box of its ink, its size, and whether it had to be cut."""

    text: str
    box: pygame.Rect
    size: int
    cut: bool


class PictureCache:
    """The last so many things made, by key; `room` is how many bytes their pictures may take (None: any)."""

    def __init__(self, most: int, room: int | None = None) -> None:
        self._most = most
        self._things: OrderedDict[Any, Any] = OrderedDict()
        self.room = room
        self._taken = 0

    def __contains__(self, key: Any) -> bool:
        return key in self._things

    def get(self, key: Any, make: Callable[[], Any]) -> Any:
        """What is kept under `key`, made where it is new."""
        if key in self._things:
            self._things.move_to_end(key)
            return self._things[key]
        thing = self._things[key] = make()
        self._taken += _bytes(thing)
        while len(self._things) > 1 and (len(self._things) > self._most or self._taken > (self.room or self._taken)):
            self._taken -= _bytes(self._things.popitem(last=False)[1])
        return thing


def _bytes(thing: Any) -> int:
    """How much the pictures in a thing take."""
    parts = thing if isinstance(thing, tuple) else (thing,)
    return sum(
        part.get_width() * part.get_height() * part.get_bytesize() for part in parts if isinstance(part, pygame.Surface)
    )


class Brush:
    """Draws on the surface that `on` was given last.

    Parameters
    ----------
    theme : the colours.
    listing : list every text in `placed`.
    """

    def __init__(self, theme: Theme, *, listing: bool = False) -> None:
        if not pygame.font.get_init():
            pygame.font.init()
        self.theme = theme
        self.listing = listing
        self.placed: list[DrawnText] = []
        self.surface = pygame.Surface((1, 1))
        self._fonts = PictureCache(120)
        self._texts = PictureCache(_KEPT)
        self._widths = PictureCache(4 * _KEPT)
        self._shapes = PictureCache(_KEPT)

    def on(self, surface: pygame.Surface) -> Brush:
        """Draw on `surface` from now on."""
        self.surface = surface
        # As much as the largest picture so far, for texts and for shapes each: a page takes about a third of that.
        room = max(4 * surface.get_width() * surface.get_height(), _LEAST, self._texts.room or 0)
        self._texts.room = self._shapes.room = room
        return self

    # text

    def font(self, size: int, bold: bool) -> pygame.font.Font:
        """The font at `size` pixels an em."""
        face: pygame.font.Font = self._fonts.get((size, bold), lambda: pygame.font.Font(_file(bold), max(size, 4)))
        return face

    def width(self, text: str, size: int, bold: bool = False) -> int:
        """How wide `text` is, in pixels."""
        text = text.translate(_LACKED)
        return int(self._widths.get((text, size, bold), lambda: self.font(size, bold).size(text)[0]))

    def fit(self, text: str, width: float, size: float, bold: bool = False, least: float = 0.6) -> tuple[str, int]:
        """`text` and the largest size, from `size` down to `least` of it, at which it fits; shortened only then."""
        big, small = int(size), max(int(size * least), 7)
        while big > small and self.width(text, big, bold) > width:
            big = max(small, min(big - 1, int(big * width / max(self.width(text, big, bold), 1))))
        if self.width(text, big, bold) <= width:
            return text, big
        kept = text
        while kept and self.width(kept.rstrip(" ,.;:·–-") + "…", big, bold) > width:
            kept = kept[:-1]
        return kept.rstrip(" ,.;:·–-") + "…", big

    def write(
        self,
        text: str,
        size: float,
        colour: Colour,
        at: tuple[float, float],
        *,
        bold: bool = False,
        align: str = "left",
        middle: bool = False,
        width: float | None = None,
        least: float = 0.6,
    ) -> pygame.Rect:
        """Write one line.

        Parameters
        ----------
        at : x of the left, centre or right (as `align` says) and y of the baseline, or of the capitals' middle where
            `middle` is true.
        width : what it may take; it is made to fit with `fit`.

        Returns
        -------
        The box of the ink.
        """
        if not text:
            return pygame.Rect(int(at[0]), int(at[1]), 0, 0)
        text = text.translate(_LACKED)
        shown, whole = (text, int(size)) if width is None else self.fit(text, width, size, bold, least)
        face = self.font(whole, bold)
        ink, box = self._texts.get((shown, whole, bold, colour), lambda: _render(face, shown, colour))
        x = at[0] - {"left": 0.0, "centre": 0.5, "right": 1.0}[align] * ink.get_width()
        base = at[1] + (CAPITAL * whole / 2 if middle else 0)
        corner = (round(x), round(base) - face.get_ascent())
        self.surface.blit(ink, corner)
        placed: pygame.Rect = box.move(corner)
        if self.listing:
            self.placed.append(DrawnText(text, placed, whole, shown != text))
        return placed

    def figure(
        self, text: str, size: float, colour: Colour, centre: tuple[float, float], width: float, *, bold: bool = False
    ) -> pygame.Rect:
        """Write a number with its middle at `centre`, pressed together where it is wider than `width`: a figure that
        is read from far keeps its height. Returns the box of the ink."""
        whole = int(size)
        key = ("figure", text, whole, bold, colour, max(1, round(width)))
        ink, box = self._texts.get(key, lambda: _pressed(*_render(self.font(whole, bold), text, colour), round(width)))
        corner = (round(centre[0] - box.width / 2) - box.left, round(centre[1] + CAPITAL * whole / 2) - box.bottom)
        self.surface.blit(ink, corner)
        placed: pygame.Rect = box.move(corner)
        if self.listing:
            self.placed.append(DrawnText(text, placed, whole, False))
        return placed

    def wrap(self, text: str, width: float, size: float, lines: int, bold: bool = False, least: float = 0.7) -> _Lines:
        """`text` broken into at most `lines` lines that fit; smaller where it must be, shortened last."""
        big, small = int(size), max(int(size * least), 7)
        while True:
            broken = self._broken(text, width, big, bold)
            if len(broken) <= lines or big <= small:
                break
            big -= 1
        cut = len(broken) > lines
        if cut:
            rest = " ".join(broken[lines - 1 :])
            broken = [*broken[: lines - 1], self.fit(rest, width, big, bold, 1.0)[0]]
        broken = [self.fit(line, width, big, bold, 1.0)[0] for line in broken]
        return _Lines(tuple(broken), big, cut)

    def wrap_into(
        self, text: str, box: pygame.Rect, size: float, lines: int = 2, bold: bool = False, least: float = 0.7,
        step: float = LINE_STEP,
    ) -> _Lines:  # fmt: skip
        """As `wrap`, and small enough for the height of `box` too, with `step` ems from line to line."""
        for count in range(1, lines):
            laid = self.wrap(text, box.width, min(size, _size_for(count, box.height, step)), count, bold, 0.92)
            if not laid.cut:
                return laid
        most = min(size, _size_for(lines, box.height, step))
        return self.wrap(text, box.width, most, lines, bold, min(1.0, least * size / most))

    def _broken(self, text: str, width: float, size: int, bold: bool) -> list[str]:
        lines: list[str] = []
        for word in text.split():
            if lines and self.width(f"{lines[-1]} {word}", size, bold) <= width:
                lines[-1] += f" {word}"
            else:
                lines.append(word)
        return lines

    def write_lines(
        self, text: str, size: float, colour: Colour, box: pygame.Rect, *, lines: int = 2, bold: bool = False,
        align: str = "left", least: float = 0.7, step: float = LINE_STEP,
    ) -> pygame.Rect:  # fmt: skip
        """Write `text` into `box`, broken into at most `lines` lines and centred in its height."""
        laid = self.wrap_into(text, box, size, lines, bold, least, step)
        down = laid.size * step
        x = {"left": box.left, "centre": box.centerx, "right": box.right}[align]
        top = box.centery - down * (len(laid.lines) - 1) / 2
        used = pygame.Rect(int(x), int(top), 0, 0)
        for n, line in enumerate(laid.lines):
            ink = self.write(line, laid.size, colour, (x, top + n * down), bold=bold, align=align, middle=True)
            used = used.union(ink)
        if laid.cut and self.listing:
            self.placed[-1] = DrawnText(text, self.placed[-1].box, laid.size, True)
        return used

    # shapes

    def shape(
        self, key: Any, size: tuple[int, int], colour: Colour, paint: Callable[[pygame.Surface, int], None]
    ) -> Any:
        """A smooth shape in one colour, made once: `paint` draws it on a surface that is `FINE` times `size`."""
        return self._shapes.get((key, size, colour), lambda: _smooth(size, colour, paint))

    def stamp(self, shape: pygame.Surface, centre: tuple[float, float]) -> None:
        """Put a shape with its middle at `centre`."""
        x, y = centre
        self.surface.blit(shape, (round(x - shape.get_width() / 2), round(y - shape.get_height() / 2)))

    def disc(self, centre: tuple[float, float], radius: float, colour: Colour, hole: float = 0.0) -> None:
        """A disc, or a ring where `hole` is the radius of its inside."""
        side = round(radius * 2) + 2

        def paint(fine: pygame.Surface, scale: int) -> None:
            middle = (side * scale / 2, side * scale / 2)
            width = max(1, round((radius - hole) * scale)) if hole else 0
            pygame.draw.circle(fine, colour, middle, radius * scale, width)

        self.stamp(self.shape(("disc", radius, hole), (side, side), colour, paint), centre)

    def polygon(self, points: Sequence[tuple[float, float]], colour: Colour) -> None:
        """A filled polygon."""
        left, top = min(x for x, _ in points), min(y for _, y in points)
        right, bottom = max(x for x, _ in points), max(y for _, y in points)
        corner = (int(left) - 1, int(top) - 1)
        size = (int(right - corner[0]) + 3, int(bottom - corner[1]) + 3)
        within = tuple((round(x - corner[0], 2), round(y - corner[1], 2)) for x, y in points)

        def paint(fine: pygame.Surface, scale: int) -> None:
            pygame.draw.polygon(fine, colour, [(x * scale, y * scale) for x, y in within])

        self.surface.blit(self.shape(("polygon", within), size, colour, paint), corner)

    def pill(self, box: pygame.Rect, colour: Colour, radius: float | None = None, line: float = 0.0) -> None:
        """A rounded box, filled, or only its outline where `line` is its thickness."""
        size = (max(box.width, 2), max(box.height, 2))
        bend = min(size) / 2 if radius is None else radius

        def paint(fine: pygame.Surface, scale: int) -> None:
            whole = pygame.Rect(0, 0, size[0] * scale, size[1] * scale)
            pygame.draw.rect(fine, colour, whole, round(line * scale), border_radius=round(bend * scale))

        shape = self.shape(("pill", bend, line), size, colour, paint)
        self.surface.blit(shape, box.topleft)

    def stroke(self, points: Sequence[tuple[float, float]], colour: Colour, thick: float) -> None:
        """A line through `points` with round ends and joins."""
        left, top = min(x for x, _ in points) - thick, min(y for _, y in points) - thick
        right, bottom = max(x for x, _ in points) + thick, max(y for _, y in points) + thick
        corner = (int(left), int(top))
        size = (int(right - corner[0]) + 2, int(bottom - corner[1]) + 2)
        within = tuple((round(x - corner[0], 2), round(y - corner[1], 2)) for x, y in points)

        def paint(fine: pygame.Surface, scale: int) -> None:
            stroke_on(fine, [(x * scale, y * scale) for x, y in within], colour, thick * scale)

        self.surface.blit(self.shape(("stroke", within, thick), size, colour, paint), corner)


@dataclass(frozen=True, slots=True)
class _Lines:
    """A text broken into lines at a size; whether something was left out."""

    lines: tuple[str, ...]
    size: int
    cut: bool


def _size_for(lines: int, height: float, step: float) -> float:
    """The largest size at which so many lines fit into a height, `step` ems apart."""
    return height / (step * (lines - 1) + 1.1 * min(1.0, step / LINE_STEP * 1.1))


def stroke_on(surface: pygame.Surface, points: Sequence[tuple[float, float]], colour: Colour, thick: float) -> None:
    """Draw a thick line with round ends and joins straight on `surface`."""
    for (x0, y0), (x1, y1) in pairwise(points):
        length = max(((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5, 1e-6)
        nx, ny = (y0 - y1) / length * thick / 2, (x1 - x0) / length * thick / 2
        edge = [(x0 + nx, y0 + ny), (x1 + nx, y1 + ny), (x1 - nx, y1 - ny), (x0 - nx, y0 - ny)]
        pygame.draw.polygon(surface, colour, edge)
    for point in points:
        pygame.draw.circle(surface, colour, point, thick / 2)


def _file(bold: bool) -> Path:
    return _FONTS / ("sans-bold.otf" if bold else "sans-regular.otf")


def _render(face: pygame.font.Font, text: str, colour: Colour) -> tuple[pygame.Surface, pygame.Rect]:
    ink = face.render(text, True, colour)
    return ink, ink.get_bounding_rect()


def _pressed(ink: pygame.Surface, box: pygame.Rect, width: int) -> tuple[pygame.Surface, pygame.Rect]:
    """The ink of a text alone, no wider than `width`."""
    only = ink.subsurface(box)
    if box.width > width >= 1:
        only = pygame.transform.smoothscale(only, (width, box.height))
    return only, only.get_rect()


def _smooth(size: tuple[int, int], colour: Colour, paint: Callable[[pygame.Surface, int], None]) -> pygame.Surface:
    # Clear pixels carry the shape's colour too: otherwise an edge would turn black when scaled down.
    fine = pygame.Surface((size[0] * FINE, size[1] * FINE), pygame.SRCALPHA)
    fine.fill((*colour, 0))
    paint(fine, FINE)
    return pygame.transform.smoothscale(fine, size)
