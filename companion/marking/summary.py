"""What the marks say as a whole: by bar, join and button, how steady, and over several rounds what to work on most."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import fmean, median

from companion.box.box_values import Fingering, Press
from companion.lesson.lesson_values import Kind, Piece
from companion.marking.cause_table import CAUSES
from companion.marking.chances import robust_line
from companion.marking.mark_values import Asked, Marks, NoteMark, Verdict
from companion.tune.part_bars import Bar, bars_of
from companion.tune.tune_values import OnceThrough


@dataclass(frozen=True, slots=True)
class Tally:
    """Counts over some notes, and their middle lateness in ms (None with no clock, or where none was right).

    `notes` are those that could be judged; `unsure` ones come on top.
    """

    notes: int
    right: int
    wrong: int
    missed: int
    late_ms: float | None
    unsure: int = 0

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
    """A place that goes wrong: the bar, how often, in how many of the rounds that hold it, the commonest cause.

    `first` and `last` are the bar's notes in the round, `at` the note that went wrong most often, as it stands in the
    round for the first time.
    """

    bar: Bar
    times: int
    in_rounds: int
    rounds: int
    cause: str | None
    first: int
    last: int
    at: int


# Of the notes that were asked for and those that came besides, this share at least must belong together, right or
# wrong, for it to be the tune. Simulated, 150 pairs of tunes of music21's corpus: all takes of another tune lie below
# it, and none of a player who gets half of the notes wrong, or leaves out and adds a quarter of them; of players who
# begin again at every thirtieth note, 4.
_SAME_TUNE = 0.42
_FEW = 12  # notes that say nothing either way


def is_another(marks: Marks, round_: OnceThrough) -> bool:
    """Whether a take does not sound like the tune that it is held against, as far as it goes."""
    seen, _ = as_far_as_played(marks, round_)
    count = {verdict: sum(note.verdict is verdict for note in seen.notes) for verdict in Verdict}
    together = count[Verdict.RIGHT] + count[Verdict.WRONG]
    besides = count[Verdict.MISSED] + count[Verdict.EXTRA]
    came = sum(_came(note) for note in marks.notes)
    return came >= _FEW and together < _SAME_TUNE * (together + besides)


def as_far_as_played(marks: Marks, round_: OnceThrough) -> tuple[Marks, tuple[int, int] | None]:
    """Marks without the whole bars before the first note that came and after the last: a take of one part of the round.

    Returns
    -------
    The marks, and the first and the last note of the round that they are of; None where they are all there were.
    """
    bars = bars_of(round_)
    asked = sorted(mark.written for mark in marks.notes if mark.written is not None)
    came = [mark.written for mark in marks.notes if mark.written is not None and _came(mark)]
    if not came:
        return marks, None
    first, last = asked.index(min(came)), asked.index(max(came))
    while first and _one_bar(asked[first - 1], asked[first], bars, round_):
        first -= 1
    while last + 1 < len(asked) and _one_bar(asked[last], asked[last + 1], bars, round_):
        last += 1
    if (first, last) == (0, len(asked) - 1):
        return marks, None
    kept = asked[first : last + 1]
    notes = tuple(mark for mark in marks.notes if mark.written is None or kept[0] <= mark.written <= kept[-1])
    return replace(marks, notes=notes), (kept[0], kept[-1])


def _came(mark: NoteMark) -> bool:
    """Whether anything was heard for a note."""
    return mark.verdict is not Verdict.MISSED and not (mark.verdict is Verdict.UNSURE and mark.heard is None)


def _one_bar(first: int, second: int, bars: Sequence[Bar], round_: OnceThrough) -> bool:
    """Whether two notes that follow each other lie in one bar, at one time through its part."""
    return bars[first] == bars[second] and round_.notes[first].turn == round_.notes[second].turn


def by_bar(marks: Marks, bars: Sequence[Bar]) -> dict[Bar, Tally]:
    """The marks by bar (`bars` has that of each note of the round), in order of playing; every turn counts."""
    groups: dict[Bar, list[NoteMark]] = defaultdict(list)
    for mark in marks.notes:
        if mark.written is not None:
            groups[bars[mark.written]].append(mark)
    return {bar: _tally(group) for bar, group in groups.items()}


def by_join(marks: Marks, pieces: Sequence[Piece]) -> dict[str, Tally]:
    """The marks by the joins among `pieces`, by their names."""
    found = {}
    for piece in pieces:
        if piece.kind is Kind.JOIN:
            group = [mark for mark in marks.notes if mark.written is not None and _inside(mark.written, piece)]
            found[piece.name] = _tally(group)
    return found


def practised_by(trouble: Trouble, pieces: Sequence[Piece]) -> Piece:
    """The piece that practises what goes wrong: a join where the hand has to find its place, else the bar.

    Raises
    ------
    ValueError
        Where no piece holds the note.
    """
    at_join = trouble.cause is not None and CAUSES[trouble.cause].join
    kinds = (Kind.JOIN, Kind.BAR) if at_join else (Kind.BAR, Kind.PHRASE)
    for kind in (*kinds, *Kind):
        for piece in pieces:
            if piece.kind is kind and _inside(trouble.at, piece):
                return piece
    raise ValueError(f"no piece holds note {trouble.at}")


def _inside(note: int, piece: Piece) -> bool:
    """Whether a note of the round lies in a piece; a join may go round."""
    if piece.first <= piece.last:
        return piece.first <= note <= piece.last
    return note >= piece.first or note <= piece.last


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


def worst_three(rounds: Sequence[Marks], round_: OnceThrough) -> tuple[Trouble, ...]:
    """The three bars most worth working on over several rounds, the worst first; fewer where fewer went wrong.

    Ordered by the number of rounds in which the bar went wrong, then by how often: what goes wrong each time is a
    habit, what went wrong once may be chance. A right note at the wrong time counts where its cause is known, and half
    as much as a wrong one.
    """
    bars = bars_of(round_)
    order = {bar: place for place, bar in enumerate(dict.fromkeys(bars))}
    weights: dict[Bar, float] = defaultdict(float)
    times: dict[Bar, int] = defaultdict(int)
    seen: dict[Bar, set[int]] = defaultdict(set)
    causes: dict[Bar, Counter[str]] = defaultdict(Counter)
    at: dict[Bar, Counter[int]] = defaultdict(Counter)
    holding: dict[Bar, set[int]] = defaultdict(set)
    first_time: dict[int, int] = {}
    for k, note in enumerate(round_.notes):
        first_time.setdefault(note.written, k)
    for number, marks in enumerate(rounds):
        for mark in marks.notes:
            if mark.written is None:
                continue
            note, key = round_.notes[mark.written], bars[mark.written]
            holding[key].add(number)
            if mark.verdict is Verdict.UNSURE or not (_at_fault(mark) or mark.cause):
                continue
            weights[key] += 1.0 if _at_fault(mark) else 0.5
            times[key] += 1
            seen[key].add(number)
            at[key][first_time[note.written]] += 1
            causes[key].update(code for code in (mark.cause or "").split("+") if code)
    worst = sorted(times, key=lambda key: (-len(seen[key]), -weights[key], order[key]))[:3]
    found = []
    for key in worst:
        first = bars.index(key)
        turn = round_.notes[first].turn
        last = max(k for k, bar in enumerate(bars) if bar == key and round_.notes[k].turn == turn)
        cause = causes[key].most_common(1)[0][0] if causes[key] else None
        often = at[key].most_common(1)[0][0]
        found.append(Trouble(key, times[key], len(seen[key]), len(holding[key]), cause, first, last, often))
    return tuple(found)


def _at_fault(mark: NoteMark) -> bool:
    return mark.verdict in (Verdict.WRONG, Verdict.MISSED)


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
        len(group) - count[Verdict.UNSURE],
        count[Verdict.RIGHT],
        count[Verdict.WRONG],
        count[Verdict.MISSED],
        median(late) if late else None,
        count[Verdict.UNSURE],
    )
