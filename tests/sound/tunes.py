"""Made-up rounds for the tests of this room: quavers in a row, with or without a pick-up."""

from __future__ import annotations

from fractions import Fraction

from companion.tune.tune_values import BarSpan, Meter, OnceThrough, Played

QUAVER = Fraction(1, 8)
JIG = Meter("6/8", Fraction(3, 4), (Fraction(3, 8), Fraction(3, 8)))
REEL = Meter("C|", Fraction(1), (Fraction(1, 2), Fraction(1, 2)))
WALTZ = Meter("3/4", Fraction(3, 4), (Fraction(1, 4),) * 3)
POLKA = Meter("2/4", Fraction(1, 2), (Fraction(1, 4),) * 2)


def quavers(bars: int, meter: Meter, *, pickup: int = 0) -> OnceThrough:
    """Bars full of quavers. With a pick-up, the last bar is shorter by as many quavers."""
    assert meter.bar is not None
    each = int(meter.bar / QUAVER)
    notes: list[Played] = []
    spans: list[BarSpan] = []
    at = Fraction(0)
    for bar in range(0 if pickup else 1, bars + 1):
        count = pickup if bar == 0 else each - pickup if bar == bars else each
        spans.append(BarSpan(bar, "A", 1, at, count * QUAVER))
        for i in range(count):
            pitch = 62 + (len(notes) * 5) % 17
            notes.append(Played(len(notes), "A", 1, bar, at + i * QUAVER, QUAVER, pitch))
        at += count * QUAVER
    return OnceThrough(tuple(notes), tuple(spans), at, pickup * QUAVER, "A")
