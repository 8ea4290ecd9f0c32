"""The other pages: between pieces, help, quitting, choosing a tune, opening a book, settings.

Each is a pure function of its glance.
"""

from __future__ import annotations

import pygame

from companion.screen.break_view import draw_calm
from companion.screen.brush import Brush, DrawnText
from companion.screen.gained_view import draw_gained_page
from companion.screen.help import draw_help
from companion.screen.learn_view import draw_learn
from companion.screen.leave_view import draw_leave
from companion.screen.list_values import GainedPage, LearnPage, OpenBookPage, QuestionPage, TunesPage
from companion.screen.lists import draw_settings
from companion.screen.look import Look
from companion.screen.open_book_view import draw_open_book
from companion.screen.page_values import BreakPage, HelpPage, LeavePage, Listed
from companion.screen.question_view import draw_question
from companion.screen.theme import Theme
from companion.screen.tunes_view import draw_chooser
from companion.screen.window_layout import lay_out
from companion.screen.words import load_words

Quiet = BreakPage | HelpPage | LeavePage | Listed


def draw_page(
    surface: pygame.Surface, page: Quiet, theme: Theme, look: Look | None = None, *, listing: bool = False,
    brush: Brush | None = None,
) -> tuple[DrawnText, ...]:  # fmt: skip
    """Draw a page over the whole of `surface`; returns every text on it where `listing` is true. A brush of that theme
    that has drawn such a page before is quicker."""
    look = look or Look()
    words, layout = load_words(look.language), lay_out(surface.get_size())
    brush = (brush or Brush(theme, listing=listing)).on(surface)
    surface.fill(theme.ground)
    if isinstance(page, BreakPage):
        draw_calm(brush, page, layout, words, look.text)
    elif isinstance(page, HelpPage):
        draw_help(brush, layout, words, look.text, page.page)
    elif isinstance(page, LeavePage):
        draw_leave(brush, page, layout, words, look.text)
    elif isinstance(page, TunesPage):
        draw_chooser(brush, page, layout, words, look.text)
    elif isinstance(page, QuestionPage):
        draw_question(brush, page, layout, words, look.text)
    elif isinstance(page, LearnPage):
        draw_learn(brush, page, layout, words, look)
    elif isinstance(page, GainedPage):
        draw_gained_page(brush, page, layout, words, look.text)
    elif isinstance(page, OpenBookPage):
        draw_open_book(brush, page, layout, words, look.text)
    else:
        draw_settings(brush, page, layout, words, look.text)
    return tuple(brush.placed)
