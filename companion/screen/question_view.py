"""The questions of the first evening, each with pictures to choose from. Drawing and touching share their layout."""

from __future__ import annotations

import pygame

from companion.box.box_values import Box
from companion.screen.actions import Action, Asked, Nav, Picked
from companion.screen.brush import Brush
from companion.screen.foot import FootButton, draw_foot, foot_top, touched_foot
from companion.screen.list_values import AnswerCard, QuestionPage
from companion.screen.lists import draw_notice, row_face
from companion.screen.look import Look
from companion.screen.window_layout import Layout
from companion.screen.words import Words

COLUMNS, ROWS = 2, 4  # answers that are seen at once
FOOT = (
    FootButton(Nav.ENTER, "first.take"),
    FootButton(Nav.LEAVE, "first.later"),
    FootButton(Action.HELP, "foot.help"),
)


def question_cells(page: QuestionPage, layout: Layout) -> dict[int, pygame.Rect]:
    """Where each answer that is seen lies, by its place among the answers."""
    u, left = layout.unit, layout.margin
    top = round(layout.head.top + 12.5 * u)
    high = foot_top(layout) - round((8.4 if page.notice else 1.2) * u) - top
    rows = (len(page.answers) + COLUMNS - 1) // COLUMNS
    seen = min(rows, ROWS)
    first = max(0, min(page.at // COLUMNS - seen + 1, rows - seen))
    gap = round(1.6 * u)
    wide = (layout.size[0] - 2 * left - gap * (COLUMNS - 1)) / COLUMNS
    tall = (high - gap * (seen - 1)) / max(1, seen)
    return {
        n: pygame.Rect(
            round(left + n % COLUMNS * (wide + gap)), round(top + (n // COLUMNS - first) * (tall + gap)),
            round(wide), round(tall),
        )
        for n in range(first * COLUMNS, min(len(page.answers), (first + seen) * COLUMNS))
    }  # fmt: skip


def touched_answer(page: QuestionPage, layout: Layout, at: tuple[int, int]) -> Asked | None:
    """Which answer or button lies at a point."""
    for n, cell in question_cells(page, layout).items():
        if cell.collidepoint(at):
            return Picked(n)
    return touched_foot(FOOT, layout, at)


def draw_question(brush: Brush, page: QuestionPage, layout: Layout, words: Words, text: float) -> None:
    """Draw the page over the whole of the brush's surface."""
    u, theme = layout.unit, brush.theme
    right, y = layout.size[0] - layout.margin, layout.head.top + 5 * u
    number = words("first.number", number=page.number, count=page.count)
    ink = brush.write(number, 3.4 * u * text, theme.soft, (right, y), align="right", middle=True)
    title = pygame.Rect(layout.margin, round(y - 5.5 * u), ink.left - layout.margin - round(4 * u), round(12 * u))
    brush.write_lines(page.question, 6.4 * u, theme.ink, title, lines=2, bold=True, least=0.6)
    for n, cell in question_cells(page, layout).items():
        _answer(brush, page.answers[n], cell, n == page.at, layout, text)
    foot = pygame.Rect(layout.margin, foot_top(layout) - round(7.6 * u), right - layout.margin, round(7 * u))
    draw_notice(brush, page.notice, foot, u, text)
    draw_foot(brush, FOOT, layout, words, text)


def _answer(brush: Brush, one: AnswerCard, cell: pygame.Rect, here: bool, layout: Layout, text: float) -> None:
    u, theme = layout.unit, brush.theme
    row_face(brush, cell, here, u)
    inner = cell.inflate(-round(3.2 * u), -round(1.6 * u))
    size = min(4.9 * layout.size[1] / 100 * text, 0.3 * inner.height)
    name = pygame.Rect(inner.left, inner.top, inner.width, round(1.35 * size))
    brush.write_lines(one.name, size, theme.ink, name, lines=1, bold=True, align="centre", least=0.4)
    left = inner.bottom - name.bottom
    said = pygame.Rect(inner.left, inner.bottom - round(0.36 * left), inner.width, round(0.36 * left))
    picture = pygame.Rect(inner.left, name.bottom, inner.width, left if not one.said else said.top - name.bottom)
    if one.said:
        brush.write_lines(one.said, min(4 * u * text, 0.42 * said.height), theme.soft, said, align="centre", least=0.5)
    if one.box is not None:
        _rows(brush, one.box, one.look or Look(), picture, u)
    elif one.plug:
        _plug(brush, picture, u)
    elif one.ear:
        _waves(brush, picture, u)
    elif one.microphone:
        _microphone(brush, picture, u)


def _rows(brush: Brush, box: Box, look: Look, picture: pygame.Rect, u: float) -> None:
    """The buttons of a box, each row as it lies, with its name; a bar marks the end at the chin."""
    theme = brush.theme
    columns = max(row.offset + len(row.push) for row in box.rows)
    label = round(5.5 * u)
    pitch = min((picture.width - label) / (columns + 0.6), picture.height / (0.8 * len(box.rows) + 0.4))
    wide = columns * pitch
    left = picture.centerx - (wide + label) / 2 + label
    for n, row in enumerate(box.rows):
        down = len(box.rows) - 1 - n if look.outer_below else n
        y = picture.centery + (down - (len(box.rows) - 1) / 2) * 0.8 * pitch
        size = min(3.4 * u, 0.7 * pitch)
        brush.write(row.name, size, theme.ink, (left - 0.5 * pitch, y), bold=True, align="right", middle=True)
        for button in range(len(row.push)):
            along = (button + row.offset + 0.5) * pitch
            x = left + (wide - along if look.chin_right else along)
            brush.disc((x, y), round(0.34 * pitch, 1), theme.button)
            brush.disc((x, y), round(0.34 * pitch, 1), theme.ink, hole=round(0.34 * pitch - max(1.0, 0.2 * u), 1))
    end = left + wide + 0.2 * pitch if look.chin_right else left - 0.2 * pitch
    half = 0.4 * len(box.rows) * pitch
    brush.stroke([(end, picture.centery - half), (end, picture.centery + half)], theme.soft, max(2.0, 0.5 * u))


def _plug(brush: Brush, picture: pygame.Rect, u: float) -> None:
    """A five-pin plug from the front, as it is on a MIDI cable."""
    theme, side = brush.theme, min(picture.width, picture.height) * 0.42
    x, y = picture.center
    brush.disc((x, y), round(side, 1), theme.ink, hole=round(side - max(2.0, 0.6 * u), 1))
    for across, down in ((-0.6, 0.0), (-0.42, 0.42), (0.0, 0.6), (0.42, 0.42), (0.6, 0.0)):
        brush.disc((x + across * side, y + down * side), round(0.11 * side, 1), theme.ink)


def _waves(brush: Brush, picture: pygame.Rect, u: float) -> None:
    """Sound that goes out and is not taken down."""
    theme, side = brush.theme, min(picture.width, picture.height) * 0.42
    x, y = picture.center
    for n, high in enumerate((0.25, 0.6, 1.0, 0.6, 0.25)):
        at = x + (n - 2) * 0.4 * side
        brush.stroke([(at, y - high * side), (at, y + high * side)], theme.ink, max(2.0, 0.8 * u))


def _microphone(brush: Brush, picture: pygame.Rect, u: float) -> None:
    """A microphone on its foot."""
    theme, side = brush.theme, min(picture.width, picture.height) * 0.42
    (x, y), thick = picture.center, max(2.0, 0.6 * u)
    head = pygame.Rect(round(x - 0.3 * side), round(y - side), round(0.6 * side), round(1.15 * side))
    brush.pill(head, theme.ink, radius=0.3 * side)
    turn = [(x - 0.55 * side, y - 0.15 * side), (x - 0.4 * side, y + 0.3 * side), (x, y + 0.5 * side)]
    brush.stroke([*turn, *((2 * x - across, down) for across, down in turn[-2::-1])], theme.ink, thick)
    brush.stroke([(x, y + 0.5 * side), (x, y + 0.95 * side)], theme.ink, thick)
    brush.stroke([(x - 0.4 * side, y + 0.95 * side), (x + 0.4 * side, y + 0.95 * side)], theme.ink, thick)
