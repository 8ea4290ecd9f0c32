"""Pictures are drawn in memory: SDL's dummy driver, no window."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")


@pytest.fixture(autouse=True)
def _tables_of_the_program(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Whoever runs the tests may have tables of their own: they do not count here."""
    monkeypatch.setenv("BOX_COMPANION_CONFIG", str(tmp_path_factory.mktemp("config")))


@pytest.fixture
def no_screen(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A machine without a screen."""
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER"):
        monkeypatch.delenv(name, raising=False)
    yield
    import pygame

    pygame.display.quit()
