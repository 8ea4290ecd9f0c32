"""The pause card: what you can do now, each with its key, large enough to touch."""

from __future__ import annotations

import pygame

from companion.screen.actions import Action, load_keys
from companion.screen.brush import Brush
from companion.screen.page_values import PracticePage
from companion.screen.window_layout import Layout
from companion.screen.words import Words

# In two rows.
CARD = (
    (Action.PAUSE, Action.AGAIN, Action.BACK, Action.ON, Action.SLOWER, Action.FASTER),
    (Action.TUNES, Action.SETTINGS, Action.STANDIN, Action.CLICK, Action.HELP, Action.QUIT),
)


def key_words(words: Words, action: Action) -> str:
    """How the first key of `action` is shown; "" where it has none."""
    keys = load_keys()[action]
    return key_name(words, keys[0]) if keys else ""


def key_name(words: Words, key: str) -> str:
    """How a key is shown: a sign or word of its own, else its name with a capital."""
    key = key.removeprefix("[").removesuffix("]") if len(key) == 3 else key  # on the number pad
    return words.entries.get(f"key.{key}") or (key.upper() if len(key) == 1 else key.capitalize())


def card_box(layout: Layout) -> pygame.Rect:
    """Where the card lies: over the hand and the bellows line."""
    return layout.hand.union(layout.line)


def card_cells(layout: Layout) -> tuple[tuple[Action, pygame.Rect], ...]:
    """The actions on the card and where to touch for them."""
    box, u = card_box(layout), layout.unit
    top = box.top + round(5.6 * u)
    high = (box.bottom - top - round(1.2 * u)) // len(CARD)
    cells = []
    for down, row in enumerate(CARD):
        wide = (box.width - 2 * round(u)) / len(row)
        for along, action in enumerate(row):
            left = box.left + round(u + along * wide)
            cell = pygame.Rect(left, top + down * high, round(wide - 0.8 * u), high - round(0.8 * u))
            cells.append((action, cell))
    return tuple(cells)


def touched(glance: PracticePage, layout: Layout, at: tuple[int, int]) -> Action | None:
    """What a touch or a click means: on the card what stands there, anywhere else pause or go on."""
    if not glance.paused:
        return Action.PAUSE
    for action, cell in card_cells(layout):
        if cell.collidepoint(at):
            return action
    return None if card_box(layout).collidepoint(at) else Action.PAUSE


def draw_card(brush: Brush, layout: Layout, words: Words, text: float) -> None:
    """Draw the card over the hand and the bellows line."""
    u, theme, box = layout.unit, brush.theme, card_box(layout)
    brush.pill(box, theme.board, radius=2 * u)
    brush.pill(box, theme.ink, radius=2 * u, line=max(2.0, 0.3 * u))
    middle = box.top + 3.3 * u
    for side in (0, 1):
        bar = pygame.Rect(
            round(box.left + (2.4 + side * 1.5) * u), round(middle - 1.5 * u), round(0.85 * u), round(3 * u)
        )
        pygame.draw.rect(brush.surface, theme.ink, bar)
    left = box.left + 6 * u
    word = brush.write(words("paused"), 4.2 * u, theme.ink, (left, middle), bold=True, middle=True)
    how = words("paused_how", key=key_words(words, Action.PAUSE))
    brush.write(
        how, 3 * u * text, theme.soft, (word.right + 2.4 * u, middle), middle=True, width=box.right - word.right - 4 * u
    )
    for action, cell in card_cells(layout):
        brush.pill(cell, theme.button, radius=1.2 * u)
        brush.pill(cell, theme.rule, radius=1.2 * u, line=max(1.2, 0.2 * u))
        room = cell.width - 1.6 * u
        size = min(3.2 * u * min(text, 1.2), cell.height * 0.42)
        brush.write(
            words(f"card.{action.value}"), size, theme.button_ink, (cell.centerx, cell.centery - 0.17 * cell.height),
            bold=True, align="centre", middle=True, width=room,
        )  # fmt: skip
        brush.write(
            key_words(words, action), size * 0.85, theme.button_ink, (cell.centerx, cell.centery + 0.24 * cell.height),
            align="centre", middle=True, width=room,
        )  # fmt: skip
