"""Why right notes came at the wrong time: the bellows turned late, the hand had to find its place, a bar ran away.

Conventions: positions count in the notes asked for; lateness in ms.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from statistics import median

from companion.box.box_values import Fingered
from companion.marking.mark_values import Asked, NoteMark, Verdict
from companion.timeline import Timeline

# A step this share of the tolerance is worth saying, even where the note itself may still count as in time.
_WORTH = 0.6
# So many right notes make a trend within a bar.
_TREND = 4


@dataclass(frozen=True)
class TimedRound:
    """A round whose right notes are looked at for when they came.

    Attributes
    ----------
    asked, by_note, held : the notes asked for; their marks and their fingering, by index into the round.
    timeline : places to seconds, None with no clock.
    bound_ms : how far off the beat a note may be.
    wait : with no clock, so many times the usual pace is a wait. rush : the share of tempo by which a bar ran away.
    onsets : the seconds at which the heard notes came.
    """

    asked: Sequence[Asked]
    by_note: Mapping[int, NoteMark]
    held: Mapping[int, Fingered]
    timeline: Timeline | None
    bound_ms: float
    wait: float
    rush: float
    onsets: Sequence[float]

    @cached_property
    def late(self) -> dict[int, float]:
        """The lateness of each right note in ms, by position."""
        return {
            k: mark.late_ms
            for k, a in enumerate(self.asked)
            if (mark := self.by_note.get(a.index)) is not None
            and mark.verdict is Verdict.RIGHT
            and mark.late_ms is not None
        }

    @cached_property
    def middle(self) -> float:
        """The middle lateness in ms; 0 where nothing has one."""
        return median(self.late.values()) if self.late else 0.0

    @cached_property
    def steps(self) -> list[int]:
        """The positions that came late on the whole and against the note before: else the player is simply behind."""
        worth = _WORTH * self.bound_ms
        return [
            k
            for k, ms in self.late.items()
            if ms - self.middle > worth and ms - self.late.get(k - 1, self.middle) > worth
        ]


def late_turns(given: TimedRound) -> list[int]:
    """The right notes that came late where the bellows turn."""
    return [k for k in given.steps if _turns(given, k)] if given.timeline is not None else []


def hesitations(given: TimedRound) -> list[int]:
    """The right notes at a join before which the player waited."""
    if given.timeline is None:
        return _waits(given)
    return [k for k in given.steps if _joins(given, k)]


def rushed_bars(given: TimedRound) -> list[int]:
    """The right notes of bars that ran away, against the trend of the whole round."""
    return _strayed(given, [bar for bar, by in _trends(given).items() if by < -given.rush])


def dragged_bars(given: TimedRound) -> list[int]:
    """The right notes of bars that were dragged, against the trend of the whole round."""
    return _strayed(given, [bar for bar, by in _trends(given).items() if by > given.rush])


def _pair(given: TimedRound, k: int) -> tuple[Fingered, Fingered] | None:
    """How the note before and note `k` are played."""
    before = given.held.get(given.asked[k - 1].index) if k else None
    here = given.held.get(given.asked[k].index)
    return (before, here) if before is not None and here is not None else None


def _turns(given: TimedRound, k: int) -> bool:
    """Whether the bellows turn before note `k`."""
    pair = _pair(given, k)
    return pair is not None and pair[0].press.bellows is not pair[1].press.bellows


def _joins(given: TimedRound, k: int) -> bool:
    """Whether the hand moves before note `k`, or a part begins there."""
    pair = _pair(given, k)
    if pair is None:
        return False
    before, here = pair
    return here.reach != 0 or (before.note.part, before.note.turn) != (here.note.part, here.note.turn)


def _waits(given: TimedRound) -> list[int]:
    """With no clock: the right notes at a join before which the player waited far longer than the notes last."""
    asked = given.asked
    came = {
        k: given.onsets[mark.heard]
        for k, a in enumerate(asked)
        if (mark := given.by_note.get(a.index)) is not None and mark.verdict is Verdict.RIGHT and mark.heard is not None
    } if given.onsets else {}  # fmt: skip
    paces = {
        k: (came[k] - came[k - 1]) / float(asked[k].at - asked[k - 1].at)
        for k in came
        if k - 1 in came and asked[k].at > asked[k - 1].at
    }
    if len(paces) < _TREND:
        return []
    usual = median(paces.values())
    return [k for k, pace in paces.items() if pace > given.wait * usual and _joins(given, k)]


_Bar = tuple[str, int, int]  # the part, which time through it, the bar


def _bars(given: TimedRound) -> dict[_Bar, list[int]]:
    """The positions of the right notes of each bar."""
    bars: dict[_Bar, list[int]] = defaultdict(list)
    for k in given.late:
        played = given.held.get(given.asked[k].index)
        if played is not None:
            bars[played.note.part, played.note.turn, played.note.bar].append(k)
    return bars


def _trends(given: TimedRound) -> dict[_Bar, float]:
    """By what share the tempo of each bar fell against the round's (negative: rushed); none where there are too few."""
    if given.timeline is None:
        return {}
    asked, late = given.asked, given.late
    slopes = {}
    for bar, inside in _bars(given).items():
        steps = [
            (late[b] - late[a]) / 1000.0 / (float(asked[b].at - asked[a].at) * given.timeline.whole)
            for a, b in combinations(inside, 2)
            if asked[b].at > asked[a].at
        ]
        if len(inside) >= _TREND and steps:
            # The middle of all slopes (Theil and Sen): one late note is no trend.
            slopes[bar] = median(steps)
    if len(slopes) < 2:
        return {}
    whole = median(slopes.values())
    return {bar: slope - whole for bar, slope in slopes.items()}


def _strayed(given: TimedRound, bars: Sequence[_Bar]) -> list[int]:
    """The notes of those bars that are off the beat, and not because of a turn or a join."""
    inside = _bars(given)
    return [
        k
        for bar in bars
        for k in inside[bar]
        if abs(given.late[k] - given.middle) > _WORTH * given.bound_ms
        and not (k in given.steps and (_turns(given, k) or _joins(given, k)))
    ]
