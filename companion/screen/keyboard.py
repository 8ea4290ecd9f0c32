"""The keyboard of the box: its rows, the next button, the one after it, a wrong press, and the hand beneath them."""

from __future__ import annotations

from dataclasses import replace

import pygame

from companion.box.box_values import Box, Fingered, Press
from companion.screen.board import Board, lay_board
from companion.screen.brush import CAPITAL, Brush, DrawnText, PictureCache
from companion.screen.contrast import Colour
from companion.screen.hand_view import draw_hand
from companion.screen.look import Look
from companion.screen.page_values import PracticePage, Shown
from companion.screen.revealed import now_and_then, shown_now
from companion.screen.signs import direction_colour, on_direction, side_arrows, tried_sign
from companion.screen.window_layout import Layout, Shape
from companion.screen.words import Words

_TARGET = 1.18  # times a face
_LIFT = 0.12  # how far the number goes up to make room for the note's name, in faces
# The height of the name's capitals, and what is free above and below it, in hundredths of the window's.
_NAME_LEAST, _NAME_MOST, _NAME_FREE = 1.2, 2.0, 0.5


class Keyboard:
    """Draws the keyboard and keeps the picture of it at rest."""

    def __init__(self) -> None:
        self._kept = PictureCache(2)

    def draw(self, brush: Brush, page: PracticePage, layout: Layout, look: Look, words: Words) -> None:
        """Draw the buttons, the next one and the one after it, a wrong press, and the hand beneath them."""
        board = lay_board(page.box, layout, look, _room_for_names(brush, page.box, layout))
        notes = now_and_then(page)
        now, then = (None if one is None else one.fingered for one in notes)
        name = notes[0].name if notes[0] is not None else ""
        pressed = {(one.press.row, one.press.button) for one in (now, then) if one is not None}
        pressed |= {(press.row, press.button) for press in page.pressed}
        rest, texts = self._kept.get(
            (page.box, layout.keys.size, layout.read, look), lambda: _at_rest(brush, page.box, board, layout.read)
        )
        brush.surface.blit(rest, board.box.topleft)
        brush.placed += [
            replace(text, box=text.box.move(board.box.topleft)) for key, text in texts.items() if key not in pressed
        ]
        _row_names(brush, page.box, board, layout, now)
        if then is not None and (now is None or _place(then) != _place(now)):
            _coming(brush, board, then.press, layout.read)
        if now is not None:
            again = then.press if then is not None and _place(then) == _place(now) else None
            _target(brush, board, now.press, again, layout, name if look.names else "")
        for press in page.pressed:
            if len(page.pressed) == 1:
                _target(brush, board, press, None, layout, "")
            else:
                _coming(brush, board, press, layout.read)
        if shown_now(page) is Shown.ALL:
            _tried(brush, board, page.tried, layout)
        if now is not None and not page.paused:  # the card lies over the hand
            draw_hand(brush, page, board, layout, words, look)


def _place(one: Fingered) -> tuple[str, int]:
    return one.press.row, one.press.button


def _room_for_names(brush: Brush, box: Box, layout: Layout) -> float:
    """The width that the rows' names take; a window that is high for its width has none for them."""
    if layout.shape is Shape.TALL:
        return 0.0
    return max(brush.width(row.name, layout.read, True) for row in box.rows) + 2 * layout.tall


def _row_names(brush: Brush, box: Box, board: Board, layout: Layout, now: Fingered | None) -> None:
    """Each row's name beside it."""
    if layout.shape is Shape.TALL:
        return
    for row in box.rows:
        here = now is not None and now.press.row == row.name
        where = (board.box.right + 1.6 * layout.tall, board.rows[row.name].y)
        colour = brush.theme.ink if here else brush.theme.soft
        brush.write(row.name, layout.read, colour, where, middle=True, bold=here)


def _at_rest(
    brush: Brush, box: Box, board: Board, size: int
) -> tuple[pygame.Surface, dict[tuple[str, int], DrawnText]]:
    """The picture of the keyboard with no button picked out, and the numbers in it."""
    theme, outside, listed = brush.theme, brush.surface, brush.placed
    rest, corner = pygame.Surface(board.box.size), board.box.topleft
    rest.fill(theme.ground)
    brush.on(rest)
    bend = 0.47 * board.pitch if not board.upright else 0.14 * board.pitch
    brush.pill(rest.get_rect(), theme.board, radius=bend)
    brush.pill(rest.get_rect(), theme.hair, radius=bend, line=max(1.0, 0.016 * board.pitch))
    texts: dict[tuple[str, int], DrawnText] = {}
    for row in box.rows:
        for number in range(1, len(row.push) + 1):
            x, y = board.button(row.name, number)
            brush.placed = []
            centre = (x - corner[0], y - corner[1])
            _face(brush, board, centre, theme.rule)
            _face(brush, board, centre, theme.button, inset=max(1.2, board.pitch * 0.018))
            brush.figure(str(number), size, theme.button_ink, centre, 0.8 * board.face[0])
            if brush.placed:
                texts[row.name, number] = brush.placed[0]
    brush.placed = listed
    brush.on(outside)
    return rest, texts


def _face(
    brush: Brush, board: Board, centre: tuple[float, float], colour: Colour, *, times: float = 1.0, inset: float = 0.0
) -> None:
    """A button's face in one colour, `times` as large as at rest and smaller all round by `inset` pixels."""
    wide, high = board.face
    if not board.upright:
        brush.disc(centre, round(times * wide / 2 - inset, 1), colour)
        return
    grown = min(times, 1.06)
    box = pygame.Rect(0, 0, round(grown * wide - 2 * inset), round(grown * high - 2 * inset))
    box.center = (round(centre[0]), round(centre[1]))
    brush.pill(box, colour, radius=0.2 * wide)


def _number(
    brush: Brush, board: Board, centre: tuple[float, float], press: Press, size: int, colour: Colour, arrows: Colour
) -> None:
    """The button's number between two arrowheads; in a face higher than it is wide these lie below it."""
    wide, high = board.face
    if high > wide:
        x, y = centre
        brush.figure(str(press.button), size, colour, (x, y - 0.09 * high), 0.8 * wide, bold=True)
        side_arrows(brush, (x, y + 0.37 * high), 0.06 * wide, 0.09 * high, press.bellows, arrows)
        return
    ink, least = brush.figure(str(press.button), size, colour, centre, 0.62 * wide, bold=True), min(wide, high)
    side_arrows(brush, centre, ink.width / 2 + 0.035 * wide, 0.1 * least, press.bellows, arrows)


def _coming(brush: Brush, board: Board, then: Press, size: int) -> None:
    """The button after the next: a ring in the colour of its direction, with its arrows."""
    theme, colour = brush.theme, direction_colour(brush.theme, then.bellows)
    centre = board.button(then.row, then.button)
    _face(brush, board, centre, colour, times=1.06)
    _face(brush, board, centre, theme.button, times=1.06, inset=max(2.0, board.pitch * 0.045))
    _number(brush, board, centre, then, size, theme.ink, colour)


def _target(brush: Brush, board: Board, now: Press, again: Press | None, layout: Layout, name: str) -> None:
    """The next button: large, filled with the colour of its direction; ringed if it comes `again` right after. The
    note's name stands small below the number."""
    theme, bellows, centre, inset = brush.theme, now.bellows, board.button(now.row, now.button), 0.0
    if again is not None:
        _face(brush, board, centre, direction_colour(theme, again.bellows), times=_TARGET)
        _face(brush, board, centre, theme.board, times=_TARGET, inset=max(2.0, board.pitch * 0.035))
        inset = max(4.0, board.pitch * 0.06)
    _face(brush, board, centre, direction_colour(theme, bellows), times=_TARGET, inset=inset)
    ink, (x, y) = on_direction(theme, bellows), centre
    tall = _name_height(board, layout, inset) if name else 0.0
    if tall:
        y -= _LIFT * board.face[1]
        under = y + layout.read * CAPITAL / 2 + _NAME_FREE * layout.tall + tall / 2
        brush.write(name, tall / CAPITAL, ink, (x, under), bold=True, align="centre", middle=True)
    _number(brush, board, (x, y), now, layout.read, ink, ink)


def _name_height(board: Board, layout: Layout, inset: float) -> float:
    """The height of the name's capitals in the next button (pixels); 0 where there is no room for it."""
    wide, high = board.face
    if high > wide:
        return 0.0
    half = high * (_TARGET if not board.upright else 1.06) / 2 - inset
    room = half + _LIFT * high - layout.read * CAPITAL / 2 - 2 * _NAME_FREE * layout.tall
    return min(room, _NAME_MOST * layout.tall) if room >= _NAME_LEAST * layout.tall else 0.0


def _tried(brush: Brush, board: Board, tried: tuple[Press, ...], layout: Layout) -> None:
    """Where the wrong note came from: a ring round the button and a cross with the direction at its upper edge; faint
    where it can have been one of several."""
    for press in tried:
        if press.row in board.rows:
            ring, badge = _tried_boxes(board, board.button(press.row, press.button))
            # The call above the keyboard leaves so much free.
            badge.top = max(badge.top, layout.keys.top - round(layout.tall))
            tried_sign(brush, ring, badge, press.bellows, board.upright, faint=len(tried) > 1)


def _tried_boxes(board: Board, centre: tuple[float, float]) -> tuple[pygame.Rect, pygame.Rect]:
    """Where the ring and the cross with the direction lie for the button at `centre`."""
    wide, high = board.face
    tall = 0.5 * high if not board.upright else 0.24 * high if high > wide else 0.36 * high
    grown = (1.06, 1.0) if board.upright else (1.24, 1.24)
    ring = pygame.Rect(0, 0, round(grown[0] * wide), round(grown[1] * high))
    ring.center = (round(centre[0]), round(centre[1]))
    badge = pygame.Rect(0, 0, round(0.92 * wide if high >= wide else min(0.92 * wide, 2.6 * tall)), round(tall))
    badge.center = ring.midtop
    return ring, badge
