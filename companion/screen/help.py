"""The help pages: every action with its keys; every sign with its meaning, what to do when something hurts."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil

import pygame

from companion.box.box_values import Bellows
from companion.marking.mark_values import Verdict
from companion.screen.actions import BACK_KEY, Action, Nav, load_keys
from companion.screen.brush import Brush
from companion.screen.card import key_name
from companion.screen.page_values import BarProgress
from companion.screen.pedal_table import load_pedals
from companion.screen.rows import draw_alert_rows
from companion.screen.signs import bellows_sign, direction_colour, on_direction, side_arrows, tried_sign, verdict_mark
from companion.screen.tune_map import draw_cell
from companion.screen.window_layout import Layout
from companion.screen.words import Words

PAGES = 2
_KEYS_SHOWN = 3
_COLUMNS = 3
_SIGN_COLUMNS = 2

Paint = Callable[[tuple[float, float]], None]


def draw_help(brush: Brush, layout: Layout, words: Words, text: float, page: int = 0) -> None:
    """Draw a page of help over the whole of the brush's surface: 0 the keys, 1 the signs and how to stay well."""
    u, theme, (width, height) = layout.unit, brush.theme, layout.size
    left, inner = layout.margin, width - 2 * layout.margin
    row = layout.head.top + 3 * u
    title = brush.write(words("help.keys" if page == 0 else "help.signs"), 5.2 * u, theme.ink, (left, row), bold=True,
                        middle=True)  # fmt: skip
    leave = words("help.leave", key=key_name(words, BACK_KEY))
    turn = words("help.turn", key=key_name(words, "right"), n=page + 1, all=PAGES)
    room = inner - title.width - 4 * u
    brush.write(
        f"{turn} · {leave}", 3.4 * u * text, theme.soft, (left + inner, row), align="right", middle=True, width=room
    )
    top = round(row + 5 * u)
    if page == 0:
        _keys(brush, pygame.Rect(left, top, inner, height - top - round(9.5 * u)), u, words, text)
        touch = pygame.Rect(left, height - round(9 * u), inner, round(8 * u))
        brush.write_lines(f"{words('help.touch')} {_feet(words)}".strip(), 3.0 * u * text, theme.soft, touch, lines=2)
        return
    signs = pygame.Rect(left, top, inner, round(0.62 * height))
    _signs(brush, signs, u, words, text)
    foot = pygame.Rect(left, signs.bottom + round(1.5 * u), inner, 0)
    foot.height = height - foot.top - round(2 * u)
    for n, key in enumerate(("help.sit", "help.break", "help.hurt")):
        line = pygame.Rect(left, round(foot.top + n * foot.height / 3), inner, round(foot.height / 3))
        draw_alert_rows(brush, (), words(key), line, u, text)


def touched_help(layout: Layout, at: tuple[int, int]) -> Action | Nav:
    """What a touch means: on the line at the top that names the pages the other one, anywhere else back."""
    return Nav.RIGHT if at[1] < layout.head.top + 6 * layout.unit else Action.HELP


def _feet(words: Words) -> str:
    """What can be done with no hand free: the pedal that pauses, and a button that is held."""
    feet = load_pedals()
    pedals = feet.controls_of(Action.PAUSE)
    said = [words("help.pedal", number=pedals[0])] if pedals else []
    if feet.seconds:
        said.append(words("help.held", n=f"{feet.seconds:g}", does=words(f"do.{feet.held.value}").lower()))
    return " ".join(said)


def _keys(brush: Brush, box: pygame.Rect, u: float, words: Words, text: float) -> None:
    """All actions in columns, each key in a frame; what is reached by figures behind them."""
    rows: list[tuple[str, tuple[str, ...]]] = [
        (words(f"do.{action.value}"), _names(words, action)) for action in Action
    ]
    rows += [(words("help.bar"), ("0 … 9",)), (words("help.tempo"), ("Alt 0 … 9",))]
    down = ceil(len(rows) / _COLUMNS)
    gap = 4 * u
    wide, step = (box.width - gap * (_COLUMNS - 1)) / _COLUMNS, box.height / down
    size = min(3.1 * u * min(text, 1.2), step * 0.52)
    for n, (said, keys) in enumerate(rows):
        x, y = box.left + (n // down) * (wide + gap), box.top + (n % down + 0.5) * step
        while len(keys) > 1 and brush.width(said, int(size)) + _frames_width(brush, keys, size, step, u) > wide - u:
            keys = keys[:-1]
        end = _key_frames(brush, keys, (x + wide, y), size, step, u)
        room = end - x - 0.8 * u
        brush.write(said, size, brush.theme.ink, (x, y), middle=True, width=room, least=0.6)


def _names(words: Words, action: Action) -> tuple[str, ...]:
    """The keys of an action as they are shown, the first few; a dash where it has none."""
    names = list(dict.fromkeys(key_name(words, key) for key in load_keys()[action]))
    return tuple(names[:_KEYS_SHOWN]) or (words("card.keyless"),)


def _frame_width(brush: Brush, name: str, size: float, step: float, u: float) -> float:
    return max(brush.width(name, int(size * 0.9), True) + 1.4 * u, step * 0.8)


def _frames_width(brush: Brush, names: tuple[str, ...], size: float, step: float, u: float) -> float:
    """The width of keys in their frames (pixels)."""
    return sum(_frame_width(brush, name, size, step, u) + 0.6 * u for name in names)


def _key_frames(
    brush: Brush, names: tuple[str, ...], right: tuple[float, float], size: float, step: float, u: float
) -> float:
    """Keys in frames, the last one's right end at `right`; returns the left end of the first."""
    end, y = right
    for name in reversed(names):
        wide = _frame_width(brush, name, size, step, u)
        frame = pygame.Rect(round(end - wide), round(y - step * 0.4), round(wide), round(step * 0.8))
        brush.pill(frame, brush.theme.rule, radius=0.8 * u, line=max(1.2, 0.18 * u))
        brush.write(name, size * 0.9, brush.theme.ink, frame.center, bold=True, align="centre", middle=True)
        end = frame.left - 0.6 * u
    return end


def _signs(brush: Brush, box: pygame.Rect, u: float, words: Words, text: float) -> None:
    """Every sign beside its meaning, in columns."""
    rows = _sign_rows(brush, u)
    down = ceil(len(rows) / _SIGN_COLUMNS)
    wide, step = (box.width - 4 * u) / _SIGN_COLUMNS, box.height / down
    for n, (key, paint) in enumerate(rows):
        x, y = box.left + (n // down) * (wide + 4 * u), box.top + (n % down + 0.5) * step
        paint((x + 5 * u, y))
        line = pygame.Rect(round(x + 11.5 * u), round(y - step / 2), round(wide - 11.5 * u), round(step))
        brush.write_lines(words(key), 3.3 * u * text, brush.theme.ink, line, lines=2)


def _sign_rows(brush: Brush, u: float) -> list[tuple[str, Paint]]:
    """Each sign's meaning (a key of the words) and what paints it."""
    return [
        ("help.sign_push", lambda at: _bellows(brush, at, u, Bellows.PUSH)),
        ("help.sign_pull", lambda at: _bellows(brush, at, u, Bellows.PULL)),
        ("help.sign_next", lambda at: _button(brush, at, u, filled=True)),
        ("help.sign_then", lambda at: _button(brush, at, u, filled=False)),
        ("help.sign_tried", lambda at: _tried_button(brush, at, u)),
        ("help.sign_outer", lambda at: _outer(brush, at, u)),
        *((f"help.sign_{one.value}", _mark(brush, u, one)) for one in _MARKS),
        *((f"help.sign_{one.value}", _bar(brush, u, one)) for one in BarProgress),
        ("help.sign_here", lambda at: _here(brush, at, u)),
    ]


_MARKS = (Verdict.RIGHT, Verdict.WRONG, Verdict.MISSED, Verdict.EXTRA, Verdict.UNSURE)


def _mark(brush: Brush, u: float, verdict: Verdict) -> Paint:
    return lambda at: verdict_mark(brush, at, 3 * u, verdict)


def _bar(brush: Brush, u: float, progress: BarProgress) -> Paint:
    return lambda at: draw_cell(brush.surface, _around(at, 5 * u, 3 * u), progress, brush.theme)


def _around(at: tuple[float, float], wide: float, high: float) -> pygame.Rect:
    """A box with its middle at a point."""
    box = pygame.Rect(0, 0, round(wide), round(high))
    box.center = (round(at[0]), round(at[1]))
    return box


def _here(brush: Brush, at: tuple[float, float], u: float) -> None:
    for side in (-1, 1):
        draw_cell(brush.surface, _around((at[0] + 1.6 * side * u, at[1]), 3 * u, 2.4 * u), BarProgress.NEW, brush.theme)
    brush.pill(_around(at, 8 * u, 4 * u), brush.theme.ink, radius=0.6 * u, line=max(2.0, 0.3 * u))


def _bellows(brush: Brush, at: tuple[float, float], u: float, way: Bellows) -> None:
    bellows_sign(brush, _around(at, 9 * u, 4.6 * u), way)


def _button(brush: Brush, at: tuple[float, float], u: float, *, filled: bool) -> None:
    theme, way = brush.theme, Bellows.PULL if filled else Bellows.PUSH
    colour = direction_colour(theme, way)
    brush.disc(at, round(2.5 * u, 1), colour)
    if not filled:
        brush.disc(at, round(2.5 * u - max(2.0, 0.35 * u), 1), theme.ground)
    ink = on_direction(theme, way) if filled else colour
    side_arrows(brush, at, 1.2 * u, 0.55 * u, way, ink)
    brush.write("5", 2.4 * u, ink if filled else theme.ink, at, align="centre", bold=True, middle=True)


def _tried_button(brush: Brush, at: tuple[float, float], u: float) -> None:
    middle = (at[0], at[1] + 0.4 * u)
    brush.write("5", 2.4 * u, brush.theme.ink, middle, align="centre", middle=True)
    ring = _around(middle, 5 * u, 5 * u)
    tried_sign(
        brush, ring, _around((middle[0], ring.top + 0.2 * u), 3.8 * u, 1.8 * u), Bellows.PULL, False, faint=False
    )


def _outer(brush: Brush, at: tuple[float, float], u: float) -> None:
    ink = brush.write("5", 3.6 * u, brush.theme.ink, (at[0], at[1] + 0.5 * u), align="centre", bold=True, middle=True)
    bar = pygame.Rect(ink.left, round(ink.top - 1.0 * u), ink.width, max(2, round(0.4 * u)))
    pygame.draw.rect(brush.surface, brush.theme.ink, bar)
