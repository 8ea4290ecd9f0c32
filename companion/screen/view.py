"""The practice window: draws a `Glance`. A pure function of glance, theme and look; the same gives the same picture."""

from __future__ import annotations

from dataclasses import replace

import pygame

from companion.screen.bellows_line import BellowsLine
from companion.screen.brush import Brush, Placed
from companion.screen.call import draw_call
from companion.screen.card import card_box, draw_card
from companion.screen.glance import Glance
from companion.screen.head import alerts, draw_alerts, draw_foot, draw_head
from companion.screen.keyboard import draw_keyboard
from companion.screen.layout import Layout, lay_out
from companion.screen.look import Look
from companion.screen.theme import Theme
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
        self._still: pygame.Surface | None = None
        self._still_of: Glance | None = None
        self._still_placed: list[Placed] = []
        self._near: tuple[object, ...] = ()
        self._paused = False

    @property
    def placed(self) -> tuple[Placed, ...]:
        """Every text of the last picture, where `listing` was asked for."""
        return tuple(self._brush.placed)

    def paint(self, surface: pygame.Surface, glance: Glance, *, fresh: bool = True) -> list[pygame.Rect]:
        """Draw `glance` over the whole of `surface`.

        Parameters
        ----------
        fresh : False where `surface` still holds what this painter drew on it last: only what has changed is drawn.

        Returns
        -------
        What was drawn anew.
        """
        layout = lay_out(surface.get_size(), len(alerts(glance)))
        whole = self._keep_still(surface.get_size(), glance, layout) or fresh or glance.paused != self._paused
        self._paused = glance.paused
        changed = surface.get_rect() if whole else card_box(layout)
        assert self._still is not None
        self._brush.placed = list(self._still_placed)
        surface.blit(self._still, changed.topleft, changed)
        self._brush.on(surface)
        if glance.paused:
            draw_card(self._brush, layout, self.words, self.look.text)
        else:
            self._line.draw(self._brush, glance, layout, self.look, self.words)
        return [changed]

    def _keep_still(self, size: tuple[int, int], glance: Glance, layout: Layout) -> bool:
        """Redraw what does not move with the time, if it has changed; returns whether it had."""
        still = replace(glance, now=0.0, notes=(), bars=(), phrases=(), air=(), length=0.0)
        near = _near(glance)
        if (
            self._still is not None
            and self._still.get_size() == size
            and self._still_of == still
            and near == self._near
        ):
            return False
        self._near = near
        self._still_of = still
        if self._still is None or self._still.get_size() != size:
            self._still = pygame.Surface(size)
        self._still.fill(self.theme.ground)
        brush, text = self._brush.on(self._still), self.look.text
        brush.placed = []
        draw_head(brush, glance, layout, self.words, text)
        draw_call(brush, glance, layout, self.words, text)
        draw_keyboard(brush, glance, layout, self.look, self.words)
        draw_alerts(brush, glance, layout, text)
        draw_foot(brush, glance, layout, self.words, text)
        self._still_placed = brush.placed
        return True


def _near(glance: Glance) -> tuple[object, ...]:
    """The notes that the upper part of the window shows."""
    if glance.current is None:
        return ()
    return tuple(step.fingered for step in glance.notes[glance.current : glance.current + 5])


def draw(surface: pygame.Surface, glance: Glance, theme: Theme, look: Look | None = None) -> None:
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
