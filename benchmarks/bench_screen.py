"""What a frame of the practice window costs, drawn in software.

Each figure stands beside its ratio to a plain fill of the same surface, measured in the same run.
"""

from __future__ import annotations

import os
import resource
import time
from dataclasses import replace
from statistics import median, quantiles

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")

SIZES = ((1280, 720), (1920, 1080), (3840, 2160))
SECONDS = 20.0  # of practice that are drawn
RATE = 60


def main() -> None:
    """Print one line a size: a whole round of 32 bars, played through at 60 frames a second."""
    import pygame

    from companion.hearing.model import Verdict
    from companion.screen.theme import load_theme
    from companion.screen.view import Painter
    from tests.screen.glances import long_round

    pygame.display.init()
    base, whole = long_round(), 60 / 66 / 0.375  # seconds a whole note at 66 dotted crotchets
    print(f"{'size':>12} {'median ms':>10} {'99% ms':>8} {'worst ms':>9} {'fill ms':>8} {'median/fill':>12} {'grown MB':>9}")
    for size in SIZES:
        surface = pygame.display.set_mode(size)
        fills = [_timed(lambda surface=surface: surface.fill((9, 9, 9))) for _ in range(50)]
        painter, costs = Painter(load_theme()), []
        notes, current = base.notes, 0
        before = 0
        for frame in range(int(SECONDS * RATE)):
            now = frame / RATE / whole
            while current + 1 < len(notes) and notes[current].at + notes[current].length / 2 < now:
                judged = replace(notes[current], verdict=Verdict.RIGHT)
                notes = (*notes[:current], judged, *notes[current + 1 :])
                current += 1
            # A new tuple of new steps each time, as a session makes it.
            seen = tuple(replace(step) for step in notes)
            glance = replace(base, notes=seen, now=now, current=current)
            costs.append(_timed(lambda g=glance, f=frame: pygame.display.update(painter.paint(surface, g, fresh=f == 0))))
            if frame == 5 * RATE:
                before = _memory()
        spread = quantiles(costs[1:], n=100)
        print(
            f"{size[0]:>7}×{size[1]:<4} {median(costs):>10.2f} {spread[98]:>8.2f} {max(costs[1:]):>9.2f} "
            f"{median(fills):>8.2f} {median(costs) / median(fills):>12.1f} {_memory() - before:>9.1f}"
        )


def _timed(work: object) -> float:
    start = time.perf_counter()
    work()  # type: ignore[operator]
    return (time.perf_counter() - start) * 1000


def _memory() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


if __name__ == "__main__":
    main()
