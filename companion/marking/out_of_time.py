"""Why right notes came at the wrong time: the bellows turned late, the hand had to find its place, a bar ran away.

Conventions: positions count in the notes asked for; lateness in ms.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from itertools import combinations
from statistics import median

from companion.box.box_values import Fingered
from companion.marking.mark_values import Asked, NoteMark, Verdict
from companion.marking.marking_rules import MarkingRules
from companion.timeline import Timeline

# A step this share of the tolerance is worth saying, even where the note itself may still count as in time.
_WORTH = 0.6
# So many right notes make a trend within a bar.
_TREND = 4


def out_of_time(
    asked: Sequence[Asked],
    by_note: Mapping[int, NoteMark],
    held: Mapping[int, Fingered],
    timeline: Timeline | None,
    rules: MarkingRules,
    onsets: Sequence[float],
) -> dict[int, str]:
    """The causes of right notes that came at the wrong time, by position; several that fit are joined by "+"."""
    if not held:
        return {}
    if timeline is None:
        return dict.fromkeys(_waits(asked, by_note, held, rules, onsets), "hesitation")
    late = {
        k: mark.late_ms
        for k, a in enumerate(asked)
        if (mark := by_note.get(a.index)) is not None and mark.verdict is Verdict.RIGHT and mark.late_ms is not None
    }
    if not late:
        return {}
    bound = rules.clean.tolerance_ms(60.0 / timeline.bpm)
    middle = median(late.values())
    found: dict[int, list[str]] = defaultdict(list)
    for k, ms in late.items():
        # Late against the note before too: else the player is simply behind.
        if ms - middle > _WORTH * bound and ms - late.get(k - 1, middle) > _WORTH * bound:
            if _turns(asked, held, k):
                found[k].append("late-turn")
            if _joins(asked, held, k):
                found[k].append("hesitation")
    for name, positions in _bars(asked, held, late, timeline, rules).items():
        for k in positions:
            if not found[k] and abs(late[k] - middle) > _WORTH * bound:
                found[k].append(name)
    return {k: "+".join(names) for k, names in found.items() if names}


def _pair(asked: Sequence[Asked], held: Mapping[int, Fingered], k: int) -> tuple[Fingered, Fingered] | None:
    """How the note before and note `k` are played."""
    before, here = (held.get(asked[k - 1].index) if k else None), held.get(asked[k].index)
    return (before, here) if before is not None and here is not None else None


def _turns(asked: Sequence[Asked], held: Mapping[int, Fingered], k: int) -> bool:
    """Whether the bellows turn before note `k`."""
    pair = _pair(asked, held, k)
    return pair is not None and pair[0].press.bellows is not pair[1].press.bellows


def _joins(asked: Sequence[Asked], held: Mapping[int, Fingered], k: int) -> bool:
    """Whether the hand moves before note `k`, or a part begins there."""
    pair = _pair(asked, held, k)
    if pair is None:
        return False
    before, here = pair
    return here.reach != 0 or (before.note.part, before.note.turn) != (here.note.part, here.note.turn)


def _waits(
    asked: Sequence[Asked],
    by_note: Mapping[int, NoteMark],
    held: Mapping[int, Fingered],
    rules: MarkingRules,
    onsets: Sequence[float],
) -> list[int]:
    """With no clock: the right notes at a join before which the player waited far longer than the notes last."""
    came = {
        k: onsets[mark.heard]
        for k, a in enumerate(asked)
        if (mark := by_note.get(a.index)) is not None and mark.verdict is Verdict.RIGHT and mark.heard is not None
    } if onsets else {}  # fmt: skip
    paces = {
        k: (came[k] - came[k - 1]) / float(asked[k].at - asked[k - 1].at)
        for k in came
        if k - 1 in came and asked[k].at > asked[k - 1].at
    }
    if len(paces) < _TREND:
        return []
    usual = median(paces.values())
    return [k for k, pace in paces.items() if pace > rules.cause.wait * usual and _joins(asked, held, k)]


def _bars(
    asked: Sequence[Asked],
    held: Mapping[int, Fingered],
    late: Mapping[int, float],
    timeline: Timeline,
    rules: MarkingRules,
) -> dict[str, list[int]]:
    """The right notes of bars that ran away or were dragged, against the trend of the whole round."""
    bars: dict[tuple[str, int, int], list[int]] = defaultdict(list)
    for k in late:
        played = held.get(asked[k].index)
        if played is not None:
            bars[played.note.part, played.note.turn, played.note.bar].append(k)
    slopes = {}
    for bar, inside in bars.items():
        steps = [
            (late[b] - late[a]) / 1000.0 / (float(asked[b].at - asked[a].at) * timeline.whole)
            for a, b in combinations(inside, 2)
            if asked[b].at > asked[a].at
        ]
        if len(inside) >= _TREND and steps:
            # The middle of all slopes (Theil and Sen): one late note is no trend.
            slopes[bar] = median(steps)
    found: dict[str, list[int]] = {"rushed-bar": [], "dragged-bar": []}
    if len(slopes) < 2:
        return found
    whole = median(slopes.values())
    for bar, slope in slopes.items():
        if abs(slope - whole) > rules.cause.rush:
            found["rushed-bar" if slope < whole else "dragged-bar"] += bars[bar]
    return found
