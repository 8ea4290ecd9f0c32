"""How far apart two colours are for the eye.

Contrast follows WCAG 2.2: relative luminance and contrast ratio as defined at https://www.w3.org/TR/WCAG22/
(`dfn-relative-luminance`, `dfn-contrast-ratio`). Colours are sRGB triples of 0 to 255.
"""

from __future__ import annotations

Colour = tuple[int, int, int]


def luminance(colour: Colour) -> float:
    """The relative luminance of an sRGB colour: 0 black to 1 white."""
    red, green, blue = (_linear(part / 255) for part in colour)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(part: float) -> float:
    return part / 12.92 if part <= 0.04045 else float(((part + 0.055) / 1.055) ** 2.4)


def contrast(one: Colour, other: Colour) -> float:
    """The contrast ratio of two colours: 1 (the same) to 21 (black and white)."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def mixed(colour: Colour, ground: Colour, share: float) -> Colour:
    """`colour` gone so far towards `ground`: 0 not at all, 1 wholly."""
    red, green, blue = (round(a + (b - a) * share) for a, b in zip(colour, ground, strict=True))
    return red, green, blue


def quieter(front: Colour, back: Colour, share: float, least: float) -> Colour:
    """`front` taken towards `back` by a share, or by less where it would be nearer to it than a contrast of `least`."""
    while share > 0 and contrast(mixed(front, back, share), back) < least:
        share -= 0.02
    return mixed(front, back, max(share, 0.0))
