"""The call: which button now, push or pull, which finger; to the right what comes next, or the count-in."""

from __future__ import annotations

import pygame

from companion.box.box_values import Bellows, Box, Fingered
from companion.screen.brush import CAPITAL, Brush
from companion.screen.page_values import PracticePage
from companion.screen.signs import bellows_sign, direction_colour
from companion.screen.window_layout import Layout
from companion.screen.words import Words


def draw_call(brush: Brush, glance: PracticePage, layout: Layout, words: Words, text: float) -> None:
    """Draw the call into its band."""
    u, box, theme = layout.unit, layout.call, brush.theme
    if glance.current is None or not glance.notes:
        brush.write(words("over"), 8 * u, theme.soft, (box.left, box.centery), bold=True, middle=True, width=box.width)
        return
    now = glance.notes[glance.current].fingered
    after = glance.notes[glance.current + 1].fingered if glance.current + 1 < len(glance.notes) else None
    if box.width - _width_of_now(brush, glance.box, layout, words, text) < 25 * u:
        _narrow(brush, now, after, glance, layout, words, text)
        return
    right = _now(brush, now, glance.box, layout, words, text, box.centery)
    left = round(right + 3.5 * u)
    pygame.draw.rect(brush.surface, theme.hair, (left, box.top + 2 * u, max(1, round(0.2 * u)), box.height - 4 * u))
    left += round(3.5 * u)
    side = pygame.Rect(left, box.top, box.right - left, box.height)
    if glance.count:
        _count(brush, glance.count, (side.left, side.centery), 7.4 * u, side.right, words, text)
    elif after is not None:
        _then(brush, after, glance.box, side, layout, words, text)


def _narrow(
    brush: Brush, now: Fingered, after: Fingered | None, glance: PracticePage, layout: Layout, words: Words, text: float
) -> None:
    """In a window that is high for its width, what comes then stands below."""
    u, box, theme = layout.unit, layout.call, brush.theme
    high = layout.label * CAPITAL
    _now(brush, now, glance.box, layout, words, text, box.top + high / 2)
    y = (box.top + high + box.bottom) / 2 + 0.5 * u
    if glance.count:
        _count(
            brush,
            glance.count,
            (box.left, y),
            min(4.5 * u, (box.bottom - box.top - high) / 2.4),
            box.right,
            words,
            text,
        )
    elif after is not None:
        word = brush.write(words("then"), 3.6 * u * text, theme.soft, (box.left, y), middle=True)
        number = _short(brush, after, (word.right + 2 * u, y), box.right, layout, words)
        how = _how(after, glance.box, words)
        left = number.right + 2.4 * u
        brush.write(how, 3.6 * u * text, theme.soft, (left, y), middle=True, width=box.right - left)


def _info_size(layout: Layout, text: float) -> int:
    return int(5 * layout.unit * min(text, 1.15))


def _spaces(brush: Brush, box: Box, layout: Layout, words: Words, text: float) -> tuple[float, float, float, float]:
    """The widths of sign, word, number and what stands behind it: of the widest of each, so that nothing moves."""
    u = layout.unit
    word = max(brush.width(words(way.value), int(13.2 * u), True) for way in Bellows)
    figures = 2 if max(len(row.push) for row in box.rows) > 9 else 1
    info = max(brush.width(words("finger", finger=n), _info_size(layout, text), True) for n in (1, 2, 3, 4))
    row = max(brush.width(words("row", row=row.name), int(4.3 * u * text)) for row in box.rows)
    return 19 * u, word, brush.width("0" * figures, layout.label, True), float(max(info, row))


def _width_of_now(brush: Brush, box: Box, layout: Layout, words: Words, text: float) -> float:
    return sum(_spaces(brush, box, layout, words, text)) + 7.8 * layout.unit


def _now(
    brush: Brush, now: Fingered, box: Box, layout: Layout, words: Words, text: float, y: float
) -> float:  # fmt: skip
    """The next press, large. Returns its right edge."""
    u, band, theme = layout.unit, layout.call, brush.theme
    sign_wide, word_wide, number_wide, info_wide = _spaces(brush, box, layout, words, text)
    sign = pygame.Rect(0, 0, round(sign_wide), round(11 * u))
    sign.midleft = (band.left, round(y))
    bellows_sign(brush, sign, now.press.bellows)
    left = sign.right + 3 * u
    colour = direction_colour(theme, now.press.bellows)
    brush.write(words(now.press.bellows.value), 13.2 * u, colour, (left, y), bold=True, middle=True)
    left += word_wide + 3.2 * u
    brush.write(str(now.press.button), layout.label, theme.ink, (left, y), bold=True, middle=True)
    left += number_wide + 1.6 * u
    step = layout.label * CAPITAL / 2 - 2.2 * u
    brush.write(words("row", row=now.press.row), int(4.3 * u * text), theme.soft, (left, y - step), middle=True)
    finger = words("finger", finger=now.finger)
    brush.write(finger, _info_size(layout, text), theme.ink, (left, y + step), bold=True, middle=True)
    return left + info_wide


def _how(after: Fingered, box: Box, words: Words) -> str:
    finger = words("finger", finger=after.finger)
    return f"{words('row', row=after.press.row)}, {finger}" if len(box.rows) > 1 else finger


def _short(
    brush: Brush, after: Fingered, at: tuple[float, float], right: float, layout: Layout, words: Words
) -> pygame.Rect:
    """A press in small: sign, word, number. Returns the box of the number."""
    u, theme = layout.unit, brush.theme
    sign = pygame.Rect(0, 0, round(8.6 * u), round(5 * u))
    sign.midleft = (round(at[0]), round(at[1]))
    bellows_sign(brush, sign, after.press.bellows)
    left = sign.right + 1.4 * u
    number = str(after.press.button)
    room = right - left - brush.width(number, int(7.2 * u), True) - 1.6 * u
    colour = direction_colour(theme, after.press.bellows)
    word = brush.write(
        words(after.press.bellows.value), 5.4 * u, colour, (left, at[1]), bold=True, middle=True, width=room
    )
    return brush.write(number, 7.2 * u, theme.ink, (word.right + 1.6 * u, at[1]), bold=True, middle=True)


def _then(
    brush: Brush, after: Fingered, box: Box, side: pygame.Rect, layout: Layout, words: Words, text: float
) -> None:
    u, theme = layout.unit, brush.theme
    rows = (side.centery - 6 * u, side.centery, side.centery + 6 * u)
    brush.write(words("then"), 3.1 * u * text, theme.soft, (side.left, rows[0]), middle=True, width=side.width)
    _short(brush, after, (side.left, rows[1]), side.right, layout, words)
    how = _how(after, box, words)
    brush.write(how, 3.3 * u * text, theme.soft, (side.left, rows[2]), middle=True, width=side.width)


def _count(
    brush: Brush, count: str, at: tuple[float, float], size: float, right: float, words: Words, text: float
) -> None:
    """The figure of the count-in in a ring whose radius is `size`."""
    theme, radius = brush.theme, round(size)
    centre = (at[0] + radius, at[1])
    brush.disc(centre, radius, theme.ink, hole=radius - max(2.0, 0.07 * radius))
    brush.write(count, 1.28 * size, theme.ink, centre, bold=True, align="centre", middle=True, width=radius * 1.6)
    left = centre[0] + 1.27 * radius
    brush.write(words("count_in"), 0.54 * size * text, theme.soft, (left, at[1]), middle=True, width=right - left)
