"""What was played in place of a note before it came: its tries."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from statistics import median

from companion.marking.chances import Pairs, Slips
from companion.marking.left_hand import TOGETHER
from companion.marking.mark_values import Asked, Heard
from companion.timeline import Timeline


def tries(
    asked: Sequence[Asked],
    heard: Sequence[Heard],
    pairs: Pairs,
    *,
    visited: Mapping[int, int],
    timeline: Timeline | None,
    slips: Slips | None,
) -> dict[int, tuple[int, ...]]:
    """For each asked note that came right in the end, by position, the heard ones that were meant for it before that.

    Parameters
    ----------
    visited : for which note a heard one was played, where it is known: of a phrase that was begun again, those of the
        one given up were meant for other notes.
    slips : for each asked note the pitches that one slip makes of it: only these are tries, and only where the first of
        them came nearer to when the note was due than the right one did. None: all that came before it are.

    Returns
    -------
    Indices into `heard`, in order, the right one last; nothing where the note came right at once or not at all. What
    sounds together with the right note was pressed with it, and not in its place.
    """
    partners = {j for _, j in pairs}
    due = _due(asked, heard, pairs, timeline)
    found = {}
    for i, j in pairs:
        if heard[j].pitch != asked[i].pitch:
            put_right = _put_right(asked[i].pitch, heard, j, partners)
            if put_right is not None:
                found[i] = (*range(j, put_right), put_right)
            continue
        first = j
        while first > 0 and first - 1 not in partners and visited.get(first - 1, i) == i:
            pitch = heard[first - 1].pitch
            if pitch == asked[i].pitch or (slips is not None and pitch not in slips[i]):
                break
            first -= 1
        before = tuple(k for k in range(first, j) if heard[j].seconds - heard[k].seconds > TOGETHER)
        if before and (slips is None or _nearer(heard[before[0]], heard[j], due.get(i))):
            found[i] = (*before, j)
    return found


def _put_right(pitch: int, heard: Sequence[Heard], j: int, partners: set[int]) -> int | None:
    """The right note that came after wrong note `j`, before anything was played for another; None where none did."""
    for k in range(j + 1, len(heard)):
        if k in partners:
            return None
        if heard[k].pitch == pitch:
            return k
    return None


def _nearer(first: Heard, right: Heard, due: float | None) -> bool:
    """Whether a note came nearer to when it was due than the right one did."""
    return due is not None and abs(first.seconds - due) < abs(right.seconds - due)


def _due(asked: Sequence[Asked], heard: Sequence[Heard], pairs: Pairs, timeline: Timeline | None) -> dict[int, float]:
    """When each matched note was due, by position: by the clock; without one by the note before and the usual pace."""
    if timeline is not None:
        return {i: timeline.seconds(asked[i].at) for i, _ in pairs}
    steps = [
        (i, heard[j].seconds, float(asked[i].at - asked[h].at), heard[k].seconds)
        for (h, k), (i, j) in pairwise(pairs)
        if asked[i].at > asked[h].at
    ]
    if not steps:
        return {}
    pace = median((came - before) / step for _, came, step, before in steps)
    return {i: before + step * pace for i, _, step, before in steps}
