"""The page between two pieces: how much of the tune you have learnt, what got better, what comes next."""

from __future__ import annotations

import pygame

from companion.screen.actions import Action
from companion.screen.brush import Brush
from companion.screen.card import key_words
from companion.screen.contrast import mixed
from companion.screen.page_values import BreakPage, PieceProgress
from companion.screen.rows import draw_alert_rows
from companion.screen.window_layout import Layout
from companion.screen.words import Words

_QUIET = 0.78  # how far a known fold's face fades into the background


def draw_calm(brush: Brush, page: BreakPage, layout: Layout, words: Words, text: float) -> None:
    """Draw the page over the whole of the brush's surface."""
    u, theme, (width, height) = layout.unit, brush.theme, layout.size
    left, inner = layout.margin, width - 2 * layout.margin
    row = layout.head.top + 3 * u
    done = sum(piece is PieceProgress.DONE for piece in page.pieces)
    count = words("calm.count", n=len(page.pieces), done=done) if page.pieces else ""
    right = brush.write(
        count, 3.4 * u * text, theme.soft, (left + inner, row), align="right", middle=True, width=40 * u, least=0.5
    )
    room = right.left - left - 4 * u
    brush.write(page.title, 5.2 * u, theme.ink, (left, row), bold=True, middle=True, width=room, least=0.5)
    brush.write(
        words("calm.done", piece=page.piece),
        3.5 * u * text,
        theme.soft,
        (left, row + 5.2 * u),
        middle=True,
        width=inner,
    )
    top = round(0.17 * height)
    _bellows(brush, page.pieces, pygame.Rect(left, top, inner, round(0.27 * height)), u)
    columns = pygame.Rect(left, round(0.5 * height), round((inner - 5 * u) / 2), round(0.38 * height))
    draw_gained(brush, page.gained, columns, u, words, text)
    _next(brush, page, columns.move(inner - columns.width, 0), u, words, text)
    foot = pygame.Rect(left, round(0.885 * height), inner, round(0.095 * height))
    draw_alert_rows(brush, page.notices, page.caution, foot, u, text)


def _bellows(brush: Brush, pieces: tuple[PieceProgress, ...], box: pygame.Rect, u: float) -> None:
    """The bellows of the box from the front, a fold for each piece of the tune; those that are known are filled."""
    theme = brush.theme
    plate = round(3.2 * u)
    count = max(1, len(pieces))
    fold = min((box.width - 2 * plate) / count, 9 * u)
    left = box.centerx - fold * count / 2
    deep = min(0.2 * box.height, fold)
    for n, piece in enumerate(pieces):
        x = left + n * fold
        across = [(x, deep), (x + fold / 2, 0), (x + fold, deep)]
        shape = [(px, box.top + py) for px, py in across] + [(px, box.bottom - py) for px, py in reversed(across)]
        done = piece is PieceProgress.DONE
        brush.polygon(shape, mixed(theme.right, theme.ground, _QUIET) if done else theme.board)
        brush.stroke([*shape, shape[0]], theme.right if done else theme.rule, max(1.2, 0.25 * u))
        middle = (x + fold / 2, float(box.centery))
        if done and fold > 2.4 * u:
            half = min(1.6 * u, fold * 0.25)
            tick = [(middle[0] - half, middle[1]), (middle[0] - half * 0.25, middle[1] + half * 0.75)]
            brush.stroke([*tick, (middle[0] + half, middle[1] - half * 0.75)], theme.right, max(1.5, 0.5 * u))
        if piece is PieceProgress.NEXT:
            brush.stroke([*shape, shape[0]], theme.ink, max(2.0, 0.5 * u))
            brush.disc(middle, max(2.0, min(0.9 * u, fold * 0.2)), theme.ink)
    for x in (left - plate, left + fold * count):
        end = pygame.Rect(round(x), round(box.top - 1.5 * u), plate, round(box.height + 3 * u))
        brush.pill(end, theme.rule, radius=1.2 * u)


def draw_gained(brush: Brush, gained: tuple[str, ...], box: pygame.Rect, u: float, words: Words, text: float) -> None:
    """What was gained, a line each with a tick before it, three at most."""
    theme = brush.theme
    brush.write(
        words("calm.gained"), 3.2 * u * text, theme.soft, (box.left, box.top + 2 * u), middle=True, width=box.width
    )
    shown = gained[:3]
    high = (box.height - 6 * u) / 3
    for n, said in enumerate(shown):
        line = pygame.Rect(
            round(box.left + 5 * u), round(box.top + 6 * u + n * high), round(box.width - 5 * u), round(high)
        )
        x, y, half = box.left + 1.7 * u, line.centery, 1.4 * u
        tick = [(x - half, y), (x - half * 0.25, y + half * 0.75), (x + half, y - half * 0.75)]
        brush.stroke(tick, theme.right, max(1.5, 0.55 * u))
        brush.write_lines(said, 4.2 * u * text, theme.ink, line, lines=2, least=0.55)


def _next(brush: Brush, page: BreakPage, box: pygame.Rect, u: float, words: Words, text: float) -> None:
    theme = brush.theme
    brush.write(
        words("calm.next"), 3.2 * u * text, theme.soft, (box.left, box.top + 2 * u), middle=True, width=box.width
    )
    name = pygame.Rect(box.left, round(box.top + 5.5 * u), box.width, round(12 * u))
    brush.write_lines(page.next_piece, 6.4 * u * min(text, 1.15), theme.ink, name, lines=2, bold=True)
    how = (
        words("calm.tempo", step=page.next_step, bpm=round(page.bpm), beat=page.beat_name)
        if page.bpm
        else page.next_step
    )
    line = pygame.Rect(box.left, round(box.top + 18.5 * u), box.width, round(9 * u))
    brush.write_lines(how, 3.8 * u * text, theme.ink, line, lines=2)
    key = key_words(words, Action.PAUSE)
    wait = _wait_words(page, key, words)
    line = pygame.Rect(box.left, round(box.top + 28.5 * u), box.width, round(8 * u))
    brush.write_lines(wait, 3.2 * u * text, theme.soft, line, lines=2)


def _wait_words(page: BreakPage, key: str, words: Words) -> str:
    """When it goes on, or ends; in minutes where it is long."""
    wait = page.wait
    if wait is None:
        return words("calm.ready", key=key)
    if page.ends:
        return words("calm.ends", n=wait, key=key, leave=key_words(words, Action.QUIT))
    if wait < 60:
        return words("calm.wait", n=wait, key=key)
    return words("calm.wait_minutes", minutes=wait // 60, seconds=wait % 60, key=key)
