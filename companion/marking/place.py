"""Where in a take the round begins, and at what tempo it goes."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import numpy as np

from companion.marking.chances import robust_line
from companion.marking.in_order import match_in_order
from companion.marking.mark_values import Asked, Heard
from companion.marking.marking_rules import MarkingRules
from companion.marking.match import match_in_time
from companion.timeline import Timeline

# Tempi outside these are no one's: a find outside them is a chance likeness.
_SLOWEST, _FASTEST = 8.0, 600.0
# Where the player's tempo is this near to the one asked, the whole round says where the beat lies; else its beginning.
_SAME_TEMPO = 0.02


def find_start(
    asked: Sequence[Asked],
    heard: Sequence[Heard],
    bpm: float | None,
    beat: Fraction,
    rules: MarkingRules,
) -> Timeline:
    """Find the beat in a take.

    The pitches are matched in order first; a line through most of the matched onsets then gives start and tempo, and
    a second matching in time mends both.

    Parameters
    ----------
    asked : the notes of one round, in order.
    heard : what was played, in order of onset, after any silence.
    bpm : the tempo that was asked for; None to find the one that was played.
    beat : the length of a beat in whole notes.

    Returns
    -------
    Timeline
        With the place of the first asked note as its origin. With a tempo given, it has that tempo. Where nothing
        of the round is found, it begins with the first note heard, at the given tempo or at 60 beats a minute.
    """
    start = asked[0].at if asked else Fraction(0)
    plain = Timeline(bpm or 60.0, beat, start, heard[0].seconds if heard else 0.0)
    pairs = match_in_order(asked, heard, rules)
    found = _through(asked, heard, pairs, beat, start)
    if found is None:
        return plain
    pairs = match_in_time(asked, heard, found, rules)
    found = _through(asked, heard, pairs, beat, start) or found
    if bpm is None:
        return found
    if abs(found.bpm / bpm - 1.0) > _SAME_TEMPO:
        return Timeline(bpm, beat, start, found.origin)
    asked_tempo = Timeline(bpm, beat, start, 0.0)
    late = [heard[j].seconds - asked_tempo.seconds(asked[i].at) for i, j in pairs if asked[i].pitch == heard[j].pitch]
    return Timeline(bpm, beat, start, float(np.median(late)))


def played_bpm(
    asked: Sequence[Asked], heard: Sequence[Heard], pairs: Sequence[tuple[int, int]], beat: Fraction
) -> float | None:
    """The tempo of what was played, in beats a minute: None where fewer than three right notes tell it."""
    found = _through(asked, heard, pairs, beat, Fraction(0))
    return None if found is None else found.bpm


def _through(
    asked: Sequence[Asked], heard: Sequence[Heard], pairs: Sequence[tuple[int, int]], beat: Fraction, start: Fraction
) -> Timeline | None:
    """The steady time through most of the right notes, None where they are too few or make no sense."""
    right = [(i, j) for i, j in pairs if asked[i].pitch == heard[j].pitch]
    if len(right) < 3:
        return None
    places = np.array([float(asked[i].at) for i, _ in right])
    onsets = np.array([heard[j].seconds for _, j in right])
    whole, zero = robust_line(places, onsets)
    if whole <= 0.0:
        return None
    bpm = 60.0 / (whole * float(beat))
    if not _SLOWEST <= bpm <= _FASTEST:
        return None
    return Timeline(bpm, beat, start, zero + whole * float(start))
