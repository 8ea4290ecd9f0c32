"""Musical place to seconds and back: one immutable value. A change of tempo is a new `Timeline`.

Conventions: a musical place is counted in whole notes, seconds on whatever clock the caller uses (in a practice
session, the sound device's own).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Timeline:
    """A bijection between whole notes and seconds.

    Parameters
    ----------
    bpm : beats a minute, greater than 0.
    beat : length of one beat in whole notes (1/4 a crotchet, 3/8 a dotted crotchet).
    origin_at : the place, in whole notes, that sounds at `origin`.
    origin : seconds.
    before : what holds before `origin_at`, where the tempo changed there; None: this does.

    Examples
    --------
    >>> slow = Timeline(60.0, Fraction(1, 4))
    >>> faster = slow.changed(Fraction(1), 120.0)
    >>> [faster.seconds(at) for at in (0, 1, 2)]
    [0.0, 4.0, 6.0]
    """

    bpm: float
    beat: Fraction
    origin_at: Fraction = Fraction(0)
    origin: float = 0.0
    before: Timeline | None = None

    @property
    def whole(self) -> float:
        """Seconds that one whole note lasts."""
        return 60.0 / self.bpm / float(self.beat)

    def seconds(self, at: Fraction | float) -> float:
        """When the place `at` (whole notes) sounds."""
        if self.before is not None and at < self.origin_at:
            return self.before.seconds(at)
        return self.origin + float(at - self.origin_at) * self.whole

    def at(self, seconds: float) -> float:
        """Which place (whole notes) sounds at `seconds`."""
        if self.before is not None and seconds < self.origin:
            return self.before.at(seconds)
        return float(self.origin_at) + (seconds - self.origin) / self.whole

    def moved(self, origin: float, origin_at: Fraction = Fraction(0)) -> Timeline:
        """The same tempo, with `origin_at` sounding at `origin`."""
        return Timeline(self.bpm, self.beat, origin_at, origin)

    def changed(self, at: Fraction, bpm: float) -> Timeline:
        """The same up to the place `at`, and another tempo from there on."""
        return Timeline(bpm, self.beat, at, self.seconds(at), self)
