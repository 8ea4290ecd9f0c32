"""The help page: every action with its keys, every sign with its meaning, what to do when something hurts."""

from __future__ import annotations

from collections.abc import Callable

import pygame

from companion.box.box_values import Bellows
from companion.marking.mark_values import Verdict
from companion.screen.actions import BACK_KEY, Action, load_keys
from companion.screen.brush import Brush
from companion.screen.card import key_name
from companion.screen.pedal_table import load_pedals
from companion.screen.rows import draw_alert_rows
from companion.screen.signs import bellows_sign, direction_colour, on_direction, side_arrows, verdict_mark
from companion.screen.window_layout import Layout
from companion.screen.words import Words

_KEYS_SHOWN = 3


def draw_help(brush: Brush, layout: Layout, words: Words, text: float) -> None:
    """Draw the page over the whole of the brush's surface."""
    u, theme, (width, height) = layout.unit, brush.theme, layout.size
    left, inner = layout.margin, width - 2 * layout.margin
    row = layout.head.top + 3 * u
    brush.write(words("help.title"), 5.2 * u, theme.ink, (left, row), bold=True, middle=True)
    leave = words("help.leave", key=key_name(words, BACK_KEY))
    brush.write(leave, 3.4 * u * text, theme.soft, (left + inner, row), align="right", middle=True)
    high = round(0.62 * height)
    top = round(row + 5 * u)
    keys = pygame.Rect(left, top, round(0.62 * inner), high)
    _keys(brush, keys, u, words, text)
    signs = pygame.Rect(keys.right + round(4 * u), top, inner - keys.width - round(4 * u), high)
    _signs(brush, signs, u, words, text)
    foot = pygame.Rect(left, top + high + round(1.5 * u), inner, 0)
    foot.height = height - foot.top - round(2 * u)
    touch = pygame.Rect(left, foot.top, inner, round(foot.height * 0.31))
    brush.write_lines(f"{words('help.touch')} {_feet(words)}".strip(), 3.1 * u * text, theme.ink, touch, lines=2)
    for n, key in enumerate(("help.sit", "help.break", "help.hurt")):
        line = pygame.Rect(left, touch.bottom + round(n * foot.height * 0.23), inner, round(foot.height * 0.23))
        draw_alert_rows(brush, (), words(key), line, u, text)


def _feet(words: Words) -> str:
    """What can be done with no hand free: the pedal that pauses, and a button that is held."""
    feet = load_pedals()
    pedals = feet.controls_of(Action.PAUSE)
    said = [words("help.pedal", number=pedals[0])] if pedals else []
    if feet.seconds:
        said.append(words("help.held", n=f"{feet.seconds:g}", does=words(f"do.{feet.held.value}").lower()))
    return " ".join(said)


def _keys(brush: Brush, box: pygame.Rect, u: float, words: Words, text: float) -> None:
    """All actions in two columns, each key in a frame."""
    theme = brush.theme
    brush.write(words("help.keys"), 3.1 * u * text, theme.soft, (box.left, box.top + 1.5 * u), middle=True)
    actions = list(Action)
    half = (len(actions) + 1) // 2
    wide, step = (box.width - 3 * u) / 2, (box.height - 4 * u) / half
    for n, action in enumerate(actions):
        x = box.left + (n // half) * (wide + 3 * u)
        y = box.top + 4 * u + (n % half + 0.5) * step
        size = min(2.9 * u * min(text, 1.2), step * 0.5)
        end = x + wide
        names = dict.fromkeys(key_name(words, key) for key in load_keys()[action])
        for name in reversed(list(names)[:_KEYS_SHOWN]):
            cap = max(brush.width(name, int(size * 0.86), True) + 1.6 * u, step * 0.78)
            frame = pygame.Rect(round(end - cap), round(y - step * 0.39), round(cap), round(step * 0.78))
            brush.pill(frame, theme.rule, radius=0.8 * u, line=max(1.2, 0.18 * u))
            brush.write(name, size * 0.86, theme.ink, frame.center, bold=True, align="centre", middle=True)
            end = frame.left - 0.7 * u
        brush.write(
            words(f"do.{action.value}"), size, theme.ink, (x, y), middle=True, width=end - x - 0.5 * u, least=0.7
        )


def _signs(brush: Brush, box: pygame.Rect, u: float, words: Words, text: float) -> None:
    """Every sign beside its meaning."""
    theme = brush.theme
    brush.write(words("help.signs"), 3.1 * u * text, theme.soft, (box.left, box.top + 1.5 * u), middle=True)
    rows = _sign_rows(brush, u)
    step = (box.height - 4 * u) / len(rows)
    for n, (key, paint) in enumerate(rows):
        y = box.top + 4 * u + (n + 0.5) * step
        paint((box.left + 5 * u, y))
        line = pygame.Rect(round(box.left + 11.5 * u), round(y - step / 2), round(box.width - 11.5 * u), round(step))
        brush.write_lines(words(key), 2.9 * u * text, theme.ink, line, lines=2)


def _sign_rows(brush: Brush, u: float) -> list[tuple[str, Callable[[tuple[float, float]], None]]]:
    theme = brush.theme

    def bellows(way: Bellows) -> Callable[[tuple[float, float]], None]:
        def paint(at: tuple[float, float]) -> None:
            box = pygame.Rect(0, 0, round(9 * u), round(4.6 * u))
            box.center = (round(at[0]), round(at[1]))
            bellows_sign(brush, box, way)

        return paint

    def button(filled: bool) -> Callable[[tuple[float, float]], None]:
        def paint(at: tuple[float, float]) -> None:
            way = Bellows.PULL if filled else Bellows.PUSH
            colour = direction_colour(theme, way)
            brush.disc(at, round(2.5 * u, 1), colour)
            if not filled:
                brush.disc(at, round(2.5 * u - max(2.0, 0.35 * u), 1), theme.ground)
            ink = on_direction(theme, way) if filled else colour
            side_arrows(brush, at, 1.2 * u, 0.55 * u, way, ink)
            brush.write("5", 2.4 * u, ink if filled else theme.ink, at, align="centre", bold=True, middle=True)

        return paint

    def outer(at: tuple[float, float]) -> None:
        ink = brush.write("5", 3.6 * u, theme.ink, (at[0], at[1] + 0.5 * u), align="centre", bold=True, middle=True)
        bar = pygame.Rect(ink.left, round(ink.top - 1.0 * u), ink.width, max(2, round(0.4 * u)))
        pygame.draw.rect(brush.surface, theme.ink, bar)

    def mark(verdict: Verdict) -> Callable[[tuple[float, float]], None]:
        return lambda at: verdict_mark(brush, at, 3 * u, verdict)

    return [
        ("help.sign_push", bellows(Bellows.PUSH)),
        ("help.sign_pull", bellows(Bellows.PULL)),
        ("help.sign_next", button(True)),
        ("help.sign_then", button(False)),
        ("help.sign_outer", outer),
        ("help.sign_right", mark(Verdict.RIGHT)),
        ("help.sign_wrong", mark(Verdict.WRONG)),
        ("help.sign_missed", mark(Verdict.MISSED)),
        ("help.sign_extra", mark(Verdict.EXTRA)),
    ]
