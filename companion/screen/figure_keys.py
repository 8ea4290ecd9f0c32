"""The figure keys: a bar by its number; with Alt or Ctrl a tempo in per cent. Figures typed quickly make one number."""

from __future__ import annotations

import pygame

from companion.screen.actions import ChosenBar, ChosenTempo

TOGETHER = 0.8  # seconds: a figure typed this soon after another belongs to it
_MOST = 120  # per cent
# By their place on the keyboard, whatever the layout writes there.
FIGURES = {
    code: n
    for n in range(10)
    for code in (getattr(pygame, f"KSCAN_{n}"), getattr(pygame, f"KSCAN_KP_{n}"))
}  # fmt: skip


class FigureKeys:
    """Puts figures together."""

    def __init__(self) -> None:
        self._figures: list[int] = []
        self._tempo = False
        self._last = float("-inf")

    def bar(self, figure: int, now: float, most: int) -> ChosenBar:
        """A figure typed at `now` (seconds); `most` is the highest number that a bar of the tune has."""
        before = self._before(now, tempo=False)
        number = 10 * before[0] + figure if len(before) == 1 else figure
        whole = [*before, figure] if len(before) == 1 and number <= most else [figure]
        self._figures = whole
        return ChosenBar(number if len(whole) == 2 else figure)

    def tempo(self, figure: int, now: float) -> ChosenTempo:
        """A figure typed at `now` (seconds) with Alt or Ctrl held: tens first (0: the full tempo), then exactly."""
        figures = [*self._before(now, tempo=True), figure]
        number = int("".join(map(str, figures)))
        if figures[0] == 0 or len(figures) > 3 or number > _MOST:
            figures, number = [figure], figure
        self._figures = figures
        return ChosenTempo(number if len(figures) > 1 else 10 * figure or 100)

    def _before(self, now: float, *, tempo: bool) -> list[int]:
        """The figures that one typed now belongs to."""
        together = now - self._last <= TOGETHER and tempo == self._tempo
        self._last, self._tempo = now, tempo
        return self._figures if together else []
