"""The keyboard of the box: its rows, the next button, the one after it, and the hand beneath them."""

from __future__ import annotations

from dataclasses import replace

import pygame

from companion.box.box_values import Box, Fingered
from companion.screen.board import Board, lay_board
from companion.screen.brush import Brush, DrawnText, PictureCache
from companion.screen.hand_view import draw_hand
from companion.screen.look import Look
from companion.screen.page_values import PracticePage
from companion.screen.signs import direction_colour, on_direction, side_arrows
from companion.screen.window_layout import Layout
from companion.screen.words import Words

_FACE = 0.74  # diameters, in distances between buttons
_TARGET = 0.92


class Keyboard:
    """Draws the keyboard and keeps the picture of it at rest."""

    def __init__(self) -> None:
        self._kept = PictureCache(2)

    def draw(self, brush: Brush, glance: PracticePage, layout: Layout, look: Look, words: Words) -> None:
        """Draw the buttons, the next one and the one after it, and the hand beneath them."""
        u, theme = layout.unit, brush.theme
        names = max(brush.width(words("row", row=row.name), int(3.1 * u)) for row in glance.box.rows)
        board = lay_board(glance.box, layout, look, names + 2.6 * u)
        now, after = _now_and_after(glance)
        pressed = {(one.press.row, one.press.button) for one in (now, after) if one is not None}
        rest, texts = self._kept.get(
            (glance.box, layout.keys.size, u, look), lambda: _at_rest(brush, glance.box, board)
        )
        brush.surface.blit(rest, board.box.topleft)
        brush.placed += [
            replace(text, box=text.box.move(board.box.topleft)) for key, text in texts.items() if key not in pressed
        ]
        for row in glance.box.rows:
            colour = theme.ink if now is not None and now.press.row == row.name else theme.soft
            where = (board.box.right + 1.8 * u, board.rows[row.name].y)
            brush.write(words("row", row=row.name), 3.1 * u, colour, where, middle=True)
        if after is not None:
            _coming(brush, board.button(after.press.row, after.press.button), board.pitch, after, now)
        if now is not None:
            same = after is not None and (after.press.row, after.press.button) == (now.press.row, now.press.button)
            _target(brush, board.button(now.press.row, now.press.button), board.pitch, now, after if same else None)
            if not glance.paused:  # the card lies over the hand
                draw_hand(brush, glance, board, layout, words, look)


def _at_rest(brush: Brush, box: Box, board: Board) -> tuple[pygame.Surface, dict[tuple[str, int], DrawnText]]:
    """The picture of the keyboard with no button picked out, and the numbers in it."""
    theme, outside, listed = brush.theme, brush.surface, brush.placed
    rest, corner = pygame.Surface(board.box.size), board.box.topleft
    rest.fill(theme.ground)
    brush.on(rest)
    whole = rest.get_rect()
    texts: dict[tuple[str, int], DrawnText] = {}
    brush.pill(whole, theme.board, radius=0.47 * board.pitch)
    brush.pill(whole, theme.hair, radius=0.47 * board.pitch, line=max(1.0, 0.016 * board.pitch))
    for row in box.rows:
        for number in range(1, len(row.push) + 1):
            x, y = board.button(row.name, number)
            brush.placed = []
            _rest(brush, (x - corner[0], y - corner[1]), board.pitch, number)
            if brush.placed:
                texts[row.name, number] = brush.placed[0]
    brush.placed = listed
    brush.on(outside)
    return rest, texts


def _now_and_after(glance: PracticePage) -> tuple[Fingered | None, Fingered | None]:
    if glance.current is None or not glance.notes:
        return None, None
    after = glance.notes[glance.current + 1].fingered if glance.current + 1 < len(glance.notes) else None
    return glance.notes[glance.current].fingered, after


def _rest(brush: Brush, centre: tuple[float, float], pitch: float, number: int) -> None:
    radius = round(_FACE * pitch / 2, 1)
    brush.disc(centre, radius, brush.theme.rule)
    brush.disc(centre, radius - max(1.2, pitch * 0.018), brush.theme.button)
    brush.write(str(number), 0.34 * pitch, brush.theme.button_ink, centre, align="centre", middle=True)


def _coming(brush: Brush, centre: tuple[float, float], pitch: float, after: Fingered, now: Fingered | None) -> None:
    """The button after the next: a ring in the colour of its direction, with its arrows."""
    theme, colour = brush.theme, direction_colour(brush.theme, after.press.bellows)
    if now is not None and (after.press.row, after.press.button) == (now.press.row, now.press.button):
        return
    radius = round(0.39 * pitch, 1)
    brush.disc(centre, radius, colour)
    brush.disc(centre, radius - max(2.0, pitch * 0.05), theme.button)
    brush.write(str(after.press.button), 0.34 * pitch, theme.ink, centre, align="centre", bold=True, middle=True)
    side_arrows(brush, centre, 0.225 * pitch, 0.075 * pitch, after.press.bellows, colour)


def _target(brush: Brush, centre: tuple[float, float], pitch: float, now: Fingered, again: Fingered | None) -> None:
    """The next button: large, filled with the colour of its direction; ringed if it comes `again` right after."""
    theme, bellows = brush.theme, now.press.bellows
    radius = round(_TARGET * pitch / 2, 1)
    if again is not None:
        brush.disc(centre, radius, direction_colour(theme, again.press.bellows))
        radius -= max(2.0, pitch * 0.045)
        brush.disc(centre, radius, theme.board)
        radius -= max(2.0, pitch * 0.03)
    brush.disc(centre, radius, direction_colour(theme, bellows))
    ink = on_direction(theme, bellows)
    brush.write(str(now.press.button), 0.4 * pitch, ink, centre, align="centre", bold=True, middle=True)
    side_arrows(brush, centre, 0.26 * pitch, 0.085 * pitch, bellows, ink)
