"""Colours: contrast as WCAG 2.2 defines it, and the three kinds of colour blindness simulated.

Contrast: https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio; 4.5:1 for text (1.4.3), 3:1 for shapes (1.4.11).
Colour blindness: the matrices for full severity of Machado, Oliveira and Fernandes, "A Physiologically-based Model for
Simulation of Color Vision Deficiency", IEEE TVCG 15(6), 2009, applied to linear RGB. Colour difference: CIE 1976 ΔE in
L*a*b*, D65 (CIE 15:2004); a difference of about 2.3 is just noticeable (Mahy, Van Eycken, Oosterlinck 1994).
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from companion.errors import UserError
from companion.screen.contrast import contrast, luminance, quieter
from companion.screen.theme import Theme, load_theme, load_themes

MACHADO = {
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritan": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
    "none": [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
}
TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
WHITE = TO_XYZ @ np.ones(3)
APART = 20.0  # ΔE between two colours that must never be taken for each other: many times the just noticeable


def lab(colour: tuple[int, int, int], kind: str) -> np.ndarray:
    rgb = np.array(colour) / 255
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    seen = np.clip(np.array(MACHADO[kind]) @ linear, 0, 1)
    xyz = TO_XYZ @ seen / WHITE
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def difference(one: tuple[int, int, int], other: tuple[int, int, int], kind: str) -> float:
    return float(np.linalg.norm(lab(one, kind) - lab(other, kind)))


@pytest.fixture(params=["dark", "light", "high-contrast"])
def theme(request: pytest.FixtureRequest) -> Theme:
    return load_theme(request.param)


def test_contrast_of_known_pairs() -> None:
    """Black on white is 21:1 by definition; #767676 is widely given as the lightest grey with 4.5:1 on white (4.54)."""
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21.0)
    assert contrast((0x76, 0x76, 0x76), (255, 255, 255)) == pytest.approx(4.54, abs=0.005)
    assert contrast((0x77, 0x77, 0x77), (255, 255, 255)) == pytest.approx(4.48, abs=0.005)
    assert luminance((255, 0, 0)) == pytest.approx(0.2126)


def test_text_and_shapes_have_contrast(theme: Theme) -> None:
    """The pairs are listed here again, by what the window draws on what."""
    for name in ("ink", "soft", "push", "pull", "warn", "care", "standin"):
        assert contrast(getattr(theme, name), theme.ground) >= 4.5, name
    for front, back in (("button_ink", "button"), ("ink", "button"), ("ink", "board"), ("soft", "board")):
        assert contrast(getattr(theme, front), getattr(theme, back)) >= 4.5, front
    for way in ("push", "pull"):
        assert contrast(getattr(theme, f"on_{way}"), getattr(theme, way)) >= 4.5
        assert contrast(getattr(theme, way), theme.board) >= 3
        assert contrast(getattr(theme, way), theme.button) >= 3
    for name in ("right", "wrong", "missed", "extra", "rule"):
        assert contrast(getattr(theme, name), theme.ground) >= 3, name
    assert contrast(theme.rule, theme.board) >= 3
    assert contrast(theme.ground, theme.right) >= 3  # the tick on a clean round


def test_what_is_over_is_quieter_and_still_seen(theme: Theme) -> None:
    """The line that has been played."""
    for name in ("push", "pull"):
        front = getattr(theme, name)
        quiet = quieter(front, theme.ground, 0.5, 3.0)
        assert 3.0 <= contrast(quiet, theme.ground) < contrast(front, theme.ground)


def test_the_pages_with_a_list_have_contrast(theme: Theme) -> None:
    """Their rows are boards: text in ink and soft, "now" in the colour of a notice, dots and arrows as shapes."""
    for name in ("ink", "soft", "warn"):
        assert contrast(getattr(theme, name), theme.board) >= 4.5, name
    assert contrast(theme.rule, theme.board) >= 3


@pytest.mark.parametrize("kind", list(MACHADO))
def test_directions_and_verdicts_stay_apart(theme: Theme, kind: str) -> None:
    assert difference(theme.push, theme.pull, kind) >= APART
    assert difference(theme.right, theme.wrong, kind) >= APART


def test_shapes_of_the_verdicts_differ(theme: Theme) -> None:
    """Drawn in one colour, no two marks agree in more than 60% of the pixels that either inks."""
    import pygame

    from companion.marking.mark_values import Verdict
    from companion.screen.brush import Brush
    from companion.screen.signs import verdict_mark

    inked = {}
    for verdict in Verdict:
        surface = pygame.Surface((40, 40))
        surface.fill(theme.ground)
        verdict_mark(Brush(theme).on(surface), (20, 20), 26, verdict)
        pixels = pygame.surfarray.array3d(surface).astype(int)
        inked[verdict] = np.abs(pixels - np.array(theme.ground)).sum(axis=2) > 90
        assert inked[verdict].sum() > 40
    for one, other in combinations(inked.values(), 2):
        assert (one & other).sum() / (one | other).sum() < 0.6


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[dark]\nground = 3\n", "ground` must be words"),
        ('[dark]\nground = "#12345"\n', "ground` must be a colour"),
        ("dark = 1\n", "must be a table"),
        ("[dark\n", "not valid TOML"),
        ("", "no theme in it"),
    ],
)
def test_a_broken_table_gives_one_sentence(own_table: Callable[[str, str], Path], text: str, said: str) -> None:
    own_table("themes.toml", text)
    with pytest.raises(UserError, match=said):
        load_themes()


def test_a_theme_without_contrast_is_refused(own_table: Callable[[str, str], Path]) -> None:
    from companion.places import shipped

    text = shipped("config", "themes.toml").read_text(encoding="utf-8")
    own_table("themes.toml", text.replace('ink = "#1c1f24"', 'ink = "#aaaaaa"'))
    with pytest.raises(UserError, match="ink on ground"):
        load_themes()


def test_no_such_theme() -> None:
    with pytest.raises(UserError, match="choose one of dark, high-contrast, light"):
        load_theme("mauve")
