"""The call: which button now, push or pull, which finger; what comes then, or the count-in; by heart only the beat."""

from __future__ import annotations

import pygame

from companion.box.box_values import Bellows, Box, Fingered
from companion.screen.brush import CAPITAL, Brush
from companion.screen.look import Look
from companion.screen.page_values import PracticePage, Shown
from companion.screen.revealed import beat_number, now_and_then, shown_now
from companion.screen.signs import bellows_sign, direction_colour
from companion.screen.window_layout import Layout, Shape
from companion.screen.words import Words, piece_name

_WORD = 13.7  # the em of the direction's word, in hundredths of the height: its capitals are a tenth
_THEN_NUMBER = 7.2


def draw_call(brush: Brush, page: PracticePage, layout: Layout, words: Words, look: Look) -> None:
    """Draw the call into its band; the note's name with it where the player wants that."""
    box, h, theme = _now_box(layout), layout.tall, brush.theme
    if page.free:
        _pressed(brush, page, layout, words)
        return
    if page.current is None or not page.notes:
        size = min(8 * h, 0.14 * box.width)
        brush.write(words("over"), size, theme.soft, (box.left, box.centery), bold=True, middle=True, width=box.width)
        return
    now, then = now_and_then(page)
    if now is None:
        _by_heart(brush, page, box, layout)
        if page.count:
            return
    elif layout.shape is Shape.TALL:
        _now_tall(brush, now.fingered, page.box, box, layout, words, now.name if look.names else "")
    else:
        _now_wide(brush, now.fingered, page.box, box, layout, words, now.name if look.names else "")
    if page.count:
        _count(brush, page.count, layout, words)
    elif then is not None:
        _then(brush, then.fingered, page.box, layout, words, look.text)


def _pressed(brush: Brush, page: PracticePage, layout: Layout, words: Words) -> None:
    """What was pressed, where no tune is asked for: with the way that the bellows went, where several can have been it
    one beside the other, at most three."""
    h, theme, left, y = layout.tall, brush.theme, float(layout.call.left), layout.call.centery
    room = layout.call.width / max(1, min(3, len(page.pressed)))
    for press in page.pressed[:3]:
        sign = pygame.Rect(0, 0, round(9 * h), round(7 * h))
        sign.midleft = (round(left), round(y))
        bellows_sign(brush, sign, press.bellows)
        colour, at = direction_colour(theme, press.bellows), sign.right + 1.6 * h
        number = brush.write(str(press.button), 11 * h, theme.ink, (at, y), bold=True, middle=True)
        word = words(press.bellows.value)
        right = number.right + 1.6 * h
        wide = left + room - right - 2 * h
        brush.write(word, 6 * h, colour, (right, y - 3.2 * h), bold=True, middle=True, width=wide)
        brush.write(words("row", row=press.row), 5 * h, theme.soft, (right, y + 3.6 * h), middle=True, width=wide)
        left += room


def turn_box(layout: Layout) -> pygame.Rect:
    """Where the bar lies that empties until the turn."""
    then, h = layout.then, layout.tall
    down = (1.0 if layout.shape is Shape.WIDE else 1.2) * h
    return pygame.Rect(then.left, round(then.top + down), then.width, max(2, round(0.7 * h)))


def draw_turn(brush: Brush, page: PracticePage, layout: Layout, look: Look) -> None:
    """The bar above what comes then, as long as there is time until it: it empties as the note now runs out."""
    _, then = now_and_then(page)
    if then is None or page.current is None or page.count or not page.clocked or look.reduced_motion:
        return
    now, box = page.notes[page.current], turn_box(layout)
    left = min(1.0, max(0.0, (now.at + now.length - page.now) / now.length)) if now.length > 0 else 0.0
    pygame.draw.rect(brush.surface, brush.theme.hair, box)
    pygame.draw.rect(brush.surface, brush.theme.soft, (*box.topleft, round(box.width * left), box.height))


def _now_box(layout: Layout) -> pygame.Rect:
    """The part of the band for the note now."""
    call, then = layout.call, layout.then
    if layout.shape is Shape.WIDE:
        return pygame.Rect(call.left, call.top, then.left - call.left - round(4 * layout.tall), call.height)
    return pygame.Rect(call.left, call.top, call.width, then.top - call.top)


def _figures(brush: Brush, box: Box, layout: Layout) -> int:
    """The room for a button's number: for the widest, so that nothing moves."""
    return brush.width("0" * (2 if max(len(row.push) for row in box.rows) > 9 else 1), layout.label, True)


def _now_wide(brush: Brush, now: Fingered, own: Box, box: pygame.Rect, layout: Layout, words: Words, name: str) -> None:
    """The next press in one row: sign, word, number; row, finger and the note's name one over the other."""
    h, theme, y = layout.tall, brush.theme, box.centery
    sign = pygame.Rect(0, 0, round(15 * h), round(9.4 * h))
    sign.midleft = (box.left, y)
    bellows_sign(brush, sign, now.press.bellows)
    word, size = words(now.press.bellows.value), int(_WORD * h)
    left = sign.right + 2.6 * h
    brush.write(word, size, direction_colour(theme, now.press.bellows), (left, y), bold=True, middle=True)
    left += max(brush.width(words(way.value), size, True) for way in Bellows) + 2.8 * h
    brush.write(str(now.press.button), layout.label, theme.ink, (left, y), bold=True, middle=True)
    left += _figures(brush, own, layout) + 2.4 * h
    step = layout.label * CAPITAL / 2 - (1.9 if layout.shape is Shape.WIDE else 2.5) * h
    if name:
        step = (box.height - layout.read * CAPITAL) / 2 - 0.2 * h
    room = box.right - left
    row = words("row", row=now.press.row)
    brush.write(row, layout.read, theme.soft, (left, y - step), middle=True, width=room)
    finger, lower = words("finger", finger=now.finger), y if name else y + step
    brush.write(finger, layout.read, theme.ink, (left, lower), bold=True, middle=True, width=room)
    brush.write(name, layout.read, theme.ink, (left, y + step), bold=True, middle=True, width=room)


def _now_tall(brush: Brush, now: Fingered, own: Box, box: pygame.Rect, layout: Layout, words: Words, name: str) -> None:
    """The next press in a window that is high for its width: the number, and beside it sign and word over the rest."""
    h, theme = layout.tall, brush.theme
    left = box.left + _figures(brush, own, layout) + 1.6 * h
    room, step = box.right - left, layout.label * CAPITAL / 2
    number = str(now.press.button)
    brush.write(number, layout.label, theme.ink, (box.left, box.centery), bold=True, middle=True)
    sign = pygame.Rect(round(left), 0, round(0.19 * room), round(0.12 * room))
    most = (2 * step - (layout.read * CAPITAL + 2 * h)) / CAPITAL
    size = min(most, 76 * room / max(brush.width(words(way.value), 100, True) for way in Bellows))
    y = box.centery - step + size * CAPITAL / 2
    sign.centery = round(y)
    bellows_sign(brush, sign, now.press.bellows)
    colour = direction_colour(theme, now.press.bellows)
    brush.write(words(now.press.bellows.value), size, colour, (sign.right + 0.05 * room, y), bold=True, middle=True)
    how = (left, box.centery + step - layout.read * CAPITAL / 2)
    said = ", ".join(filter(None, (_how(now, own, words), name)))
    brush.write(said, layout.read, theme.ink, how, bold=True, middle=True, width=room)


def _how(press: Fingered, box: Box, words: Words) -> str:
    finger = words("finger", finger=press.finger)
    return f"{words('row', row=press.press.row)}, {finger}" if len(box.rows) > 1 else finger


def _then(brush: Brush, then: Fingered, own: Box, layout: Layout, words: Words, text: float) -> None:
    """What comes then: in a wide window two rows at the right, else one row below."""
    h, theme, box = layout.tall, brush.theme, layout.then
    wide = layout.shape is Shape.WIDE
    y, left = box.top + (5.6 if wide else 5.0) * h, float(box.left)
    if layout.shape is not Shape.TALL:
        said = brush.write(words("then"), layout.read, theme.soft, (left, y), middle=True)
        left = said.right + 2.4 * h
    sign = pygame.Rect(0, 0, round(8.0 * h), round(4.8 * h))
    sign.midleft = (round(left), round(y))
    bellows_sign(brush, sign, then.press.bellows)
    left = sign.right + 1.6 * h
    if layout.shape is not Shape.TALL:
        word, colour = words(then.press.bellows.value), direction_colour(theme, then.press.bellows)
        left = brush.write(word, 6.0 * h, colour, (left, y), bold=True, middle=True).right + 2.0 * h
    number = brush.write(str(then.press.button), _THEN_NUMBER * h, theme.ink, (left, y), bold=True, middle=True)
    left, row = (float(box.left), box.top + 12.0 * h) if wide else (number.right + 2.2 * h, y)
    how = _how(then, own, words)
    size = layout.read * (min(text, 1.15) if wide else 1.0)
    brush.write(how, size, theme.soft, (left, row), middle=True, width=box.right - left)


def _count(brush: Brush, count: str, layout: Layout, words: Words) -> None:
    """The figure of the count-in in a ring, in the place of what comes then."""
    box = layout.then
    radius = min(0.46 * box.height, 6.6 * layout.tall)
    _ring(brush, count, (box.left + radius, box.centery), radius, layout.read)
    left = box.left + 2 * radius + 2.4 * layout.tall
    where, room = (left, box.centery), box.right - left
    brush.write(words("count_in"), layout.read, brush.theme.soft, where, middle=True, width=room)


def _ring(brush: Brush, figure: str, centre: tuple[float, float], radius: float, size: int) -> None:
    """A beat: its figure, at least of the em `size`, in a ring, so that no one takes it for a button."""
    ink = brush.theme.ink
    brush.disc(centre, round(radius), ink, hole=round(radius) - max(2.0, 0.07 * radius))
    brush.figure(figure, max(1.24 * radius, size), ink, centre, 1.3 * radius, bold=True)


def _by_heart(brush: Brush, page: PracticePage, box: pygame.Rect, layout: Layout) -> None:
    """No press to be seen: the beat, and where nothing is shown, the piece's name large beside it."""
    h, radius = layout.tall, min(6.6 * layout.tall, 0.46 * box.height)
    _ring(brush, page.count or str(beat_number(page)), (box.left + radius, box.centery), radius, layout.read)
    if shown_now(page) is Shown.NOTHING:
        left = round(box.left + 2 * radius + 4 * h)
        name = pygame.Rect(left, box.top, layout.call.right - left, box.height)
        brush.write_lines(piece_name(page.piece), 9 * h, brush.theme.ink, name, lines=2, bold=True, least=0.5)
