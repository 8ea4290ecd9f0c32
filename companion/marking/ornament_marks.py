"""Which of the notes that stand for no written one are ornaments: cuts, taps, rolls, triplets, written graces.

An ornament lies round a note that was matched, near it in pitch, and is short: a cut or tap of itself, a roll or a
triplet by the steps between its notes. Where its length cannot be told (no ends came in), the next onset ends a note.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from statistics import median

from companion.marking.chances import Pairs, sounding
from companion.marking.mark_values import Asked, Heard
from companion.marking.marking_rules import OrnamentRule


def ornaments(asked: Sequence[Asked], heard: Sequence[Heard], pairs: Pairs, rule: OrnamentRule) -> frozenset[int]:
    """Positions in `heard` of the added or written ornaments among the notes that `pairs` leaves over."""
    found: set[int] = set()
    usual = _usual_step(heard, pairs)
    bounds = [None, *pairs, None]
    for before, after in itertools.pairwise(bounds):
        first = before[1] + 1 if before else 0
        last = after[1] if after else len(heard)
        if first < last:
            found |= _in_gap(asked, heard, before, after, range(first, last), rule, usual)
    return frozenset(found)


def _in_gap(
    asked: Sequence[Asked],
    heard: Sequence[Heard],
    before: tuple[int, int] | None,
    after: tuple[int, int] | None,
    between: range,
    rule: OrnamentRule,
    usual: float,
) -> set[int]:
    """The ornaments among the notes between two matched ones."""
    found = {j for j in between if _is_flick(asked, heard, before, after, j, between, rule)}
    if before is not None:
        note, main = asked[before[0]], heard[before[1]]
        near = [j for j in between if _near(heard[j].pitch - main.pitch, rule)]
        quick = _quick(heard, [before[1], *between], min(rule.triplet_ms / 1000.0, 0.8 * usual))
        if len(near) == len(between) and ((len(between) > 1 and quick) or note.ornaments):
            found |= set(between)
    found |= _plain_notes(heard, before, between, found, step=1)
    found |= _plain_notes(heard, after, between, found, step=-1)
    return found


def _is_flick(
    asked: Sequence[Asked],
    heard: Sequence[Heard],
    before: tuple[int, int] | None,
    after: tuple[int, int] | None,
    j: int,
    between: range,
    rule: OrnamentRule,
) -> bool:
    """Whether note `j` is a cut, a tap or a written grace note of a matched neighbour."""
    longest = rule.longest_ms / 1000.0
    if after is not None:
        ahead = heard[after[1]].seconds - heard[j].seconds
        close = ahead <= longest * (between[-1] - j + 1)
        if close and heard[j].pitch in asked[after[0]].grace:
            return True
        if close and sounding(heard, j) <= longest and _near(heard[j].pitch - heard[after[1]].pitch, rule):
            return True
    if before is None or sounding(heard, j) > longest or not _near(heard[j].pitch - heard[before[1]].pitch, rule):
        return False
    # It clings to the beginning of its note, or to that of the note that goes on after it.
    return heard[j].seconds - heard[before[1]].seconds <= longest or (
        j + 1 in between and heard[j + 1].seconds - heard[j].seconds <= longest
    )


def _plain_notes(
    heard: Sequence[Heard], main: tuple[int, int] | None, between: range, found: set[int], step: int
) -> set[int]:
    """The notes of the main note's own pitch that a cut or a tap divides from it (as in a roll)."""
    if main is None:
        return set()
    plain: set[int] = set()
    divided = False
    for j in between if step > 0 else reversed(between):
        if j in found:
            divided = True
        elif divided and heard[j].pitch == heard[main[1]].pitch:
            plain.add(j)
        else:
            break
    return plain


def _near(semitones: int, rule: OrnamentRule) -> bool:
    """Whether a note this far above (below: negative) its main note can be its ornament."""
    return -rule.below <= semitones <= rule.above


def _quick(heard: Sequence[Heard], notes: list[int], step: float) -> bool:
    """Whether notes follow each other, and the last is followed, within `step` seconds."""
    times = [heard[j].seconds for j in notes]
    if notes[-1] + 1 < len(heard):
        times.append(heard[notes[-1] + 1].seconds)
    return all(b - a <= step for a, b in itertools.pairwise(times))


def _usual_step(heard: Sequence[Heard], pairs: Pairs) -> float:
    """The usual time between two matched notes, in seconds."""
    times = [heard[j].seconds for _, j in pairs]
    steps = [b - a for a, b in itertools.pairwise(times)]
    return median(steps) if steps else 0.25
