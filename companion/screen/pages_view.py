"""The pages beside practice: the calm page, help, leaving, choosing a tune, settings.

Each is a pure function of its glance.
"""

from __future__ import annotations

import pygame

from companion.screen.brush import Brush, Placed
from companion.screen.calm import draw_calm
from companion.screen.glance import CalmGlance, ChooserGlance, HelpGlance, LeaveGlance, SettingsGlance
from companion.screen.help import draw_help
from companion.screen.layout import lay_out
from companion.screen.leave import draw_leave
from companion.screen.lists import draw_chooser, draw_settings
from companion.screen.look import Look
from companion.screen.theme import Theme
from companion.screen.words import load_words

Quiet = CalmGlance | HelpGlance | LeaveGlance | ChooserGlance | SettingsGlance


def draw_page(
    surface: pygame.Surface, page: Quiet, theme: Theme, look: Look | None = None, *, listing: bool = False
) -> tuple[Placed, ...]:
    """Draw a page over the whole of `surface`; returns every text on it where `listing` is true."""
    look = look or Look()
    brush, words, layout = (
        Brush(theme, listing=listing).on(surface),
        load_words(look.language),
        lay_out(surface.get_size()),
    )
    surface.fill(theme.ground)
    if isinstance(page, CalmGlance):
        draw_calm(brush, page, layout, words, look.text)
    elif isinstance(page, HelpGlance):
        draw_help(brush, layout, words, look.text)
    elif isinstance(page, LeaveGlance):
        draw_leave(brush, page, layout, words, look.text)
    elif isinstance(page, ChooserGlance):
        draw_chooser(brush, page, layout, words, look.text)
    else:
        draw_settings(brush, page, layout, words, look.text)
    return tuple(brush.placed)
