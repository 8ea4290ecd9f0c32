"""The signs of the window: the bellows drawn open or shut, the marks of the verdicts, the warning and care signs.

Each meaning has a shape of its own, so that nothing depends on telling colours apart.
"""

from __future__ import annotations

from math import pi, sin

import pygame

from companion.box.box_values import Bellows
from companion.marking.mark_values import Verdict
from companion.screen.brush import Brush, stroke_on
from companion.screen.contrast import Colour, quieter
from companion.screen.theme import SHAPE, Theme


def direction_colour(theme: Theme, bellows: Bellows) -> Colour:
    """The colour of push or pull."""
    return theme.push if bellows is Bellows.PUSH else theme.pull


def on_direction(theme: Theme, bellows: Bellows) -> Colour:
    """The colour of text on a face in the colour of push or pull."""
    return theme.on_push if bellows is Bellows.PUSH else theme.on_pull


def bellows_sign(brush: Brush, box: pygame.Rect, bellows: Bellows) -> None:
    """The bellows seen from the front: pressed together by arrows pointing in, or drawn apart by arrows."""
    colour = direction_colour(brush.theme, bellows)
    push = bellows is Bellows.PUSH

    def paint(fine: pygame.Surface, scale: int) -> None:
        width, height = box.width * scale, box.height * scale
        plate = width * 0.055
        inset = 0.335 if push else 0.225
        edges = (width * inset, width * (1 - inset))
        for x in edges:
            where = pygame.Rect(round(x - plate / 2), 0, round(plate), round(height))
            pygame.draw.rect(fine, colour, where, border_radius=round(plate / 2))
        folds = 6
        left, right = edges[0] + plate / 2, edges[1] - plate / 2
        zigzag = []
        for n in range(folds + 1):
            y = height * (0.14 if n % 2 else 0.86)
            zigzag.append((left + (right - left) * n / folds, y))
        stroke_on(fine, zigzag, colour, width * 0.026)
        arrow, half = width * 0.15, height * 0.25
        for side in (-1, 1):
            base = width / 2 + side * (width / 2 if push else width / 2 - arrow)
            tip = base - side * arrow if push else base + side * arrow
            pygame.draw.polygon(fine, colour, [(base, height / 2 - half), (base, height / 2 + half), (tip, height / 2)])

    brush.stamp(brush.shape(("bellows", bellows), box.size, colour, paint), box.center)


def side_arrows(
    brush: Brush, centre: tuple[float, float], apart: float, size: float, bellows: Bellows, colour: Colour
) -> None:
    """Two small arrowheads either side of a number: pointing in for push, out for pull."""
    for side in (-1, 1):
        base = centre[0] + side * (apart + (size if bellows is Bellows.PUSH else 0))
        tip = centre[0] + side * (apart + (0 if bellows is Bellows.PUSH else size))
        y = centre[1]
        brush.polygon([(base, y - size * 0.95), (base, y + size * 0.95), (tip, y)], colour)


def tried_sign(
    brush: Brush, box: pygame.Rect, badge: pygame.Rect, bellows: Bellows, upright: bool, *, faint: bool
) -> None:
    """A press that gave a wrong note: a ring that fills `box`, and in `badge` a cross between the arrows of its
    direction; quieter where it is `faint`."""
    theme = brush.theme
    colour = quieter(theme.wrong, theme.board, 0.45, SHAPE) if faint else theme.wrong
    thick = max(2.0, (0.035 if faint else 0.06) * box.width)
    brush.pill(box, colour, radius=0.2 * box.width if upright else box.height / 2, line=thick)
    brush.pill(badge, theme.ground, radius=0.4 * badge.height)
    brush.pill(badge, colour, radius=0.4 * badge.height, line=max(1.0, 0.5 * thick))
    half, (x, y) = 0.24 * badge.height, badge.center
    for way in (-1, 1):
        brush.stroke([(x - half, y - way * half), (x + half, y + way * half)], colour, max(1.5, 0.13 * badge.height))
    side_arrows(brush, (x, y), 0.22 * badge.width, 0.28 * badge.height, bellows, colour)


def verdict_mark(brush: Brush, centre: tuple[float, float], size: float, verdict: Verdict) -> None:
    """A tick for right, a cross for wrong, an empty ring for missed, a plus for extra, a diamond for an ornament,
    a wave for unsure."""
    theme = brush.theme
    colour = {
        Verdict.RIGHT: theme.right,
        Verdict.WRONG: theme.wrong,
        Verdict.MISSED: theme.missed,
        Verdict.EXTRA: theme.extra,
        Verdict.ORNAMENT: theme.right,
        Verdict.UNSURE: theme.soft,
    }[verdict]
    x, y = centre
    half, thick = size / 2, max(1.5, size * 0.2)
    if verdict is Verdict.RIGHT:
        brush.stroke([(x - half, y), (x - half * 0.25, y + half * 0.75), (x + half, y - half * 0.75)], colour, thick)
    elif verdict is Verdict.WRONG:
        brush.stroke([(x - half * 0.8, y - half * 0.8), (x + half * 0.8, y + half * 0.8)], colour, thick)
        brush.stroke([(x - half * 0.8, y + half * 0.8), (x + half * 0.8, y - half * 0.8)], colour, thick)
    elif verdict is Verdict.MISSED:
        brush.disc(centre, round(half), colour, hole=round(half) - max(1.5, size * 0.16))
    elif verdict is Verdict.EXTRA:
        brush.stroke([(x - half, y), (x + half, y)], colour, thick)
        brush.stroke([(x, y - half), (x, y + half)], colour, thick)
    elif verdict is Verdict.UNSURE:
        wave = [(x - half + size * n / 12, y - half * 0.5 * sin(2 * pi * n / 12)) for n in range(13)]
        brush.stroke(wave, colour, thick)
    else:
        brush.polygon([(x - half, y), (x, y - half), (x + half, y), (x, y + half)], colour)


def warning_sign(brush: Brush, centre: tuple[float, float], size: float) -> None:
    """A triangle with a stroke in it: something must be seen to."""
    x, y = centre
    half = size / 2
    brush.polygon([(x - half, y + half * 0.85), (x + half, y + half * 0.85), (x, y - half * 0.95)], brush.theme.warn)
    brush.stroke([(x, y - half * 0.25), (x, y + half * 0.25)], brush.theme.ground, max(1.5, size * 0.1))
    brush.disc((x, y + half * 0.58), max(1.0, size * 0.065), brush.theme.ground)


def care_sign(brush: Brush, centre: tuple[float, float], size: float) -> None:
    """A ring with a cup's curve in it: rest, take care."""
    x, y = centre
    radius = round(size / 2)
    brush.disc(centre, radius, brush.theme.care, hole=radius - max(1.5, size * 0.11))
    brush.stroke([(x - size * 0.09, y - size * 0.2), (x - size * 0.09, y + size * 0.2)], brush.theme.care, size * 0.1)
    brush.stroke([(x + size * 0.11, y - size * 0.2), (x + size * 0.11, y + size * 0.2)], brush.theme.care, size * 0.1)
