"""The pointer over the practice page: what a press, a pull across bars or notes, and a turn of the wheel ask for.

Pure but for what it remembers: where the press began, how long the chips stay, which side of the card is up.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import pygame

from companion.screen.actions import Action, Asked, ChosenNotes, ChosenTempo
from companion.screen.bellows_line import note_at
from companion.screen.card import card_box, card_cells
from companion.screen.chips import chips
from companion.screen.look import Look
from companion.screen.page_values import PracticePage
from companion.screen.tempo_scale import tempo_at
from companion.screen.tune_map import bar_at, map_cells, nearest_bar
from companion.screen.window_layout import Layout, lay_out

STAY = 4.0  # seconds for which the chips stay
_LOW = 0.9  # of the window's height: below it the pointer calls them
_PULL = 1.5  # hundredths of the height: a press that moves less is no pull

Spot = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Pointing:
    """What the pointer changes in the picture: the cell or chip under it, whether the chips are up, whether the card
    shows its back, and the run that is being picked out: bars on the map (indices in `map_cells`), or notes."""

    over: pygame.Rect | None = None
    chips: bool = False
    more: bool = False
    bars: tuple[int, int] | None = None
    notes: tuple[int, int] | None = None


NOWHERE = Pointing()


class Pointer:
    """Follows the pointer over the practice page; all places are pixels, all times seconds."""

    def __init__(self) -> None:
        self._at: Spot | None = None
        self._down: Spot | None = None
        self._bars: tuple[int, int] | None = None
        self._notes: tuple[int, int] | None = None
        self._until = float("-inf")
        self._more = False

    def moved(self, page: PracticePage, size: Spot, look: Look, at: Spot, now: float) -> None:
        """The pointer is at `at` in a window of `size`."""
        self._at = at
        layout = lay_out(size, page.standin, look.staff)
        if self._down is None:
            self._call_chips(page, layout, at, now)
        elif self._bars is not None and page.tune_map is not None:
            self._bars = (self._bars[0], nearest_bar(page.tune_map, layout, at))
        elif self._notes is not None and page.notes:
            begun = abs(at[0] - self._down[0]) >= _PULL * layout.tall
            self._notes = (self._notes[0], note_at(page, layout, look, at[0]) if begun else self._notes[0])

    def pressed(self, page: PracticePage, size: Spot, look: Look, at: Spot, now: float) -> Asked | None:
        """The button went down, or a finger. Some of it means something only when it comes up."""
        layout = lay_out(size, page.standin, look.staff)
        up = self._chips_up(page, now)
        self._at, self._down, self._bars, self._notes = at, at, None, None
        called = self._call_chips(page, layout, at, now)
        if up and (found := [chip for chip in chips(page, layout) if chip.box.collidepoint(at)]):
            self._until = now + STAY
            return found[0].choice.action
        if page.paused and card_box(layout).collidepoint(at):
            return self._card(layout, at)
        if page.tune_map is not None and (bar := bar_at(page.tune_map, layout, at)) is not None:
            self._bars = (bar, bar)
            return None
        if (per_cent := tempo_at(page, layout, at)) is not None:
            return ChosenTempo(per_cent)
        if called:
            return None
        if not page.paused and page.notes and layout.line.collidepoint(at):
            note = note_at(page, layout, look, at[0])
            self._notes = (note, note)
            return None
        return Action.PAUSE

    def released(self, page: PracticePage, size: Spot, look: Look, at: Spot, now: float) -> Asked | None:
        """The button came up, or the finger."""
        if self._down is None:
            return None
        self.moved(page, size, look, at, now)
        bars, notes = self._bars, self._notes
        self.let_go()
        if bars is not None and page.tune_map is not None:
            cells = map_cells(page.tune_map, lay_out(size, page.standin, look.staff))
            return ChosenNotes(cells[min(bars)][0], cells[min(max(bars), len(cells) - 1)][1])
        if notes is None:
            return None
        first, last = sorted(notes)
        if first == last or last >= len(page.notes):
            return Action.PAUSE
        run = ChosenNotes(page.notes[first].index, page.notes[last].index)
        return run if run.first >= 0 and run.last >= 0 else None

    def let_go(self) -> None:
        """The button came up over another page."""
        self._down = self._bars = self._notes = None

    def pointing(self, page: PracticePage, size: Spot, look: Look, now: float) -> Pointing:
        """What of it is to be seen now."""
        if not page.paused:
            self._more = False
        up = self._chips_up(page, now)
        notes = self._notes if self._notes is not None and self._notes[0] != self._notes[1] else None
        if notes is not None and max(notes) >= len(page.notes):
            notes = None
        seen = Pointing(None, up, self._more, self._bars, notes)
        if self._at is None or not (up or page.paused):
            return seen
        layout, at = lay_out(size, page.standin, look.staff), self._at
        boxes = [chip.box for chip in chips(page, layout)] if up else []
        boxes += [box for _, box in card_cells(layout, self._more)] if page.paused else []
        return replace(seen, over=next((box for box in boxes if box.collidepoint(at)), None))

    def _chips_up(self, page: PracticePage, now: float) -> bool:
        return not page.paused and now < self._until and bool(page.choices or page.own)

    def _call_chips(self, page: PracticePage, layout: Layout, at: Spot, now: float) -> bool:
        """Bring the chips, or keep them, where the pointer is low enough or on one of them."""
        if page.paused or not (page.choices or page.own):
            return False
        low = at[1] >= _LOW * layout.size[1]
        on = self._chips_up(page, now) and any(chip.box.collidepoint(at) for chip in chips(page, layout))
        if low or on:
            self._until = now + STAY
        return low

    def _card(self, layout: Layout, at: Spot) -> Asked | None:
        """What a press on the pause card means; one cell turns it over."""
        for action, cell in card_cells(layout, self._more):
            if cell.collidepoint(at):
                if action is None:
                    self._more = not self._more
                return action
        return None
