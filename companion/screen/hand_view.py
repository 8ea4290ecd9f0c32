"""The hand's place on the keyboard, and the reach that is coming, shown before it is needed."""

from __future__ import annotations

import pygame

from companion.box.box_values import Fingered
from companion.screen.board import Board
from companion.screen.brush import Brush
from companion.screen.contrast import Colour
from companion.screen.look import Look
from companion.screen.page_values import PracticePage
from companion.screen.signs import direction_colour, on_direction
from companion.screen.window_layout import Layout
from companion.screen.words import Words

AHEAD = 4  # a reach is shown so many notes before it is needed


def finger_columns(now: Fingered) -> tuple[float, ...]:
    """The columns under the four fingers: one each from `place` on, the finger that presses over its own button."""
    natural = [float(now.place + n) for n in range(4)]
    at = now.finger - 1
    if not 0 <= at < 4 or abs(natural[at] - now.press.button) < 1:
        return tuple(natural)
    natural[at] = float(now.press.button)
    for n in range(at + 1, 4):
        natural[n] = max(natural[n], natural[n - 1] + 0.55)
    for n in range(at - 1, -1, -1):
        natural[n] = min(natural[n], natural[n + 1] - 0.55)
    return tuple(natural)


def next_reach(glance: PracticePage) -> tuple[int, int, Fingered] | None:
    """The next reach: how many notes ahead, how many places, the note that it is for; None where none is near."""
    if glance.current is None:
        return None
    for ahead in range(1, AHEAD + 1):
        if glance.current + ahead >= len(glance.notes):
            return None
        coming = glance.notes[glance.current + ahead].fingered
        if coming.reach:
            return ahead, coming.reach, coming
    return None


def draw_hand(brush: Brush, glance: PracticePage, board: Board, layout: Layout, words: Words, look: Look) -> None:
    """Draw the four fingers where they lie, the one that presses filled, and the reach that is coming."""
    if glance.current is None:
        return
    h, theme, band = layout.tall, brush.theme, layout.hand
    now = glance.notes[glance.current].fingered
    wide, high = round(min(0.62 * board.pitch, 7 * h)), round(min(band.height - 1.8 * h, 5.6 * h))
    top = band.top + round(0.2 * h)
    palm, bottom = max(2.0, 0.5 * h), top + high + 1.0 * h
    xs = [board.column(column) for column in finger_columns(now)]
    reach = next_reach(glance)
    if reach is not None:
        _ghost(brush, board, layout, words, look, reach, xs, pygame.Rect(0, top, wide, high))
    brush.stroke([(min(xs), bottom), (max(xs), bottom)], theme.ink, palm)
    for n, x in enumerate(xs, 1):
        finger = pygame.Rect(round(x - wide / 2), top, wide, high)
        brush.stroke([(x, top + high), (x, bottom)], theme.ink, palm)
        if n == now.finger:
            bellows = now.press.bellows
            brush.pill(finger, direction_colour(theme, bellows))
            _figure(brush, n, finger, layout.read, on_direction(theme, bellows), True)
        else:
            brush.pill(finger, theme.button)
            brush.pill(finger, theme.rule, line=max(1.2, 0.22 * h))
            _figure(brush, n, finger, layout.read, theme.button_ink, False)


def _figure(brush: Brush, n: int, finger: pygame.Rect, size: int, colour: Colour, bold: bool) -> None:
    brush.figure(str(n), size, colour, finger.center, 0.8 * finger.width, bold=bold)


def _ghost(
    brush: Brush, board: Board, layout: Layout, words: Words, look: Look, reach: tuple[int, int, Fingered],
    here: list[float], finger: pygame.Rect,
) -> None:  # fmt: skip
    """Where the hand will be: the fingers that leave its place in outline, an arrow to them, and words beside."""
    _, places, coming = reach
    h, theme, band = layout.tall, brush.theme, layout.hand
    there = [board.column(column) for column in finger_columns(coming)]
    half = finger.width / 2
    old, new = (min(here) - half, max(here) + half), (min(there) - half, max(there) + half)
    for n, x in enumerate(there, 1):
        if x > old[1] + 0.5 * half or x < old[0] - 0.5 * half:
            outline = finger.move(round(x - half), 0)
            brush.pill(outline, theme.rule, line=max(1.2, 0.22 * h))
            _figure(brush, n, outline, layout.read, theme.soft, False)
    bottom = finger.bottom + 1.0 * h
    right = (places > 0) != look.chin_right
    start, tip = (max(here), new[1]) if right else (min(here), new[0])
    back = tip - 1.5 * h if right else tip + 1.5 * h
    brush.stroke([(start, bottom), (back, bottom)], theme.soft, max(2.0, 0.4 * h))
    brush.polygon([(back, bottom - 1.0 * h), (back, bottom + 1.0 * h), (tip, bottom)], theme.ink)
    edges = (min(old[0], new[0]) - 2.5 * h, max(old[1], new[1]) + 2.5 * h)
    rooms = (edges[0] - band.left, band.right - edges[1])
    align, x = ("left", edges[1]) if rooms[1] >= rooms[0] else ("right", edges[0])
    said = words("hand_up" if places > 0 else "hand_down", n=abs(places))
    if brush.width(said, layout.read, True) <= max(rooms):  # else the outline and its arrow say it alone
        brush.write(said, layout.read, theme.ink, (x, finger.centery), bold=True, middle=True, align=align)
