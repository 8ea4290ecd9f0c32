"""The window against its golden pictures (`tests/screen/golden/`), which were looked at one by one."""

from __future__ import annotations

import numpy as np
import pygame
import pytest

from tests.screen.golden import FOLDER, names, small

# Of 255: fonts are drawn a little differently by different builds of FreeType; common practice, and the second test
# shows that a change of one button is far above it.
MEAN = 0.6
BLOCK = 12.0  # the mean of any block of 8 × 8 pixels


def differences(one: pygame.Surface, other: pygame.Surface) -> tuple[float, float]:
    """The mean difference of two pictures, and that of the block of 8 × 8 pixels that differs most."""
    a, b = (pygame.surfarray.array3d(picture).astype(float) for picture in (one, other))
    apart = np.abs(a - b).mean(axis=2)
    wide, high = apart.shape[0] // 8, apart.shape[1] // 8
    blocks = apart[: wide * 8, : high * 8].reshape(wide, 8, high, 8).mean(axis=(1, 3))
    return float(apart.mean()), float(blocks.max())


@pytest.mark.parametrize("name", list(names()))
def test_as_it_was(name: str) -> None:
    mean, block = differences(small(name), pygame.image.load(FOLDER / f"{name}.png"))
    assert mean < MEAN
    assert block < BLOCK


def test_a_small_change_would_be_seen() -> None:
    """One verdict the other way is more than what is let pass."""
    from companion.screen.theme import load_theme
    from companion.screen.view import draw
    from tests.screen.glances import jig, judged

    surface = pygame.Surface((1280, 720), 0, 24)
    draw(surface, judged(jig(), 9, wrong=(2,)), load_theme("dark"))
    changed = pygame.transform.smoothscale(surface, (480, 270))
    assert differences(changed, pygame.image.load(FOLDER / "reach-1280-dark.png"))[1] > BLOCK


def test_every_picture_is_compared() -> None:
    assert {path.stem for path in FOLDER.glob("*.png")} == set(names())
