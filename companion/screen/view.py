"""The practice window: draws a `PracticePage`. Pure: the same page, theme and look give the same picture."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import pygame

from companion.screen.bellows_line import BellowsLine
from companion.screen.brush import Brush, DrawnText
from companion.screen.call import draw_call, draw_turn, turn_box
from companion.screen.card import draw_card
from companion.screen.chips import chips_box, draw_chips
from companion.screen.hand_view import AHEAD
from companion.screen.head import draw_head, draw_pause_facts, draw_standin
from companion.screen.keyboard import Keyboard
from companion.screen.look import Look
from companion.screen.page_values import PracticePage
from companion.screen.pointer import NOWHERE, Pointing
from companion.screen.revealed import beat_number, now_and_then, shown_now
from companion.screen.said import draw_old_notice, draw_said
from companion.screen.staff_view import StaffView
from companion.screen.theme import Theme
from companion.screen.tune_map import draw_map
from companion.screen.window_layout import Layout, lay_out
from companion.screen.words import load_words


@dataclass(frozen=True, slots=True)
class _StillBand:
    """A band of the window that does not move with the time: what it depends on, and what draws it."""

    name: str
    box: pygame.Rect
    key: tuple[object, ...]
    draw: Callable[[Brush], None]


class Painter:
    """Draws glances one after another and keeps what stays the same between them.

    Parameters
    ----------
    theme : the colours.
    look : what the player chose: facing, size of text, motion.
    listing : list every text that is drawn in `placed`.
    waits : draw nothing half: what takes longer than a picture may is waited for. Else it comes in a later picture.
    """

    def __init__(self, theme: Theme, look: Look | None = None, *, listing: bool = False, waits: bool = True) -> None:
        self.theme = theme
        self.look = look or Look()
        self.words = load_words(self.look.language)
        self._brush = Brush(theme, listing=listing)
        self._line = BellowsLine()
        self._staff = StaffView(waits=waits)
        self._keyboard = Keyboard()
        self._still = pygame.Surface((1, 1))
        self._kept: dict[str, tuple[tuple[object, ...], list[DrawnText]]] = {}
        self._layout: Layout | None = None
        self._before: tuple[object, ...] = ()

    @property
    def placed(self) -> tuple[DrawnText, ...]:
        """Every text of the last picture, where `listing` was asked for."""
        return tuple(self._brush.placed)

    @property
    def unfinished(self) -> bool:
        """Whether something of the last picture is still being made: draw it again soon."""
        return self._staff.unfinished

    def paint(
        self, surface: pygame.Surface, glance: PracticePage, pointing: Pointing = NOWHERE, *, fresh: bool = True
    ) -> list[pygame.Rect]:
        """Draw `glance` over the whole of `surface`.

        Parameters
        ----------
        pointing : what the pointer changes in the picture.
        fresh : False where `surface` still holds what this painter drew on it last: only what has changed is drawn.

        Returns
        -------
        What was drawn anew (pixels).
        """
        layout = lay_out(surface.get_size(), glance.standin, self.look.staff)
        drawn = self._keep_still(glance, layout, pointing)
        around = (layout.size, glance.paused, pointing.chips, pointing if glance.paused else None)
        changed = [surface.get_rect()]
        if not fresh and around == self._before:
            line = layout.line.union(layout.staff) if self.look.staff else layout.line
            changed = [turn_box(layout), line.inflate(2 * layout.margin, 0), *drawn]
            if pointing.chips:
                changed.append(chips_box(glance, layout))
        self._before = around
        self._brush.placed = [text for _, texts in self._kept.values() for text in texts]
        for box in changed:
            surface.blit(self._still, box.topleft, box)
        self._draw_moving(surface, glance, layout, pointing)
        return changed

    def _draw_moving(self, surface: pygame.Surface, glance: PracticePage, layout: Layout, pointing: Pointing) -> None:
        """What is drawn in every picture."""
        brush = self._brush.on(surface)
        if glance.paused:
            self._staff.unfinished = False
            draw_card(brush, glance, layout, self.words, self.look.text, pointing.more, pointing.over)
            return
        draw_turn(brush, glance, layout, self.look)
        page = glance if pointing.notes is None else replace(glance, chosen=pointing.notes)
        self._line.draw(brush, page, layout, self.look)
        self._staff.draw(brush, page, layout, self._line.pages(page, layout))
        if pointing.chips:
            draw_chips(brush, glance, layout, self.words, pointing.over)

    def _keep_still(self, glance: PracticePage, layout: Layout, pointing: Pointing) -> list[pygame.Rect]:
        """Redraw what does not move with the time, where it has changed; returns where that was."""
        if layout != self._layout:
            self._layout, self._kept = layout, {}
            self._still = pygame.Surface(layout.size)
            self._still.fill(self.theme.ground)
        brush, drawn = self._brush.on(self._still), []
        for band in self._bands(glance, layout, pointing):
            if band.name in self._kept and self._kept[band.name][0] == band.key:
                continue
            self._still.fill(self.theme.ground, band.box)
            brush.placed = []
            band.draw(brush)
            self._kept[band.name] = (band.key, brush.placed)
            drawn.append(band.box)
        return drawn

    def _bands(self, glance: PracticePage, layout: Layout, pointing: Pointing) -> tuple[_StillBand, ...]:
        """The bands, from the top."""
        g, lay, words, text = glance, layout, self.words, self.look.text

        def head(brush: Brush) -> None:
            draw_head(brush, g, lay, words, text)
            draw_standin(brush, g, lay, words)

        def call(brush: Brush) -> None:
            if g.paused:
                draw_pause_facts(brush, g, lay, words, text)
            else:
                draw_call(brush, g, lay, words, self.look)

        def keys(brush: Brush) -> None:
            self._keyboard.draw(brush, g, lay, self.look, words)

        def said(brush: Brush) -> None:
            if not g.paused:
                draw_said(brush, g, lay, text)

        def foot(brush: Brush) -> None:
            draw_old_notice(brush, g, lay)
            if g.tune_map is not None:
                draw_map(brush, g.tune_map, lay, pointing.bars)

        above = lay.keys.top - round(lay.tall)  # where the sign of a wrong press may reach
        tempo = (round(g.bpm), round(g.target_bpm), g.clocked)
        press = (*_pressed(g), g.pressed, g.free, g.paused, g.box)
        facts = (g.title, g.step, g.round_number, g.beat_name, g.following, g.clean) if g.paused else ()
        return (
            _StillBand(
                "head", _down(lay, 0, lay.call.top),
                (g.piece, shown_now(g), *tempo, g.clean, g.clean_needed, g.standin), head,
            ),
            _StillBand("call", _down(lay, lay.call.top, above), (*press, *tempo, *facts, *_counted(g)), call),
            _StillBand("keys", _down(lay, above, lay.sentence.top), (*press, g.tried), keys),
            _StillBand("said", lay.sentence, (g.sentence, g.notices, g.notices_old, g.caution, g.paused), said),
            _StillBand(
                "map", _down(lay, lay.line.bottom, lay.size[1]),
                (g.tune_map, pointing.bars, bool(g.notices) and g.notices_old), foot,
            ),
        )  # fmt: skip


def _down(layout: Layout, top: int, bottom: int) -> pygame.Rect:
    """The whole width of the window between two heights."""
    return pygame.Rect(0, top, layout.size[0], bottom - top)


def _pressed(page: PracticePage) -> tuple[object, ...]:
    """What the call, the keyboard and the hand show of the notes."""
    here = page.current
    if here is None:
        return (None,)
    near = tuple((step.fingered, step.name) for step in page.notes[here : here + AHEAD + 1])
    return (near, tuple(one is not None for one in now_and_then(page)), shown_now(page))


def _counted(page: PracticePage) -> tuple[object, ...]:
    """The count-in, and the beat where it is shown."""
    hidden = page.current is not None and now_and_then(page)[0] is None
    return (page.count, beat_number(page) if hidden else 0, page.piece)


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
