"""The golden pictures: small copies of the window at five sizes and three themes, to compare with what is drawn now.

Remake them after a change that is meant, and look at every one: ``python -m tests.screen.golden``.
"""

from __future__ import annotations

import os
from pathlib import Path

os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")

import pygame

from companion.screen.look import Look
from companion.screen.page_values import PracticePage
from companion.screen.pages_view import draw_page
from companion.screen.theme import load_theme, load_themes
from companion.screen.view import draw
from tests.screen.glances import all_glances
from tests.screen.page_glances import all_pages

FOLDER = Path(__file__).parent / "golden"
SIZES = ((800, 480), (1280, 720), (1920, 1080), (3840, 2160), (1200, 1920))
WIDTH = 480  # of a kept copy
BOTH = ((800, 600, "light"), (1200, 1920, "high-contrast"))
PAGES = (
    "calm", "help", "help-signs", "choose", "settings", "tried", "by-heart", "first-notes", "paused", "eight-parts",
    "open-book", "gained-tunes", "gained-days", "gained-diary", "first-box", "first-heard", "first-held",
)  # fmt: skip


# With what the player has chosen besides.
LOOKED = {
    "names": ("reach", Look(names=True)),
    "staff": ("round", Look(staff=True)),
    "both": ("reach", Look(names=True, staff=True)),
}


def names() -> dict[str, tuple[str, tuple[int, int], str]]:
    """Every golden picture's name: what is drawn, at which size, in which theme."""
    found = {}
    for theme in load_themes():
        for size in SIZES:
            found[f"reach-{size[0]}-{theme}"] = ("reach", size, theme)
    found |= {f"{page}-1280-dark": (page, (1280, 720), "dark") for page in (*PAGES, *LOOKED)}
    found |= {f"both-{wide}-{theme}": ("both", (wide, high), theme) for wide, high, theme in BOTH}
    return found


def small(name: str) -> pygame.Surface:
    """The picture of that name as it is drawn now, scaled down to `WIDTH`."""
    what, size, theme = names()[name]
    what, look = LOOKED.get(what, (what, None))
    page = (all_glances() | all_pages())[what]
    surface = pygame.Surface(size, 0, 24)
    if isinstance(page, PracticePage):
        draw(surface, page, load_theme(theme), look)
    else:
        draw_page(surface, page, load_theme(theme))
    return pygame.transform.smoothscale(surface, (WIDTH, round(WIDTH * size[1] / size[0])))


def main() -> None:
    """Draw them all anew."""
    FOLDER.mkdir(exist_ok=True)
    for name in names():
        pygame.image.save(small(name), FOLDER / f"{name}.png")
    print(f"{len(names())} pictures in {FOLDER.relative_to(Path.cwd())}")


if __name__ == "__main__":
    main()
