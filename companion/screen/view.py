"""The practice window: draws a `PracticePage`. Pure: the same page, theme and look give the same picture."""

from __future__ import annotations

import pygame

from companion.screen.bellows_line import BellowsLine
from companion.screen.brush import Brush, DrawnText
from companion.screen.call import draw_call
from companion.screen.card import card_box, draw_card
from companion.screen.hand_view import AHEAD
from companion.screen.head import alerts, draw_alerts, draw_foot, draw_head
from companion.screen.keyboard import Keyboard
from companion.screen.look import Look
from companion.screen.page_values import PracticePage
from companion.screen.theme import Theme
from companion.screen.window_layout import Layout, lay_out
from companion.screen.words import load_words


class Painter:
    """Draws glances one after another and keeps what stays the same between them.

    Parameters
    ----------
    theme : the colours.
    look : what the player chose: facing, size of text, motion.
    listing : list every text that is drawn in `placed`.
    """

    def __init__(self, theme: Theme, look: Look | None = None, *, listing: bool = False) -> None:
        self.theme = theme
        self.look = look or Look()
        self.words = load_words(self.look.language)
        self._brush = Brush(theme, listing=listing)
        self._line = BellowsLine()
        self._keyboard = Keyboard()
        self._still: pygame.Surface | None = None
        self._around: tuple[object, ...] = ()
        self._middle: tuple[object, ...] = ()
        self._around_placed: list[DrawnText] = []
        self._middle_placed: list[DrawnText] = []
        self._was_paused = False

    @property
    def placed(self) -> tuple[DrawnText, ...]:
        """Every text of the last picture, where `listing` was asked for."""
        return tuple(self._brush.placed)

    def paint(self, surface: pygame.Surface, glance: PracticePage, *, fresh: bool = True) -> list[pygame.Rect]:
        """Draw `glance` over the whole of `surface`.

        Parameters
        ----------
        fresh : False where `surface` still holds what this painter drew on it last: only what has changed is drawn.

        Returns
        -------
        What was drawn anew.
        """
        layout = lay_out(surface.get_size(), len(alerts(glance)))
        drawn = self._keep_still(surface.get_size(), glance, layout)
        changed = surface.get_rect() if fresh or glance.paused != self._was_paused else card_box(layout).unionall(drawn)
        self._was_paused = glance.paused
        assert self._still is not None
        self._brush.placed = self._around_placed + self._middle_placed
        surface.blit(self._still, changed.topleft, changed)
        self._brush.on(surface)
        if glance.paused:
            draw_card(self._brush, layout, self.words, self.look.text)
        else:
            self._line.draw(self._brush, glance, layout, self.look, self.words)
        return [changed]

    def _keep_still(self, size: tuple[int, int], glance: PracticePage, layout: Layout) -> list[pygame.Rect]:
        """Redraw what does not move with the time, where it has changed; returns where that was."""
        around, middle = _around(glance), _middle(glance)
        new = self._still is None or self._still.get_size() != size
        if self._still is None or new:
            self._still = pygame.Surface(size)
        brush, text, drawn = self._brush.on(self._still), self.look.text, []
        if new or around != self._around:
            self._around = around
            self._still.fill(self.theme.ground)
            brush.placed = []
            draw_head(brush, glance, layout, self.words, text)
            draw_alerts(brush, glance, layout, text)
            draw_foot(brush, glance, layout, self.words, text)
            self._around_placed = brush.placed
            drawn.append(self._still.get_rect())
        if drawn or middle != self._middle:
            self._middle = middle
            band = pygame.Rect(0, layout.call.top, size[0], layout.line.top - layout.call.top)
            self._still.fill(self.theme.ground, band)
            brush.placed = []
            draw_call(brush, glance, layout, self.words, text)
            self._keyboard.draw(brush, glance, layout, self.look, self.words)
            self._middle_placed = brush.placed
            drawn.append(band)
        return drawn


def _around(glance: PracticePage) -> tuple[object, ...]:
    """What the head, the foot and the alerts show."""
    g = glance
    tempo = (round(g.bpm), round(g.target_bpm), g.beat_name, g.clocked, g.round_number, g.clean, g.clean_needed)
    return (g.title, g.piece, g.step, *tempo, g.standin, g.sentence, g.following, g.notices, g.caution)


def _middle(glance: PracticePage) -> tuple[object, ...]:
    """What the call, the keyboard and the hand show."""
    here = glance.current
    near = None if here is None else tuple(step.fingered for step in glance.notes[here : here + AHEAD + 1])
    return (near, glance.count, glance.paused, glance.box)


def draw(surface: pygame.Surface, glance: PracticePage, theme: Theme, look: Look | None = None) -> None:
    """Draw one moment of a practice session over the whole of `surface`.

    Parameters
    ----------
    surface : any size from 800×480 up.
    glance : what is to be seen.
    theme : the colours.
    look : what the player chose; the usual where it is left out.

    Notes
    -----
    To draw many pictures one after another, keep a `Painter`: it draws the same pictures faster.
    """
    Painter(theme, look).paint(surface, glance)
