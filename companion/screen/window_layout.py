"""Where everything in the practice window lies, for any size of window.

What you need while you play is read from two metres: `Layout.read` is the size of its letters, in every window. So a
window that is narrow for its height has its bands stacked in another way, and room for more lines of a sentence.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from math import ceil

import pygame

from companion.screen.brush import CAPITAL

SMALLEST = (800, 480)
READ = 0.035  # the least height of a capital or figure that is read while playing, as a share of the window's


class Shape(Enum):
    """How the call is arranged: what comes then beside it, below it, or below it with the number beside the word."""

    WIDE = "wide"
    SQUARE = "square"
    TALL = "tall"


@dataclass(frozen=True, slots=True)
class Layout:
    """The bands of the window from top to bottom; nothing that is said or heard moves them.

    `unit` is a hundredth of the height, less in a window that is narrow for its height; `tall` is a hundredth of the
    height in every window. `read` is the em size of what is read while playing, `label` that of the next button's
    number, whose figures are at least an eighth of the height. `lines` is how many lines of a sentence have room.
    `then` is the place of the press after the next, `staff` that of the staff (without one it has no height).
    """

    size: tuple[int, int]
    shape: Shape
    unit: float
    tall: float
    margin: int
    read: int
    label: int
    lines: int
    head: pygame.Rect
    standin: pygame.Rect
    call: pygame.Rect
    then: pygame.Rect
    keys: pygame.Rect
    hand: pygame.Rect
    sentence: pygame.Rect
    staff: pygame.Rect
    line: pygame.Rect
    map: pygame.Rect


# Heights in hundredths of the window's, from the top; what lies between is free. A choice of this project.
_TOP = 3.2
_HEIGHTS = {
    Shape.WIDE: {"head": 7.6, "standin": 0.0, "call": 14.6, "keys": 19.4, "hand": 7.6, "sentence": 10.6, "staff": 0.0,
                 "line": 24.0, "map": 5.0},
    Shape.SQUARE: {"head": 7.2, "standin": 0.0, "call": 21.0, "keys": 18.0, "hand": 7.4, "sentence": 10.6, "staff": 0.0,
                   "line": 20.2, "map": 4.4},
    Shape.TALL: {"head": 8.8, "standin": 0.0, "call": 21.2, "keys": 11.8, "hand": 7.0, "sentence": 20.8, "staff": 0.0,
                 "line": 16.8, "map": 3.6},
}  # fmt: skip
_GAPS = {"head": 1.6, "standin": 0.0, "call": 1.4, "keys": 0.5, "hand": 0.9, "sentence": 1.0, "staff": 0.0, "line": 1.2}
_LINES = {Shape.WIDE: 2, Shape.SQUARE: 2, Shape.TALL: 4}
# While the demonstration plays, a window that is not wide has a row that says so; these give it the room.
_STANDIN: dict[Shape, dict[str, float]] = {
    Shape.WIDE: {},
    Shape.SQUARE: {"standin": 6.0, "head": -1.0, "keys": -0.8, "line": -4.2},
    Shape.TALL: {"standin": 6.0, "sentence": -5.4, "line": -0.6},
}
# The staff takes its height from what is around it; the bellows line goes without its fingers then.
_STAFF: dict[Shape, dict[str, float]] = {
    Shape.WIDE: {"staff": 10.4, "keys": -1.8, "line": -8.6},
    Shape.SQUARE: {"staff": 10.4, "keys": -2.8, "hand": -0.8, "line": -6.8},
    Shape.TALL: {"staff": 9.3, "keys": -0.3, "hand": -0.4, "sentence": -5.0, "line": -3.6},
}
# ... and less where the row of the demonstration has taken some of it.
_STAFF_STANDIN: dict[Shape, dict[str, float]] = {
    Shape.WIDE: _STAFF[Shape.WIDE],
    Shape.SQUARE: {"staff": 6.2, "keys": -1.6, "sentence": -1.0, "line": -3.6},
    Shape.TALL: {"staff": 4.8, "sentence": -1.4, "line": -3.4},
}
_THEN = 58.0  # the width of what comes then beside the call, and its height below it, in hundredths of the height
_THEN_BELOW = 7.8
_EIGHTH = 1 / 8


def lay_out(size: tuple[int, int], standin: bool = False, staff: bool = False) -> Layout:
    """The layout of a window of `size` (pixels); `standin` where the demonstration plays, `staff` with the staff."""
    width, height = size
    unit, hundredth = min(height, 0.6 * width) / 100, height / 100
    shape = Shape.WIDE if width >= 1.7 * height else Shape.SQUARE if width >= 1.25 * height else Shape.TALL
    margin = round(max(min(4 * unit, 4 * hundredth), 0.032 * width))
    moved = _moved(shape, standin, staff)
    bands, top = {}, _TOP
    for name, usual in _HEIGHTS[shape].items():
        high = usual + moved.get(name, 0.0)
        first, last = round(top * hundredth), round((top + high) * hundredth)
        bands[name] = pygame.Rect(margin, first, width - 2 * margin, last - first)
        top += high + _GAPS.get(name, 0.0)
    return Layout(
        size, shape, unit, hundredth, margin, ceil(READ * height / CAPITAL) + 1, int(height * _EIGHTH / CAPITAL) + 2,
        _LINES[shape], then=_then(bands["call"], shape, hundredth), **bands,
    )  # fmt: skip


def _moved(shape: Shape, standin: bool, staff: bool) -> dict[str, float]:
    """By how much the bands are higher or lower than usual."""
    ways = [_STANDIN[shape]] if standin else []
    if staff:
        ways.append((_STAFF_STANDIN if standin else _STAFF)[shape])
    return {name: sum(way.get(name, 0.0) for way in ways) for name in _HEIGHTS[shape]}


def _then(call: pygame.Rect, shape: Shape, hundredth: float) -> pygame.Rect:
    """The place of what comes then: at the right end of the call, or along its foot."""
    if shape is Shape.WIDE:
        wide = round(_THEN * hundredth)
        return pygame.Rect(call.right - wide, call.top, wide, call.height)
    high = round(_THEN_BELOW * hundredth)
    return pygame.Rect(call.left, call.bottom - high, call.width, high)
