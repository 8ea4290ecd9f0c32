"""The page on which a box gets known: the button to play, how much of it has been heard, how loud it is."""

from __future__ import annotations

import pygame

from companion.screen.actions import Asked, Nav
from companion.screen.brush import Brush
from companion.screen.call import draw_call
from companion.screen.foot import FootButton, draw_foot, foot_top, touched_foot
from companion.screen.keyboard import Keyboard
from companion.screen.list_values import LearnPage
from companion.screen.lists import draw_title
from companion.screen.look import Look
from companion.screen.page_values import PracticePage
from companion.screen.window_layout import Layout
from companion.screen.words import Words

FOOT = (
    FootButton(Nav.ENTER, "learn.begin"),
    FootButton(Nav.LEFT, "learn.before"),
    FootButton(Nav.RIGHT, "learn.skip"),
    FootButton(Nav.LEAVE, "learn.later"),
)


def touched_learn(layout: Layout, at: tuple[int, int]) -> Asked | None:
    """Which button lies at a point."""
    return touched_foot(FOOT, layout, at)


def draw_learn(brush: Brush, page: LearnPage, layout: Layout, words: Words, look: Look) -> None:
    """Draw the page over the whole of the brush's surface."""
    h, theme = layout.tall, brush.theme
    title = draw_title(brush, layout, words("learn.title"))
    right = layout.size[0] - layout.margin
    if page.number:
        room = right - title.right - 4 * h
        where = (right, title.centery)
        brush.write(page.number, layout.read, theme.soft, where, align="right", middle=True, width=room)
    if page.press is not None:
        shown = _as_practice(page)
        draw_call(brush, shown, layout, words, look)
        Keyboard().draw(brush, shown, layout, look, words)
        below = layout.hand.top
    else:
        below = layout.call.top
    foot = foot_top(layout)
    bars = foot - round(11 * h)
    said = pygame.Rect(layout.margin, below, right - layout.margin, round((bars - below) * 0.56))
    size = 5.2 * h * min(look.text, 1.2)
    brush.write_lines(page.said, size, theme.ink, said, lines=3, bold=True, least=0.5)
    aside = pygame.Rect(layout.margin, said.bottom, right - layout.margin, bars - said.bottom - round(h))
    brush.write_lines(page.aside, 4.4 * h * min(look.text, 1.2), theme.ink, aside, lines=4, least=0.4)
    _bar(brush, pygame.Rect(layout.margin, bars, right - layout.margin, round(4 * h)), page.share, theme.right)
    meter = pygame.Rect(layout.margin, bars + round(5.6 * h), right - layout.margin, round(1.6 * h))
    _bar(brush, meter, page.level, theme.soft)
    draw_foot(brush, FOOT, layout, words, look.text)


def _bar(brush: Brush, box: pygame.Rect, share: float, colour: tuple[int, int, int]) -> None:
    """A bar that fills from the left."""
    brush.pill(box, brush.theme.board)
    wide = round(box.width * share)
    if wide >= box.height:
        brush.pill(pygame.Rect(box.left, box.top, wide, box.height), colour)
    brush.pill(box, brush.theme.rule, line=max(1.2, 0.08 * box.height))


def _as_practice(page: LearnPage) -> PracticePage:
    """The page as practice has it where no tune is asked for, and one button was pressed."""
    pressed = () if page.press is None else (page.press,)
    return PracticePage(
        "", "", "", page.box, (), 0.0, None, (), 0.0, 0.0, 0.0, "", 0, 0, 0, clocked=False, pressed=pressed, free=True
    )
