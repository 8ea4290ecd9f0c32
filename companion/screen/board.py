"""Where the buttons of a box lie in the window."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from companion.box.box_values import Box
from companion.screen.look import Look
from companion.screen.window_layout import Layout

_ROW_STEP = 0.74  # distance of the rows, in distances between buttons
_FACE = 0.78  # diameters of a button, in the same
_ROUND = 0.56  # a figure higher than this does not fit into a round face: then faces are upright


@dataclass(frozen=True, slots=True)
class Lie:
    """Where a row lies: its y, and how far along button 1 is, in distances between buttons."""

    y: float
    offset: float


@dataclass(frozen=True, slots=True)
class Board:
    """Where the buttons lie: `pitch` is the distance between two buttons of a row, `face` the width and height of a
    button, `upright` whether it is no disc, for want of width."""

    pitch: float
    face: tuple[float, float]
    upright: bool
    rows: dict[str, Lie]
    right_to_left: bool
    left: float
    width: float
    box: pygame.Rect

    def x(self, along: float) -> float:
        """The x of a place along the keyboard; button b of a row with offset o lies at b - 1 + o."""
        from_left = self.left + (along + 0.5) * self.pitch
        return 2 * self.left + self.width - from_left if self.right_to_left else from_left

    def button(self, row: str, number: int) -> tuple[float, float]:
        """The middle of a button."""
        return self.x(number - 1 + self.rows[row].offset), self.rows[row].y

    def column(self, column: float) -> float:
        """The x of a column of buttons: the mean over the rows."""
        offsets = [row.offset for row in self.rows.values()]
        return self.x(column - 1 + sum(offsets) / len(offsets))


def lay_board(box: Box, layout: Layout, look: Look, label: float) -> Board:
    """Lay the rows of `box` into the band for the keyboard; `label` is the width kept free for the rows' names."""
    band, count = layout.keys, len(box.rows)
    columns = max(row.offset + len(row.push) for row in box.rows)
    widest = (band.width - label) / (columns + 0.1)
    pitch = min(widest, band.height / (1.06 + _ROW_STEP * (count - 1)), 15 * layout.tall)
    face, step = (_FACE * pitch, _FACE * pitch), _ROW_STEP * pitch
    upright = layout.read > _ROUND * pitch
    if upright:
        step = band.height / count
        pitch = min(widest, 2 * step)
        face = (0.92 * pitch, 0.9 * step)
    width = columns * pitch
    left = band.left + max(0.0, (band.width - label - width) / 2)
    rows = {}
    for n, row in enumerate(box.rows):
        down = n if not look.outer_below else count - 1 - n
        rows[row.name] = Lie(band.centery + (down - (count - 1) / 2) * step, row.offset)
    high = round(band.height if upright else 0.94 * pitch + step * (count - 1))
    panel = pygame.Rect(round(left - 0.04 * pitch), round(band.centery - high / 2), round(width + 0.08 * pitch), high)
    return Board(pitch, face, upright, rows, look.chin_right, left, width, panel)
