"""The fingering: milliseconds a tune over a whole folder, how it grows, and its search against a plain textbook one.

First what becomes of each tune: solved, or refused because the box lacks a note, and which most often; and how often a
finger hops or fingers cross in quick notes, beside the fewest that any fingering of these tunes has (found by the same
exact search with nothing else priced).

"whole" is all that `finger_round` does: what is open to the hand, the search, bars made alike, the bellows. "search" is
its exact search alone. It has two references: the search for the cheapest path as textbooks have it (Viterbi), in plain
Python, one pass for each state of the first note, to close the round; and Dijkstra's in SciPy, in C, over the same
round as a graph. All get the same costs, laid out beforehand, and have to find the same cost.

    python -m benchmarks box
"""

from __future__ import annotations

import random
import statistics
import sys
from collections import Counter
from collections.abc import Callable, Sequence
from fractions import Fraction
from pathlib import Path
from time import process_time
from typing import Any, TypeVar

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from benchmarks.table import Row, at_most, named
from companion.box.box_values import Box
from companion.box.choices import choices, table_of
from companion.box.fingering import cost_parts, finger_round
from companion.box.layout import box_names, load_box
from companion.box.pitch_names import name_of
from companion.box.search import Matrix, cheapest_ring
from companion.errors import UserError
from companion.notation import read_book
from companion.tables import Tables, read_tables
from companion.tune.tune_values import BarSpan, OnceThrough, Played
from companion.tune.unfold import unfold

T = TypeVar("T")
SAMPLE = 10  # every tenth tune is given to the references, every fifth is timed
GROWTH = (1_000, 10_000, 100_000)


def textbook(matrices: Sequence[Matrix]) -> int:
    """The least cost of a way round by the plain textbook search, in thousandths."""
    found = []
    for start in range(len(matrices[0][0])):
        costs = {start: 0}
        for matrix in matrices:
            reached: dict[int, int] = {}
            for j, into in enumerate(matrix):
                for i, cost in costs.items():
                    total = cost + into[i]
                    if j not in reached or total < reached[j]:
                        reached[j] = total
            costs = reached
        found.append(costs[start])
    return min(found)


def folder() -> list[OnceThrough]:
    """Every tune of music21's oneills1850 folder that can be played, unfolded."""
    import music21

    rounds = []
    for file in sorted((Path(music21.__file__).parent / "corpus" / "oneills1850").glob("*.abc")):
        for tune in read_book(file).tunes:
            try:
                round_ = unfold(tune)
            except UserError:
                continue
            if round_.notes:
                rounds.append(round_)
    return rounds


def wander(count: int) -> OnceThrough:
    """A tune of any length that wanders by small steps about a D scale (random)."""
    random_, scale = random.Random(1), [62, 64, 66, 67, 69, 71, 73, 74, 76, 78, 79, 81, 83]
    at, notes = 4, []
    for index in range(count):
        at = max(0, min(len(scale) - 1, at + random_.choice([-3, -2, -1, -1, 1, 1, 2, 3])))
        notes.append(Played(index, "A", 1, 1 + index // 8, Fraction(index, 8), Fraction(1, 8), scale[at]))
    bars = tuple(BarSpan(1 + k, "A", 1, Fraction(k), Fraction(1)) for k in range((count + 7) // 8))
    return OnceThrough(tuple(notes), bars, Fraction(count, 8), Fraction(0), "A")


def timed(work: Callable[[], T]) -> tuple[float, T]:
    """Milliseconds of processor time, and what came out."""
    begun = process_time()
    result = work()
    return 1000 * (process_time() - begun), result


def as_graph(matrices: Sequence[Matrix]) -> tuple[Any, int, int]:
    """A round as SciPy has graphs, each edge dearer by 1 (an edge of 0 is none); its first states, and all states."""
    widths = [len(matrix[0]) for matrix in matrices] + [len(matrices[-1])]
    first = np.concatenate([[0], np.cumsum(widths)])
    starts: list[int] = []
    ends: list[int] = []
    costs: list[int] = []
    for step, matrix in enumerate(matrices):
        for j, into in enumerate(matrix):
            starts += range(int(first[step]), int(first[step]) + len(into))
            ends += [int(first[step + 1]) + j] * len(into)
            costs += [cost + 1 for cost in into]
    count = int(first[-1])
    return csr_array((np.array(costs, float), (starts, ends)), shape=(count, count)), widths[0], count


def by_scipy(graph: Any, width: int, count: int, steps: int) -> int:
    """The least cost of a way round, by Dijkstra's search from each state of the first note."""
    distances = dijkstra(graph, indices=range(width))
    return int(min(distances[state, count - width + state] for state in range(width))) - steps


def searched(round_: OnceThrough, box: Box, tables: Tables) -> tuple[float, float, float]:
    """Milliseconds of our search, the textbook's and SciPy's."""
    matrices = choices(round_, table_of(box, tables.hand), tables.ornaments).matrices
    graph = as_graph(matrices)
    own, (cost, _) = timed(lambda: cheapest_ring(matrices))
    plain, same = timed(lambda: textbook(matrices))
    scipy, there = timed(lambda: by_scipy(*graph, len(matrices)))
    assert cost == same == there, (cost, same, there)
    return own, plain, scipy


def refusals(rounds: Sequence[OnceThrough], have: set[int]) -> str:
    """Which notes are missing most often, and in how many tunes."""
    missing = Counter(pitch for round_ in rounds for pitch in {note.pitch for note in round_.notes} - have)
    return ", ".join(f"{name_of(pitch)} {count}" for pitch, count in missing.most_common(4))


def hops(round_: OnceThrough, box: Box, tables: Tables) -> tuple[int, int]:
    """How often a finger hops or fingers cross in quick notes, and the fewest that any fingering has."""
    table = table_of(box, tables.hand)
    quick = [gap.seconds <= tables.hand.quick + 1e-9 for gap in choices(round_, table, tables.ornaments).gaps]
    parts = cost_parts(round_, finger_round(round_, box, tables), tables)
    found = sum(now and ("hop" in part or "cross" in part) for now, part in zip(quick, parts, strict=True))
    pitches = [note.pitch for note in round_.notes]
    ring = [
        [[int(now and (step.hop or step.cross)) for step in into] for into in table.steps(before, after)]
        for before, after, now in zip(pitches, [*pitches[1:], pitches[0]], [*quick[1:], quick[0]], strict=True)
    ]
    return found, cheapest_ring(ring)[0]


def outcomes(rounds: Sequence[OnceThrough], tables: Tables) -> None:
    """Prints what becomes of each tune on each box."""
    print(f"{'box':<8}{'solved':>7}{'refused':>9}  {'lacking (tunes)':<36}", end="")
    print(f"{'notes':>7}{'moves':>7}{'hops':>6}{'fewest':>8}")
    for name in box_names():
        box = load_box(name)
        have = set(table_of(box, tables.hand).states)
        solved = [r for r in rounds if {note.pitch for note in r.notes} <= have]
        found = [finger_round(r, box, tables) for r in solved[::SAMPLE]]
        notes, moves = sum(len(f.notes) for f in found), sum(f.reaches for f in found)
        counts = [hops(r, box, tables) for r in solved[::SAMPLE]]
        print(
            f"{name:<8}{len(solved):>7}{len(rounds) - len(solved):>9}  {refusals(rounds, have):<36}{notes:>7}{moves:>7}"
            f"{sum(one for one, _ in counts):>6}{sum(one for _, one in counts):>8}"
        )
    print(f"(notes, moves of the hand, hops and crossings: of every {SAMPLE}th tune)\n")


def main() -> list[Row]:
    """Measure, and print how the tunes come out and how the time grows."""
    tables, rounds = read_tables(), folder()
    outcomes(rounds, tables)
    print(f"{'box':<8}{'tunes':>7}{'mean ms':>9}{'median':>8}{'worst':>8}")
    whole: list[float] = []
    searches: list[tuple[float, float, float]] = []
    means = []
    for name in box_names():
        box = load_box(name)
        have = set(table_of(box, tables.hand).states)
        solved = [r for r in rounds if {note.pitch for note in r.notes} <= have][:: SAMPLE // 2]
        times = [timed(lambda r=r, box=box: finger_round(r, box, tables))[0] for r in solved]  # type: ignore[misc]
        searches += [searched(r, box, tables) for r in solved[::2]]
        whole += times
        means.append(statistics.mean(times))
        print(f"{name:<8}{len(times):>7}{means[-1]:>9.2f}{statistics.median(times):>8.2f}{max(times):>8.1f}")
    grown()
    own, plain, scipy = (list(one) for one in zip(*searches, strict=True))
    dijkstra_, book = f"Dijkstra, {named('scipy')}", f"Viterbi, plain Python {sys.version.split()[0]}"
    limit = at_most(10, statistics.mean(means), "mean of the boxes")
    return [
        Row("a tune fingered, 6 boxes", "ms", whole, f"{dijkstra_} (search only)", scipy, "tunes", limit),
        Row("  its search alone", "ms", own, dijkstra_, scipy, "tunes"),
        Row("  its search alone", "ms", own, book, plain, "tunes"),
    ]


def grown() -> None:
    """Prints how long one tune of n notes takes."""
    print(f"\none tune of n notes on bc-21\n{'n':>8}{'whole ms':>10}{'µs a note':>11}{'search ms':>11}{'textbook':>10}")
    box, tables = load_box("bc-21"), read_tables()
    for count in GROWTH:
        round_ = wander(count)
        took, _ = timed(lambda round_=round_: finger_round(round_, box, tables))  # type: ignore[misc]
        matrices = choices(round_, table_of(box, tables.hand), tables.ornaments).matrices
        own, (cost, _) = timed(lambda matrices=matrices: cheapest_ring(matrices))  # type: ignore[misc]
        plain, same = timed(lambda matrices=matrices: textbook(matrices))  # type: ignore[misc]
        assert cost == same
        print(f"{count:>8}{took:>10.1f}{1000 * took / count:>11.1f}{own:>11.1f}{plain:>10.1f}")
