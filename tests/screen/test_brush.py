"""What the brush writes: every letter that a title may hold, and signs that the font has not in other ones."""

from __future__ import annotations

import unicodedata

import numpy as np
import pygame
import pytest

from companion.box.layout import box_names, load_box
from companion.screen.brush import Brush
from companion.screen.theme import load_theme


def ink(text: str, bold: bool = False) -> np.ndarray:
    """What a text leaves on a dark ground, as it is seen."""
    surface = pygame.Surface((900, 80))
    brush = Brush(load_theme("dark")).on(surface)
    brush.write(text, 40, (255, 255, 255), (10, 60), bold=bold)
    return pygame.surfarray.array3d(surface)[:, :, 0]


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("block", [(0x21, 0x17F), (0x1E00, 0x1E9B), (0x391, 0x3C9), (0x410, 0x44F)])
def test_every_letter_of_a_title_is_seen_and_is_its_own(block: tuple[int, int], bold: bool) -> None:
    letters = [chr(code) for code in range(block[0], block[1] + 1)]
    letters = [letter for letter in letters if unicodedata.category(letter) in ("Lu", "Ll", "Nd", "Po")]
    lacking = ink(chr(0xE123), bold)  # of nobody's alphabet
    assert [letter for letter in letters if not ink(letter, bold).any()] == []
    assert [letter for letter in letters if np.array_equal(ink(letter, bold), lacking)] == []


def test_the_name_of_every_box_is_seen_whole() -> None:
    assert np.array_equal(ink("C♯/D, B♭"), ink("C#/D, Bb"))
    brush = Brush(load_theme("dark"))
    assert brush.width("C♯", 40) == brush.width("C#", 40)
    for name in box_names():
        shown = load_box(name).name
        assert ink(shown).any()
        # Each sign takes away from what is seen when it is left out.
        assert all(not np.array_equal(ink(shown), ink(shown.replace(sign, ""))) for sign in set(shown) - {" "})
