"""What a frame of the practice window costs, drawn in software.

Each figure stands beside its ratio to a plain fill of the same surface, measured in the same run.
"""

from __future__ import annotations

import os
import resource
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from statistics import median, quantiles

import pygame

from companion.hearing.model import Verdict
from companion.screen.glance import Glance
from companion.screen.theme import load_theme
from companion.screen.view import Painter
from tests.screen.glances import long_round

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")

SIZES = ((1280, 720), (1920, 1080), (3840, 2160))
SECONDS = 20.0  # of practice that are drawn
RATE = 60


def main() -> None:
    """Print one line a size: a whole round of 32 bars, played through at 60 frames a second."""
    pygame.display.init()
    print(f"{'size':>12} {'median':>10} {'99%':>8} {'worst':>9} {'fill, ms':>8} {'median/fill':>12} {'grown MB':>9}")
    for size in SIZES:
        surface = pygame.display.set_mode(size)
        fills = [_timed(lambda surface=surface: surface.fill((9, 9, 9))) for _ in range(50)]
        painter = Painter(load_theme())

        def show(glance: Glance, fresh: bool, painter: Painter = painter, surface: pygame.Surface = surface) -> None:
            pygame.display.update(painter.paint(surface, glance, fresh=fresh))

        costs, before = [], 0.0
        for frame, glance in enumerate(_moments()):
            costs.append(_timed(lambda glance=glance, frame=frame: show(glance, frame == 0)))
            if frame == 5 * RATE:
                before = _memory()
        worst, spread = max(costs[1:]), quantiles(costs[1:], n=100)[98]
        print(
            f"{size[0]:>7}×{size[1]:<4} {median(costs):>10.2f} {spread:>8.2f} {worst:>9.2f} "
            f"{median(fills):>8.2f} {median(costs) / median(fills):>12.1f} {_memory() - before:>9.1f}"
        )


def _moments() -> Iterator[Glance]:
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


def _timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1000


def _memory() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


if __name__ == "__main__":
    main()
