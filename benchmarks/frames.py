"""How long each picture of the window takes, from the call that draws it to its return."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from companion.screen.page_values import Page, PracticePage
from companion.screen.window import Window


class FrameCosts:
    """The milliseconds of every picture of practice that was drawn, at most `most` of them.

    Their room is taken at the beginning, so that what the process grows by is not this.
    """

    def __init__(self, most: int) -> None:
        self._found = np.full(most, np.nan, np.float32)
        self._count = 0

    def watch(self, after: Callable[[Window, Page], None] | None = None) -> None:
        """Time every picture of every window from now on; `after` is called with each."""
        show = Window.show

        def timed(window: Window, page: Page) -> None:
            before = window._shown
            begun = time.perf_counter()
            show(window, page)
            took = time.perf_counter() - begun
            drawn = window._shown is not before
            if drawn and isinstance(page, PracticePage) and not page.paused and self._count < len(self._found):
                self._found[self._count] = 1000 * took
                self._count += 1
            if after is not None:
                after(window, page)

        setattr(Window, "show", timed)  # noqa: B010 (a method is exchanged)

    def begin(self) -> None:
        """Forget what was found so far: it was drawn before anything sounded."""
        self._count = 0

    def all(self) -> NDArray[np.float32]:
        """What was found, in order."""
        return self._found[: self._count]


def spread(costs: NDArray[np.float32]) -> dict[str, float]:
    """The middle, the 99th percentile, and the worst."""
    middle, most = (float(value) for value in np.percentile(costs, (50, 99)))
    return {"median": middle, "99%": most, "worst": float(costs.max())}
