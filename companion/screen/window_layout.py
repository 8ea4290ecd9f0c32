"""Where everything in the practice window lies, for any size of window."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from companion.screen.brush import CAPITAL

SMALLEST = (800, 480)


@dataclass(frozen=True, slots=True)
class Layout:
    """The bands of the window from top to bottom.

    `unit` is a hundredth of the height, less in a window that is narrow for its height: sizes are counted in it.
    `label` is the em size of the next button's label, whose figures are at least an eighth of the height.
    """

    size: tuple[int, int]
    unit: float
    margin: int
    label: int
    head: pygame.Rect
    call: pygame.Rect
    keys: pygame.Rect
    hand: pygame.Rect
    line: pygame.Rect
    foot: pygame.Rect
    alerts: pygame.Rect


# Heights in hundredths of the window's, from the top; what lies between is free. A choice of this project.
_TOP = 3.2
_HEIGHTS = {"head": 10.3, "call": 18.3, "keys": 21.4, "hand": 8.3, "line": 23.9, "alerts": 0.0, "foot": 6.4}
_GAPS = {"head": 1.7, "call": 1.6, "keys": 0.6, "hand": 1.2, "line": 0.8, "alerts": 0.7, "foot": 0.0}
# What a line of a notice or a caution takes, and from where.
_ALERT = {"call": -1.1, "keys": -1.5, "line": -2.4, "alerts": 5.0}
_EIGHTH = 1 / 8


def lay_out(size: tuple[int, int], alerts: int = 0) -> Layout:
    """The layout of a window of `size` with so many lines of notices and cautions."""
    width, height = size
    unit = min(height, 0.6 * width) / 100
    margin = round(max(4 * unit, 0.032 * width))
    bands, top = {}, _TOP
    for name, usual in _HEIGHTS.items():
        high = usual + alerts * _ALERT.get(name, 0.0)
        first, last = round(top * height / 100), round((top + high) * height / 100)
        bands[name] = pygame.Rect(margin, first, width - 2 * margin, last - first)
        top += high + _GAPS[name]
    label = int(height * _EIGHTH / CAPITAL) + 2
    return Layout(size=size, unit=unit, margin=margin, label=label, **bands)
