"""What a picture of the practice window costs, drawn in software, beside a full surface that is blitted and flipped.

python -m benchmarks screen
"""

from __future__ import annotations

import os
import resource
from collections.abc import Iterator
from dataclasses import replace
from statistics import median, quantiles

import pygame

from benchmarks.table import Limit, Row, named, timed
from companion.marking.mark_values import Verdict
from companion.screen.look import Look
from companion.screen.page_values import PracticePage
from companion.screen.theme import load_theme
from companion.screen.view import Painter
from tests.screen.glances import long_round

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")

FULL = (1920, 1080)
SIZES = ((1280, 720), FULL, (3840, 2160))
MIDDLE, MOST = 6.0, 12.0  # ms
SECONDS = 20.0  # of practice that are drawn
RATE = 60


def main() -> list[Row]:
    """Draw a whole round of 32 bars, played through at 60 pictures a second, at three sizes; once with the staff."""
    pygame.display.init()
    reference = f"{named('pygame')} (SDL {'.'.join(map(str, pygame.get_sdl_version()))}), blit and flip"
    rows = []
    for size, look in (*((size, Look()) for size in SIZES), (FULL, Look(names=True, staff=True))):
        surface = pygame.display.set_mode(size)
        behind = surface.copy()

        def plain(surface: pygame.Surface = surface, behind: pygame.Surface = behind) -> None:
            surface.blit(behind, (0, 0))
            pygame.display.flip()

        theirs = timed(plain, 200)
        painter = Painter(load_theme(), look, waits=False)

        def show(
            glance: PracticePage, fresh: bool, painter: Painter = painter, surface: pygame.Surface = surface
        ) -> None:
            pygame.display.update(painter.paint(surface, glance, fresh=fresh))

        costs, before = [], 0.0
        for frame, glance in enumerate(_moments()):
            costs += timed(lambda glance=glance, frame=frame: show(glance, frame == 0), 1)  # type: ignore[misc]
            if frame == 5 * RATE:
                before = _memory()
        costs = [1000 * cost for cost in costs[1:]]
        most = quantiles(costs, n=100)[98]
        print(f"{size[0]}×{size[1]}: 99% {most:.2f} ms, worst {max(costs):.2f}; grown by {_memory() - before:.1f} MB")
        limit = None
        if size == FULL:
            limit = Limit(f"median ≤ {MIDDLE:g}, 99% ≤ {MOST:g}", median(costs) <= MIDDLE and most <= MOST)
        what = f"a picture at {size[0]}×{size[1]}{', with staff and names' if look.staff else ''}"
        rows.append(Row(what, "ms", costs, reference, [1000 * cost for cost in theirs], "pictures", limit))
    return rows


def _moments() -> Iterator[PracticePage]:
    """A round of 32 bars, frame by frame, each note judged when it has been played."""
    base, whole = long_round(), 60 / 66 / 0.375  # seconds a whole note at 66 dotted crotchets
    notes, current = base.notes, 0
    for frame in range(int(SECONDS * RATE)):
        now = frame / RATE / whole
        while current + 1 < len(notes) and notes[current].at + notes[current].length / 2 < now:
            notes = (*notes[:current], replace(notes[current], verdict=Verdict.RIGHT), *notes[current + 1 :])
            current += 1
        # A new tuple of new steps each time, as a session makes it.
        yield replace(base, notes=tuple(replace(step) for step in notes), now=now, current=current)


def _memory() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


if __name__ == "__main__":
    main()
