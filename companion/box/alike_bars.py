"""The same bar fingered the same way each time: a learner then has one thing to learn, not two.

Bars of the same notes are one group, and every bar that is not fingered as most of its group is charged `Hand.same`:
what is looked for is the way round that is cheapest with these charges. From the cheapest way of all, it is made better
by three kinds of step, for as long as each helps:

- a run of bars is played as the same run is elsewhere (so whole turns of a part become alike);
- a group's usual fingering becomes the one that costs least for all its bars, each with what lies around it;
- a group is held to one fingering while all others are free, and these then settle around it.

Between the steps the search over whole bars is exact, the usual fingerings being held. So the result is never dearer
than the cheapest fingering by more than `Hand.same` for each bar made alike.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from companion.box.choices import Choices
from companion.box.search import FORBIDDEN, Bounds, Matrix, Path
from companion.tune.tune_values import Played

Costs = NDArray[np.int64]  # (states before, states after), or (states,)
Way = tuple[int, ...]  # the state of each note of a bar
_Key = tuple[tuple[int, ...], int]
_Least = dict[int, Costs]  # by bar
_MOST_TURNS, _MOST_TRIES, _MOST_HELD = 2, 6, 2  # more make no bar more alike on 60 tunes


class _RoundBar(NamedTuple):
    """A bar of the round: notes `first` to `last`, and the number of its group (bars of the same notes)."""

    first: int
    last: int
    group: int


def cheapest_alike(notes: Sequence[Played], ring: Choices, same: int) -> tuple[int, Path]:
    """A cheap way round, with bars made alike where that costs no more than `same` thousandths each.

    Returns
    -------
    The cost without what `same` adds, and the state of each note.
    """
    cost, way = Bounds(ring.matrices).cheapest()
    bars = _bars(notes, ring)
    if same and _usual(bars, way)[1]:
        way = _BarSearch(ring.matrices, bars, same).alike(way)
        cost = way_cost(ring.matrices, way)
    return cost, way


def way_cost(matrices: Sequence[Matrix], path: Path) -> int:
    """The cost of a given way round."""
    return sum(matrix[path[(k + 1) % len(path)]][path[k]] for k, matrix in enumerate(matrices))


def _bars(notes: Sequence[Played], ring: Choices) -> list[_RoundBar]:
    """The bars, each with its group: the same pitches, spaces between them, last length and open states."""
    edges = [0]
    for index in range(1, len(notes)):
        a, b = notes[index - 1], notes[index]
        if a.bar != b.bar or a.turn != b.turn or a.part != b.part:
            edges.append(index)
    edges.append(len(notes))
    groups: dict[tuple[object, ...], int] = {}
    bars = []
    for first, after in pairwise(edges):
        key = (
            tuple([id(column) for column in ring.columns[first:after]]),
            tuple([gap.seconds for gap in ring.gaps[first + 1 : after]]),
            ring.times.seconds(ring.times.lengths[after - 1]),
        )
        bars.append(_RoundBar(first, after - 1, groups.setdefault(key, len(groups))))
    return bars


def _runs(bars: Sequence[_RoundBar]) -> list[tuple[int, int, int]]:
    """Bars that follow each other twice: (first, first the other time, how many), each run as long as it can be."""
    groups = [bar.group for bar in bars]
    found = []
    for apart in range(1, len(groups)):
        begun = 0
        for at in range(len(groups) - apart + 1):
            if at < len(groups) - apart and groups[at] == groups[at + apart]:
                continue
            if at > begun:
                found.append((begun, begun + apart, at - begun))
            begun = at + 1
    return found


def _usual(bars: Sequence[_RoundBar], way: Path) -> tuple[dict[int, Way], Counter[int]]:
    """The fingering that most bars of each group have, and for each group how many of its bars have another one."""
    counts: dict[int, Counter[Way]] = {}
    for bar in bars:
        counts.setdefault(bar.group, Counter())[tuple(way[bar.first : bar.last + 1])] += 1
    usual: dict[int, Way] = {}
    odd: Counter[int] = Counter()
    for group, counter in counts.items():
        usual[group], most = counter.most_common(1)[0]
        if counter.total() > most:
            odd[group] = counter.total() - most
    return usual, odd


@dataclass(frozen=True, slots=True)
class _Settled:
    """The cheapest way round with the usual fingerings held, what it costs, and what each bar then costs."""

    usual: Mapping[int, Way]
    total: int
    way: Path
    costs: Sequence[Costs]


class _BarSearch:
    """The search over whole bars: what a bar costs inside is worked out once for each of its pairs of ends."""

    def __init__(self, matrices: Sequence[Matrix], bars: Sequence[_RoundBar], same: int) -> None:
        self._same, self._bars, self._matrices = same, bars, matrices
        known: dict[int, Costs] = {}
        for matrix in matrices:
            if id(matrix) not in known:
                known[id(matrix)] = np.array(matrix, np.int64).T
        self._steps = [known[id(matrix)] for matrix in matrices]
        self._joins = [self._steps[bar.last] for bar in bars]
        self._keys = [(tuple(map(id, matrices[bar.first : bar.last])), len(matrices[bar.first][0])) for bar in bars]
        self._through: dict[_Key, Costs] = {}
        self._of_group: dict[int, list[int]] = {}
        for number, (bar, key) in enumerate(zip(bars, self._keys, strict=True)):
            self._of_group.setdefault(bar.group, []).append(number)
            if key not in self._through:
                self._through[key] = _through(self._steps[bar.first : bar.last], key[1])
        # Cut open where a bar begins with the fewest states.
        widths = [key[1] for key in self._keys]
        cut = widths.index(min(widths))
        self._order = [*range(cut, len(bars)), *range(cut)]
        self._ways: dict[tuple[_Key, int, int], Way] = {}
        self._runs = [pair for a, b, n in _runs(bars) for pair in ((a, b, n), (b, a, n))]

    def alike(self, way: Path) -> Path:
        """The way made better by what bars alike save."""
        best, way = self._settled(way)
        tried: set[int] = set()
        while len(tried) < _MOST_HELD:
            group = next((one for one in _usual(self._bars, way)[1] if one not in tried), None)
            if group is None:
                break
            tried.add(group)
            total, other = self._settled(self._held(group, way))
            if total < best:
                best, way = total, other
        return way

    def _settled(self, way: Path) -> tuple[int, Path]:
        """What the first two kinds of step make of a way, and what that costs, charges and all."""
        for turn in range(_MOST_TURNS):
            copied = self._copied(way)
            if turn and copied == way:
                break
            way = copied
            usual, odd = _usual(self._bars, way)
            if not odd:
                break
            way = self._better(self._solve(usual), set(odd))
        return self._total(way), way

    def _total(self, way: Path) -> int:
        return way_cost(self._matrices, way) + self._same * _usual(self._bars, way)[1].total()

    def _better(self, now: _Settled, odd: set[int]) -> Path:
        """What comes of other usual fingerings for the groups of `odd`."""
        around: tuple[_Least, _Least] | None = None
        for _ in range(_MOST_TRIES):
            odd &= set(_usual(self._bars, now.way)[1])
            if not odd:
                break
            group = max(odd, key=lambda one: (len(self._of_group[one]), -one))
            odd.discard(group)
            if around is None:
                around = self._reached(now.costs, now.way)
            own = self._for_all(group, *around)
            if own == now.usual[group]:
                continue
            other = self._solve(dict(now.usual) | {group: own})
            if other.total < now.total:
                usual = _usual(self._bars, other.way)[0]
                now, around = other if usual == other.usual else self._solve(usual), None
        return now.way

    def _copied(self, way: Path) -> Path:
        """The way with runs of bars played as they are the other time, wherever the whole gets better."""
        parts = [tuple(way[bar.first : bar.last + 1]) for bar in self._bars]
        counts: dict[int, Counter[Way]] = {}
        for bar, part in zip(self._bars, parts, strict=True):
            counts.setdefault(bar.group, Counter())[part] += 1
        while True:
            gains = [
                (self._gain(parts, counts, *run), run)
                for run in self._runs
                if any(parts[run[0] + k] != parts[run[1] + k] for k in range(run[2]))
            ]
            best, (source, goal, length) = max(gains, default=(0, (0, 0, 0)), key=lambda one: one[0])
            if best <= 0:
                return [state for part in parts for state in part]
            for k, part in enumerate(parts[source : source + length]):
                counter = counts[self._bars[goal + k].group]
                counter[parts[goal + k]] -= 1
                counter[part] += 1
                parts[goal + k] = part

    def _gain(
        self, parts: Sequence[Way], counts: Mapping[int, Counter[Way]], source: int, goal: int, length: int
    ) -> int:
        """What is saved where the bars from `goal` on are played as those from `source` on."""
        old = [parts[goal - 1], *parts[goal : goal + length], parts[(goal + length) % len(parts)]]
        new = [old[0], *parts[source : source + length], old[-1]]
        saved = 0
        moved: dict[int, Counter[Way]] = {}
        for number, was, becomes in zip(range(goal, goal + length), old[1:], new[1:], strict=False):
            if was != becomes:
                counter = moved.setdefault(self._bars[number].group, Counter())
                counter[was] -= 1
                counter[becomes] += 1
                saved += self._inside(number, was) - self._inside(number, becomes)
        for group, change in moved.items():
            after = max(count + change[part] for part, count in counts[group].items())
            saved += self._same * (after - max(counts[group].values()))
        for number, (a, b), (c, d) in zip(range(goal - 1, goal + length), pairwise(old), pairwise(new), strict=True):
            join = self._matrices[self._bars[number].last]
            saved += join[b[0]][a[-1]] - join[d[0]][c[-1]]
        return saved

    def _inside(self, number: int, part: Way) -> int:
        """What a bar costs inside, played in a given way."""
        steps = self._matrices[self._bars[number].first :]
        return sum(matrix[b][a] for matrix, (a, b) in zip(steps, pairwise(part), strict=False))

    def _for_all(self, group: int, before: _Least, onward: _Least) -> Way:
        """The fingering that costs least for all bars of a group, each with what comes before and after it."""
        numbers = self._of_group[group]
        summed: Costs = np.zeros_like(self._through[self._keys[numbers[0]]])
        for number in numbers:
            costs = before[number][:, None] + self._through[self._keys[number]] + onward[number][None, :]
            summed += np.minimum(costs - costs.min(), self._same)  # no bar counts for more than its charge
        first, last = divmod(int(summed.argmin()), summed.shape[1])
        bar = self._bars[numbers[0]]
        return _between(self._steps[bar.first : bar.last], first, last)

    def _held(self, group: int, way: Path) -> Path:
        """The cheapest way on which all bars of a group are played alike, however the others are."""
        free = [self._through[key] for key in self._keys]
        before, onward = self._reached(free, way)
        numbers = self._of_group[group]
        summed: Costs = np.zeros_like(free[numbers[0]])
        for number in numbers:
            summed += before[number][:, None] + free[number] + onward[number][None, :]
        first, last = divmod(int(summed.argmin()), summed.shape[1])
        for number in numbers:
            only: Costs = np.full_like(free[number], FORBIDDEN)
            only[first, last] = free[number][first, last]
            free[number] = only
        return self._traced(free, {})[1]

    def _solve(self, usual: Mapping[int, Way]) -> _Settled:
        """The cheapest way round, each bar that is not as usual being charged for it."""
        charged: list[Costs] = []
        known: dict[tuple[int, _Key], Costs] = {}
        for number, (bar, key) in enumerate(zip(self._bars, self._keys, strict=True)):
            costs = known.get((bar.group, key))
            if costs is None:
                own = usual[bar.group]
                costs = known[bar.group, key] = self._through[key] + self._same
                costs[own[0], own[-1]] = min(int(costs[own[0], own[-1]]), self._inside(number, own))
            charged.append(costs)
        return _Settled(usual, *self._traced(charged, usual), charged)

    def _traced(self, costs: Sequence[Costs], usual: Mapping[int, Way]) -> tuple[int, Path]:
        """The cheapest way round over given costs of the bars, and what it costs; bars are as usual where they can."""
        width = self._keys[self._order[0]][1]
        total, way = self._trace(costs, usual, np.zeros(width, np.int64))
        if way is None:  # the cheapest way from anywhere does not close
            reached: Costs = np.where(np.eye(width, dtype=bool), 0, FORBIDDEN)
            for number in self._order:
                reached = _then(_then(reached, costs[number]), self._joins[number])
            start = int(reached.diagonal().argmin())
            total, way = self._trace(costs, usual, np.where(np.arange(width) == start, 0, FORBIDDEN), start)
            assert way is not None
        return total, way

    def _trace(
        self, costs: Sequence[Costs], usual: Mapping[int, Way], begin: Costs, end: int | None = None
    ) -> tuple[int, Path | None]:
        """The cheapest way from where it may begin, to a given state or to any; no way where it does not close."""
        reached, inside = [], []
        for number in self._order:
            reached.append(begin)
            inside.append((begin[:, None] + costs[number]).min(0))
            begin = (inside[-1][:, None] + self._joins[number]).min(0)
        ends = [end] if end is not None else np.flatnonzero(begin == begin.min())
        for end in map(int, ends):
            state = end
            pairs = []
            for place in range(len(self._order) - 1, -1, -1):
                number = self._order[place]
                last = int((inside[place] + self._joins[number][:, state]).argmin())
                state = int((reached[place] + costs[number][:, last]).argmin())
                pairs.append((number, state, last))
            if state == end:
                parts = {n: self._part(n, first, last, usual, costs[n]) for n, first, last in pairs}
                return int(begin[end]), [state for n in range(len(parts)) for state in parts[n]]
        return int(begin.min()), None

    def _part(self, number: int, first: int, last: int, usual: Mapping[int, Way], costs: Costs) -> Way:
        """The states of a bar between two ends: as usual where that is what they cost, else the cheapest."""
        bar = self._bars[number]
        own = usual.get(bar.group)
        if own is not None and (first, last) == (own[0], own[-1]) and costs[first, last] == self._inside(number, own):
            return own
        key = (self._keys[number], first, last)
        if key not in self._ways:
            self._ways[key] = _between(self._steps[bar.first : bar.last], first, last)
        return self._ways[key]

    def _reached(self, costs: Sequence[Costs], way: Path) -> tuple[_Least, _Least]:
        """For each bar the least cost of reaching each state of its first note, and of going on from each of its last.

        On ways that begin and end, where the ring is cut, in the state that `way` has there.
        """
        before: _Least = {}
        onward: _Least = {}
        start = way[self._bars[self._order[0]].first]
        begin: Costs = np.full(self._keys[self._order[0]][1], FORBIDDEN, np.int64)
        begin[start] = 0
        here = begin
        for number in self._order:
            before[number] = here
            here = ((here[:, None] + costs[number]).min(0)[:, None] + self._joins[number]).min(0)
        here = begin
        for number in reversed(self._order):
            onward[number] = (self._joins[number] + here).min(1)
            here = (costs[number] + onward[number]).min(1)
        return before, onward


def _then(costs: Costs, step: Costs) -> Costs:
    """The least costs through two steps, one after the other."""
    least: Costs = (costs[:, :, None] + step[None, :, :]).min(1)
    return least


def _through(steps: Sequence[Costs], width: int) -> Costs:
    """The least costs from each state of a bar's first note to each of its last; `width` is how many the first has."""
    if not steps:  # a bar of one note: its first state is its last
        stand: Costs = np.full((width, width), FORBIDDEN, np.int64)
        np.fill_diagonal(stand, 0)
        return stand
    costs = steps[0]
    for step in steps[1:]:
        costs = _then(costs, step)
    return costs


def _between(steps: Sequence[Costs], first: int, last: int) -> Way:
    """The cheapest way from a state of a bar's first note to one of its last, both included."""
    if not steps:
        return (first,)
    reached = [steps[0][first]]
    for step in steps[1:]:
        reached.append((reached[-1][:, None] + step).min(0))
    way = [last]
    for step, costs in zip(reversed(steps[1:]), reversed(reached[:-1]), strict=True):
        way.append(int((costs + step[:, way[-1]]).argmin()))
    return (first, *way[::-1])
