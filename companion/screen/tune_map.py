"""The map of the tune: a strip with a cell for each bar, part after part; how far each is, what is practised.

How far a bar is shows in its shape: an empty cell, one half full, a full one with a notch, a full one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pygame

from companion.screen.brush import CAPITAL, Brush
from companion.screen.page_values import BarProgress, MapBar, MapPart, TuneMap
from companion.screen.theme import Theme
from companion.screen.window_layout import Layout

_LETTER = 0.62  # of a strip's height: the em of a part's name
_LETTERS = 1.0  # ems that a letter takes, with the gap behind it
_PART, _PHRASE = 0.5, 0.16  # gaps before a part and a phrase, in heights of a strip
_LEAST = 0.42  # a cell narrower than this many heights of one strip: take two
_MOST = 1.9  # a cell is no wider than this many heights of a strip


@dataclass(frozen=True, slots=True)
class MapCell:
    """A bar where it is drawn."""

    part: MapPart
    bar: MapBar
    box: pygame.Rect


@dataclass(frozen=True, slots=True)
class _Strip:
    """The parts in one strip, and its place."""

    parts: tuple[MapPart, ...]
    box: pygame.Rect


def map_cells(tune: TuneMap, layout: Layout) -> list[tuple[int, int, pygame.Rect]]:
    """Every bar in order: its first and last note in the tune, and its cell (pixels)."""
    return [(cell.bar.first, cell.bar.last, cell.box) for cell in placed_bars(tune, layout)]


def bar_at(tune: TuneMap, layout: Layout, at: tuple[int, int]) -> int | None:
    """Which bar (index in `map_cells`) lies at `at` (pixels); None where none does."""
    reach = layout.tall
    for n, (_, _, box) in enumerate(map_cells(tune, layout)):
        if box.inflate(2, reach).collidepoint(at):
            return n
    return None


def nearest_bar(tune: TuneMap, layout: Layout, at: tuple[int, int]) -> int:
    """The bar (index in `map_cells`) nearest to `at` (pixels), of a tune that has one."""
    boxes = [box for _, _, box in map_cells(tune, layout)]

    def away(n: int) -> tuple[int, int]:
        return abs(boxes[n].centery - at[1]) // max(1, boxes[n].height), abs(boxes[n].centerx - at[0])

    return min(range(len(boxes)), key=away)


def placed_bars(tune: TuneMap, layout: Layout) -> list[MapCell]:
    """Every bar in order where it is drawn."""
    return [cell for strip in _strips(tune, layout.map) for cell in _cells(strip, _cell_width(tune, layout.map))]


def draw_map(brush: Brush, tune: TuneMap, layout: Layout, run: tuple[int, int] | None = None) -> None:
    """Draw the map into its band; `run`: the bars (indices in `map_cells`) that are being picked out."""
    cells, theme = placed_bars(tune, layout), brush.theme
    for strip in _strips(tune, layout.map):
        _names(brush, strip, _cell_width(tune, layout.map))
    for n, cell in enumerate(cells):
        draw_cell(brush.surface, cell.box, cell.bar.progress, theme)
        if tune.at is not None and cell.bar.first <= tune.at <= cell.bar.last:
            _mark(brush, cell.box)
        if run is not None and min(run) <= n <= max(run):
            cell_box = cell.box.inflate(0, -round(0.5 * cell.box.height)).move(0, 0)
            pygame.draw.rect(brush.surface, theme.ink, cell_box)
    for box in _framed(cells, tune.here):
        thick = max(2, round(min(0.28 * layout.tall, 0.1 * box.height)))
        brush.pill(box.inflate(2 * thick, 2 * thick + 2), theme.ink, radius=2.0 * thick, line=thick)


def _strips(tune: TuneMap, band: pygame.Rect) -> list[_Strip]:
    """One strip, or two where the cells of one would be too narrow."""
    parts = tuple(part for part in tune.parts if part.bars)
    if len(parts) < 2 or _width_in(parts, band, band.height) >= _LEAST * band.height:
        return [_Strip(parts, band)]
    half = (band.height - 2) // 2
    count, gone, cut = sum(len(part.bars) for part in parts), 0, len(parts) - 1
    for n, part in enumerate(parts[:-1], 1):
        gone += len(part.bars)
        if 2 * gone >= count:
            cut = n
            break
    upper = pygame.Rect(band.left, band.top, band.width, half)
    return [_Strip(parts[:cut], upper), _Strip(parts[cut:], upper.move(0, band.height - half))]


def _gaps(parts: tuple[MapPart, ...], high: float) -> float:
    """The width that names and gaps take in a strip."""
    size = _LETTER * high
    names = sum(_LETTERS * size * max(1.0, 0.7 * len(part.name)) for part in parts)
    phrases = sum(sum(0 < phrase < len(part.bars) for phrase in part.phrases) for part in parts)
    return names + _PART * high * (len(parts) - 1) + _PHRASE * high * phrases


def _width_in(parts: tuple[MapPart, ...], band: pygame.Rect, high: float) -> float:
    return (band.width - _gaps(parts, high)) / max(1, sum(len(part.bars) for part in parts))


def _cell_width(tune: TuneMap, band: pygame.Rect) -> float:
    """The width of a cell, the same everywhere."""
    strips = _strips(tune, band)
    high = strips[0].box.height
    return max(1.0, min(_MOST * high, *(_width_in(strip.parts, band, high) for strip in strips)))


def _begins(strip: _Strip, wide: float) -> Iterator[tuple[MapPart, float]]:
    """Each part of a strip with the x at which its name begins."""
    x, high = float(strip.box.left), strip.box.height
    for part in strip.parts:
        yield part, x
        x += _gaps((part,), high) + len(part.bars) * wide + _PART * high


def _cells(strip: _Strip, wide: float) -> Iterator[MapCell]:
    high = strip.box.height
    top, tall = strip.box.top + round(0.2 * high), round(0.62 * high)
    for part, left in _begins(strip, wide):
        x = left + _gaps((part,), high) - _PHRASE * high * sum(0 < one < len(part.bars) for one in part.phrases)
        for n, bar in enumerate(part.bars):
            x += _PHRASE * high if n and n in part.phrases else 0.0
            gap = max(1, round(0.1 * wide)) if wide < 12 else max(2, round(0.04 * wide))
            yield MapCell(part, bar, pygame.Rect(round(x), top, max(1, round(x + wide) - round(x) - gap), tall))
            x += wide


def _names(brush: Brush, strip: _Strip, wide: float) -> None:
    size = round(_LETTER * strip.box.height)
    for part, left in _begins(strip, wide):
        base = strip.box.top + 0.51 * strip.box.height + size * CAPITAL / 2
        brush.write(part.name, size, brush.theme.soft, (left, base), bold=True)


def draw_cell(surface: pygame.Surface, box: pygame.Rect, progress: BarProgress, theme: Theme) -> None:
    """One bar in its box (pixels), by its shape and colour as far as it is."""
    thin = max(1, round(0.06 * box.height))
    if progress is BarProgress.KNOWN:
        pygame.draw.rect(surface, theme.right, box)
    elif progress is BarProgress.FAILING:
        pygame.draw.rect(surface, theme.wrong, box)
        half = min(box.width / 2, 0.4 * box.height)
        x, top = box.centerx, box.top - 1
        notch = [(x - half, top), (x + half, top), (x, box.top + 0.66 * box.height)]
        pygame.draw.polygon(surface, theme.ground, notch)
    else:
        if progress is BarProgress.BEGUN:
            low = box.height // 2
            pygame.draw.rect(surface, theme.soft, (box.left, box.bottom - low, box.width, low))
        pygame.draw.rect(surface, theme.rule, box, thin)


def _mark(brush: Brush, box: pygame.Rect) -> None:
    """Where the playing is: a small arrowhead on the cell's upper edge."""
    half = max(2.5, 0.3 * box.height)
    top = box.top - 0.16 * box.height
    points = [(box.centerx - half, top - half), (box.centerx + half, top - half), (box.centerx, top + half * 0.4)]
    brush.polygon(points, brush.theme.ink)


def _framed(cells: list[MapCell], here: tuple[int, int]) -> list[pygame.Rect]:
    """A box round each row of neighbouring cells with notes of what is practised now."""
    first, last = here
    found: list[pygame.Rect] = []
    before: MapCell | None = None
    for cell in cells:
        bar = cell.bar
        inside = (bar.last >= first and bar.first <= last) if first <= last else bar.last >= first or bar.first <= last
        if inside and before is not None and before.part is cell.part:
            found[-1] = found[-1].union(cell.box)
        elif inside:
            found.append(cell.box.copy())
        before = cell if inside else None
    return found
