"""Exact musical time in whole numbers: quicker than fractions, and as exact.

A whole note is `RES` ticks, so every length with a divisor built of 2, 3, 5 and 7 in usual measure is an `int`; any
other length (an eleventh of a beat) is kept as a `Fraction` of ticks, which adds and compares with the rest.
"""

from __future__ import annotations

from fractions import Fraction

RES = 2**11 * 3**3 * 5 * 7
"""Ticks in a whole note."""

Ticks = int | Fraction

_CACHED = 50_000


class _Wholes(dict[Ticks, Fraction]):
    """The fractions that have been asked for: the same few thousand come back in every tune."""

    def __missing__(self, ticks: Ticks) -> Fraction:
        if len(self) > _CACHED:
            self.clear()
        made = self[ticks] = Fraction(ticks) / RES
        return made


whole = _Wholes().__getitem__
"""Ticks as an exact fraction of a whole note."""


def ticks(wholes: Fraction) -> Ticks:
    """A fraction of a whole note in ticks."""
    return scaled(RES, wholes.numerator, wholes.denominator)


def scaled(amount: Ticks, numerator: int, denominator: int) -> Ticks:
    """`amount` x `numerator` / `denominator`, exactly; an `int` wherever it can be one."""
    if type(amount) is int:
        product = amount * numerator
        quotient, rest = divmod(product, denominator)
        return Fraction(product, denominator) if rest else quotient
    exact = Fraction(amount) * Fraction(numerator, denominator)
    return exact.numerator if exact.denominator == 1 else exact
