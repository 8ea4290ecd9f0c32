"""What the marks say as a whole: by bar and by button, how steady, and over several rounds what to work on most."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, median

from companion.box.model import Fingering, Press
from companion.hearing.chances import robust_line
from companion.hearing.model import Asked, Marks, NoteMark, Verdict


@dataclass(frozen=True, slots=True)
class Tally:
    """Counts over some notes, and their middle lateness in ms (None with no clock, or where none was right)."""

    notes: int
    right: int
    wrong: int
    missed: int
    late_ms: float | None

    @property
    def at_fault(self) -> int:
        """How many were wrong or missed."""
        return self.wrong + self.missed


@dataclass(frozen=True, slots=True)
class Steadiness:
    """Of right notes: middle lateness and spread (ms, 1.4826 times the middle distance from the trend), and the trend.

    `trend` is by what share the tempo fell over the round (negative: rushed).
    """

    late_ms: float
    spread_ms: float
    trend: float


@dataclass(frozen=True, slots=True)
class Trouble:
    """A place that goes wrong: the written bar, how often, in how many rounds of how many, and the commonest cause."""

    part: str
    bar: int
    times: int
    in_rounds: int
    rounds: int
    cause: str | None
    first: int
    last: int


def by_bar(marks: Marks, fingering: Fingering) -> dict[tuple[str, int], Tally]:
    """The marks by part and written bar, in order of playing; every turn of a part counts."""
    groups: dict[tuple[str, int], list[NoteMark]] = defaultdict(list)
    for mark in marks.notes:
        if mark.written is not None:
            note = fingering.notes[mark.written].note
            groups[note.part, note.bar].append(mark)
    return {key: _tally(group) for key, group in groups.items()}


def by_button(marks: Marks, fingering: Fingering) -> dict[Press, Tally]:
    """The marks by the press that was asked for."""
    groups: dict[Press, list[NoteMark]] = defaultdict(list)
    for mark in marks.notes:
        if mark.written is not None:
            groups[fingering.notes[mark.written].press].append(mark)
    return {key: _tally(group) for key, group in groups.items()}


def steadiness(marks: Marks, asked: Sequence[Asked], whole: float) -> Steadiness | None:
    """How steady a round was against the beat; `whole` is the seconds of a whole note. None under five right notes."""
    import numpy as np

    place = {note.index: note.at for note in asked}
    right = [(float(place[m.written]), m.late_ms) for m in marks.notes if _timed(m) and m.written in place]
    points = [(at, late) for at, late in right if late is not None]
    if len(points) < 5:
        return None
    at = np.array([p[0] for p in points])
    late = np.array([p[1] for p in points])
    slope, start = robust_line(at, late)
    spread = 1.4826 * float(np.median(np.abs(late - start - slope * at)))
    return Steadiness(float(np.median(late)), spread, slope / 1000.0 / whole)


def worst_three(rounds: Sequence[Marks], fingering: Fingering) -> tuple[Trouble, ...]:
    """The three bars most worth working on over several rounds, the worst first; fewer where fewer went wrong.

    Ordered by the number of rounds in which the bar went wrong, then by how often: what goes wrong each time is a
    habit, what went wrong once may be chance.
    """
    times: dict[tuple[str, int], int] = defaultdict(int)
    seen: dict[tuple[str, int], set[int]] = defaultdict(set)
    causes: dict[tuple[str, int], dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for number, marks in enumerate(rounds):
        for mark in marks.notes:
            if mark.written is None or mark.verdict not in (Verdict.WRONG, Verdict.MISSED):
                continue
            note = fingering.notes[mark.written].note
            key = (note.part, note.bar)
            times[key] += 1
            seen[key].add(number)
            for code in (mark.cause or "").split("+"):
                if code:
                    causes[key][code] += 1
    worst = sorted(times, key=lambda key: (-len(seen[key]), -times[key], key))[:3]
    found = []
    for part, bar in worst:
        inside = [k for k, f in enumerate(fingering.notes) if (f.note.part, f.note.bar, f.note.turn) == (part, bar, 1)]
        said = causes[part, bar]
        cause = max(said, key=lambda c: said[c]) if said else None
        key = (part, bar)
        first, last = (inside[0], inside[-1]) if inside else (0, 0)
        found.append(Trouble(part, bar, times[key], len(seen[key]), len(rounds), cause, first, last))
    return tuple(found)


def evenness(marks: Marks, asked: Sequence[Asked]) -> float | None:
    """The mean change of lateness from one right note to the next, in ms: small where steps are even."""
    order = {note.index: k for k, note in enumerate(asked)}
    late = {order[m.written]: m.late_ms for m in marks.notes if _timed(m) and m.written in order}
    changes = [abs(ms - late[k - 1]) for k, ms in late.items() if ms is not None and late.get(k - 1) is not None]  # type: ignore[operator]
    return fmean(changes) if changes else None


def _timed(mark: NoteMark) -> bool:
    return mark.verdict is Verdict.RIGHT and mark.late_ms is not None and mark.written is not None


def _tally(group: Sequence[NoteMark]) -> Tally:
    count = {verdict: sum(mark.verdict is verdict for mark in group) for verdict in Verdict}
    late = [mark.late_ms for mark in group if mark.verdict is Verdict.RIGHT and mark.late_ms is not None]
    return Tally(
        len(group),
        count[Verdict.RIGHT],
        count[Verdict.WRONG],
        count[Verdict.MISSED],
        median(late) if late else None,
    )
