"""The pause card: the sentence again, and what you can do now, each with its key, large enough to touch.

It has two sides: what is wanted most, and behind "More" all the rest.
"""

from __future__ import annotations

from math import ceil

import pygame

from companion.screen.actions import Action, load_keys
from companion.screen.brush import Brush
from companion.screen.page_values import PracticePage
from companion.screen.said import write_sentence
from companion.screen.window_layout import Layout, Shape
from companion.screen.words import Words

# None turns the card over.
Cell = tuple[Action | None, pygame.Rect]
CARD: tuple[Action | None, ...] = (
    Action.PAUSE, Action.AGAIN, Action.BACK, Action.ON, Action.SLOWER, Action.FASTER, Action.LESSON,
    Action.TUNES, Action.PROGRESS, Action.SETTINGS, Action.STANDIN, Action.HELP, Action.QUIT, None,
)  # fmt: skip
REVERSE: tuple[Action | None, ...] = (*(action for action in Action if action not in CARD), None)
_ROWS = {False: 2, True: 3}  # on the front, on the back; in a window that is high for its width twice as many
_HEAD, _SENTENCE = 5.6, 0.3  # units; of what the head leaves, on the front


def key_words(words: Words, action: Action) -> str:
    """How the first key of `action` is shown; a dash where it has none."""
    keys = load_keys()[action]
    return key_name(words, keys[0]) if keys else words("card.keyless")


def key_name(words: Words, key: str) -> str:
    """How a key is shown: a sign or word of its own, else its name with a capital."""
    key = key.removeprefix("[").removesuffix("]") if len(key) == 3 else key  # on the number pad
    return words.entries.get(f"key.{key}") or (key.upper() if len(key) == 1 else key.capitalize())


def card_box(layout: Layout) -> pygame.Rect:
    """Where the card lies: over the hand, the sentence and the bellows line."""
    return layout.hand.union(layout.line)


def _sentence_box(layout: Layout) -> pygame.Rect:
    box, u = card_box(layout), layout.unit
    top = box.top + round(_HEAD * u)
    return pygame.Rect(
        box.left + round(2.4 * u), top, box.width - round(4.8 * u), round(_SENTENCE * (box.bottom - top))
    )


def card_cells(layout: Layout, more: bool = False) -> tuple[Cell, ...]:
    """What is on the card (`more`: on its back) and where to touch for it (pixels)."""
    box, u = card_box(layout), layout.unit
    top = box.top + round(_HEAD * u) if more else _sentence_box(layout).bottom
    actions, rows = (REVERSE if more else CARD), _ROWS[more] * (2 if layout.shape is Shape.TALL else 1)
    columns = ceil(len(actions) / rows)
    high = (box.bottom - top - round(0.8 * u)) // rows
    wide = (box.width - 2 * round(u)) / columns
    cells = []
    for n, action in enumerate(actions):
        left = box.left + round(u + n % columns * wide)
        cells.append(
            (action, pygame.Rect(left, top + n // columns * high, round(wide - 0.8 * u), high - round(0.6 * u)))
        )
    return tuple(cells)


def draw_card(
    brush: Brush, page: PracticePage, layout: Layout, words: Words, text: float, more: bool, over: pygame.Rect | None
) -> None:
    """Draw the card, from the front or (`more`) the back; the cell at `over` lies under the pointer."""
    u, theme, box = layout.unit, brush.theme, card_box(layout)
    brush.pill(box, theme.board, radius=2 * u)
    brush.pill(box, theme.ink, radius=2 * u, line=max(2.0, 0.3 * u))
    middle = box.top + 3.1 * u
    for side in (0, 1):
        bar = pygame.Rect(
            round(box.left + (2.4 + side * 1.5) * u), round(middle - 1.5 * u), round(0.85 * u), round(3 * u)
        )
        pygame.draw.rect(brush.surface, theme.ink, bar)
    word = brush.write(words("paused"), 4.2 * u, theme.ink, (box.left + 6 * u, middle), bold=True, middle=True)
    left = word.right + 2.4 * u
    how = words("paused_how", key=key_words(words, Action.PAUSE))
    brush.write(how, 3 * u * text, theme.soft, (left, middle), middle=True, width=box.right - left - 2 * u)
    if not more:
        said = " ".join((*page.notices, page.sentence)).strip()
        write_sentence(brush, said, _sentence_box(layout), max(3.8 * u, 2.4 * layout.tall), 2, text)
    for action, cell in card_cells(layout, more):
        _draw_cell(brush, action, cell, layout, words, text, more, cell == over)


def _draw_cell(
    brush: Brush,
    action: Action | None,
    cell: pygame.Rect,
    layout: Layout,
    words: Words,
    text: float,
    more: bool,
    under: bool,
) -> None:
    """One cell: what it does over its key."""
    theme, u = brush.theme, layout.unit
    room = cell.width - 1.2 * u
    brush.pill(cell, theme.ink if under else theme.button, radius=1.2 * u)
    brush.pill(cell, theme.ink if under else theme.rule, radius=1.2 * u, line=max(1.2, 0.2 * u))
    ink, x = theme.ground if under else theme.button_ink, cell.centerx
    size = min(max(3.2 * u, 1.7 * layout.tall) * min(text, 1.2), cell.height * 0.4)
    if action is None:
        said = words("card.fewer" if more else "card.more")
        brush.write(said, size, ink, cell.center, bold=True, align="centre", middle=True, width=room)
        return
    for said, high, share, bold in (
        (words(f"card.{action.value}"), size, -0.17, True),
        (key_words(words, action), 0.85 * size, 0.24, False),
    ):
        brush.write(
            said, high, ink, (x, cell.centery + share * cell.height), bold=bold, align="centre", middle=True,
            width=room, least=0.5,
        )  # fmt: skip
