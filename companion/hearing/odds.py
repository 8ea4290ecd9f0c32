"""How likely it is, from its sound alone, that something heard is a note: log odds.

Logistic regressions on the sounds of `tests/hearing/sounds.py` (two soundfonts, four voices): of parts that were a note
against parts that were none, and of notes begun again against dips of a note that went on.
"""

from __future__ import annotations

from math import log

USUAL = 9.0  # log odds beyond which a sound says no more


def part_odds(frames: int, strength: float, peak: float, mean: float, left: float, between: bool) -> float:
    """Of a part.

    Parameters
    ----------
    frames : how long it is. strength : its middle likelihood against all else that sounds.
    peak, mean : its greatest and mean loudness, and left : the left hand's meanwhile, in that of the usual note.
    between : it is short, and the same other pitch sounds before and after it.
    """
    odds = 5.95 + 5.1 * log(strength + 0.02) + 2.9 * min(log(frames / 10), 1.2)
    odds += 12.1 * log(min(peak, 1.5) + 0.02) - 4.4 * log(min(mean, 1.5) + 0.02) - 2.7 * between - 0.6 * left
    return min(odds, USUAL)


def again_odds(depth: float, beats: float, since: int, until: int, left: float) -> float:
    """Of a note begun again.

    Parameters
    ----------
    depth : how far its partials dipped, in dB. beats : how far they dip by themselves.
    since, until : frames from the beginning of the part, and to its end.
    """
    odds = -13.2 + 1.82 * depth - 0.76 * min(beats, 6.0) + 2.44 * min(since, 20) / 20 + 2.78 * min(until, 20) / 20
    return min(odds + 1.03 * left, USUAL)
