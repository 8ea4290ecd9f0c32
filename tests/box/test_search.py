"""The parts of the search for a cheapest way, against enumeration; and bars made alike, on tunes made for it."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import pairwise, product

import pytest

from companion.box.alike_bars import cheapest_alike, way_cost
from companion.box.bellows import AirNote, plan_bellows
from companion.box.box_values import Fingering
from companion.box.choices import choices, table_of
from companion.box.fingering import bellows_of, cost_parts, finger_round
from companion.box.layout import load_box
from companion.box.pins import Pin
from companion.box.search import FORBIDDEN, Bounds, between, cheapest_ring, layers, narrowest, stepper, through, trace
from companion.tables import Tables
from tests.box.box_tunes import tune
from tests.shipped_tables import TABLES

BC = load_box("bc-21")
HAND = TABLES.hand
Matrices = list[list[list[int]]]


def some(rng: random.Random, widths: list[int], most: int = 9) -> Matrices:
    """Matrices of random costs between columns of these widths."""
    return [[[rng.randint(0, most) for _ in range(a)] for _ in range(b)] for a, b in pairwise(widths)]


def cost_of(matrices: Matrices, way: tuple[int, ...]) -> int:
    return sum(m[b][a] for m, (a, b) in zip(matrices, pairwise(way), strict=True))


def test_a_step_is_the_least_sum_into_each_state() -> None:
    assert stepper(1)([3], [[4], [0]]) == [7, 3]
    assert stepper(3)([3, 0, 5], [[1, 9, 0], [0, 0, 0], [9, 9, 1]]) == [4, 0, 6]


def test_what_is_reached_and_the_way_there_against_enumeration() -> None:
    rng = random.Random(11)
    for _ in range(60):
        widths = [rng.randint(1, 4) for _ in range(rng.randint(2, 5))]
        matrices = some(rng, widths)
        begin = [rng.randint(0, 5) for _ in range(widths[0])]
        reached = layers(matrices, begin)
        assert [len(costs) for costs in reached] == widths
        ways = {way: begin[way[0]] + cost_of(matrices, way) for way in product(*map(range, widths))}
        least = through(matrices)
        for last in range(widths[-1]):
            assert reached[-1][last] == min(cost for way, cost in ways.items() if way[-1] == last)
            path = [*trace(matrices, reached, last), last]
            assert begin[path[0]] + cost_of(matrices, tuple(path)) == reached[-1][last]
            for first in range(widths[0]):
                between_them = min(cost_of(matrices, w) for w in ways if (w[0], w[-1]) == (first, last))
                assert least[last][first] == between_them
                there = between(matrices, first, last)
                assert (there[0], there[-1]) == (first, last)
                assert cost_of(matrices, tuple(there)) == between_them


def test_the_ring_is_cut_at_the_first_of_the_narrowest_columns() -> None:
    rng = random.Random(1)
    assert narrowest(some(rng, [3, 2, 4, 2, 3])) == 1
    assert narrowest(some(rng, [1, 2, 1])) == 0


def test_a_ring_of_one_column_and_of_one_state() -> None:
    """One note, round and round: the cheapest state that goes into itself."""
    assert cheapest_ring([[[5, 0], [0, 3]]]) == (3, [1])
    assert cheapest_ring([[[7]]]) == (7, [0])
    assert cheapest_ring([[[2]], [[3]]]) == (5, [0, 0])


def test_of_equally_cheap_ways_the_first_state_at_the_cut_is_taken() -> None:
    assert cheapest_ring([[[0, 0], [0, 0]], [[0, 0], [0, 0]]]) == (0, [0, 0])


def test_a_way_that_is_cheap_but_does_not_close_is_not_taken() -> None:
    """From state 0 it costs nothing to get to 1, and as much as can be to get back."""
    there, back = [[9, 9], [0, 5]], [[100, 100], [8, 8]]
    assert cheapest_ring([there, back]) == (13, [1, 1])


def test_long_rings_against_the_plain_reckoning() -> None:
    """Fifty columns, from each state at the beginning by itself."""
    rng = random.Random(5)
    for _ in range(20):
        widths = [rng.randint(2, 6) for _ in range(50)]
        matrices = some(rng, [*widths, widths[0]], most=50)
        cost, path = cheapest_ring(matrices)
        every = through(matrices)
        assert cost == min(every[i][i] for i in range(widths[0]))
        assert cost_of(matrices, (*path, path[0])) == cost


def test_within_a_limit_every_way_is_kept_and_no_state_without_one() -> None:
    """No state is left that only ways dearer than the limit take, closed or not."""
    rng = random.Random(9)
    for _ in range(60):
        widths = [rng.randint(1, 4) for _ in range(rng.randint(1, 5))]
        matrices = some(rng, [*widths, widths[0]])
        cut = narrowest(matrices)
        limit = cheapest_ring(matrices)[0] + rng.randint(0, 6)
        _, kept = Bounds(matrices).narrowed(limit)
        # Ways need not close at the cut to be kept.
        turned, wide = matrices[cut:] + matrices[:cut], widths[cut:] + widths[:cut]
        ways = [w for w in product(*map(range, [*wide, wide[0]])) if cost_of(turned, w) <= limit]
        for column, states in enumerate(kept):
            place = (column - cut) % len(widths)
            reached = {way[place] for way in ways}
            if place == 0:
                reached &= {way[-1] for way in ways}
            assert set(states) == reached
            assert list(states) == sorted(states)


# Bars made alike


def fingers(found: Fingering, bar: int) -> tuple[object, ...]:
    return tuple((n.press, n.finger) for n in found.notes if n.note.bar == bar)


def with_same(same: float) -> Tables:
    """The shipped tables, with another price for bars of the same notes that are played alike."""
    return replace(TABLES, hand=replace(HAND, same=same))


def by_itself_and_alike(words: str, same: float = HAND.same) -> tuple[Fingering, Fingering]:
    round_ = tune(words)
    return finger_round(round_, BC, with_same(0.0)), finger_round(round_, BC, with_same(same))


BAR = "G4 E4 G4 B4"
ODD_ONE = f"{BAR} | C#5 B4 A4 B4 | {BAR} | G4 A4 G4 A4 | {BAR}"


def test_a_bar_is_made_alike_where_that_costs_less_than_it_may() -> None:
    alone, alike = by_itself_and_alike(ODD_ONE)
    assert len({fingers(alone, bar) for bar in (1, 3, 5)}) == 2
    assert len({fingers(alike, bar) for bar in (1, 3, 5)}) == 1
    dearer = alike.cost - alone.cost
    assert 0.0 < dearer <= HAND.same
    # Where it may cost less than that, it is left; and where it may cost just more, it is done.
    _, left = by_itself_and_alike(ODD_ONE, same=dearer - 0.001)
    assert left.cost == alone.cost
    _, done = by_itself_and_alike(ODD_ONE, same=dearer + 0.001)
    assert done.cost == alike.cost


def test_the_usual_fingering_is_that_of_most_bars() -> None:
    """And it is the odd one that is changed."""
    alone, alike = by_itself_and_alike(ODD_ONE)
    ways = [fingers(alone, bar) for bar in (1, 3, 5)]
    usual = max(ways, key=ways.count)
    assert {fingers(alike, bar) for bar in (1, 3, 5)} == {usual}


def test_bars_of_one_note_are_made_alike_too() -> None:
    words = "B4*4 | B4 D4 B4 F#5 | B4*4 | A5 E5 E5 E5 | B4*4 | A5 F#5"
    alone, alike = by_itself_and_alike(words)
    ways = {fingers(alone, bar) for bar in (1, 3, 5)}
    assert len(ways) > 1
    assert len({fingers(alike, bar) for bar in (1, 3, 5)}) == 1
    assert alone.cost < alike.cost <= alone.cost + HAND.same * (len(ways) - 1)


@pytest.mark.parametrize("other", ["G4*2 E4/2 G4/2 B4", "G4 E4 G4 B4*2"])
def test_bars_of_the_same_pitches_in_another_rhythm_are_others(other: str) -> None:
    words = f"{BAR} | C#5 B4 A4 B4 | {other} | G4 A4 G4 A4"
    alone, alike = by_itself_and_alike(words)
    assert alike.cost == alone.cost
    alone, alike = by_itself_and_alike(words.replace(other, BAR))
    assert len({fingers(alone, bar) for bar in (1, 3)}) == 2
    assert len({fingers(alike, bar) for bar in (1, 3)}) == 1


def test_bars_of_other_notes_are_never_made_alike() -> None:
    """However much that may cost."""
    alone, alike = by_itself_and_alike("G4 E4 G4 B4 | A5 G5 F#5 E5 | D4 E4 F#4 G4 | B5 A5 G5 D5", same=100.0)
    assert alike.cost == alone.cost


@pytest.mark.parametrize("same", [0, 250, 5000])
def test_the_cost_that_is_told_is_that_of_the_way(same: int) -> None:
    round_ = tune(ODD_ONE)
    ring = choices(round_, table_of(BC, HAND), ornaments=TABLES.ornaments)
    cost, path = cheapest_alike(round_.notes, ring, same)
    assert cost == way_cost(ring.matrices, path)
    assert cost_of([list(m) for m in ring.matrices], (*path, path[0])) == cost
    assert cost >= cheapest_ring(ring.matrices)[0]


def test_no_way_that_is_forbidden_is_cheap() -> None:
    """The dearest step there is costs far less than what stands for none."""
    ring = choices(tune(ODD_ONE), table_of(BC, HAND), ornaments=TABLES.ornaments)
    assert len(ring.matrices) * max(cost for m in ring.matrices for row in m for cost in row) < FORBIDDEN


# The fingering that is made of it


def test_the_parts_of_the_cost_are_those_of_each_note() -> None:
    round_ = tune("D4 E4 ~F#4 G4 | A4*16 E5 z B4/2 A4*16 | D4")
    found = finger_round(round_, BC, tables=TABLES)
    parts = cost_parts(round_, found, tables=TABLES)
    assert len(parts) == len(round_.notes)
    assert found.cost == pytest.approx(sum(round(part, 3) for note in parts for part in note.values()))
    dear = replace(HAND, turn=5.0)
    assert {p["turn"] for p in cost_parts(round_, found, replace(TABLES, hand=dear)) if "turn" in p} >= {5.0}
    with pytest.raises(ValueError, match="does not sound 62 from place 9"):
        cost_parts(round_, replace(found, notes=(replace(found.notes[0], place=9), *found.notes[1:])), tables=TABLES)


def as_played(found: Fingering) -> list[AirNote]:
    """The notes of the tune below for the bellows: after G there is a rest, and the phrases end with bars 2 and 3."""
    quavers, rests, ends = (8, 4, 4, 4, 8, 4), (0, 0, 4, 0, 0, 0), (3, 5)
    quaver = HAND.whole_note / 8
    return [
        AirNote(note.press.bellows, quavers[k] * quaver, rests[k] * quaver, k in ends)
        for k, note in enumerate(found.notes)
    ]


def test_the_openings_of_the_notes_are_those_of_the_bellows_at_ordinary_loudness() -> None:
    round_ = tune("A4*8 B4*4 | G4*4 z*4 E4*4 | D5*8 F#5*4")
    found = finger_round(round_, BC, tables=TABLES)
    plan = bellows_of(round_, found, tables=TABLES)
    assert tuple(note.opening for note in found.notes) == plan.openings
    assert plan == plan_bellows(as_played(found), TABLES.bellows)
    assert bellows_of(round_, found, dynamic="mf", tables=TABLES) == plan
    assert bellows_of(round_, found, dynamic="pp", tables=TABLES).openings != plan.openings
    assert bellows_of(tune("z*8"), finger_round(tune("z*8"), BC, tables=TABLES), tables=TABLES).openings == ()
    other = replace(TABLES.bellows, full=1.0)
    assert bellows_of(round_, found, replace(TABLES, bellows=other)) == plan_bellows(as_played(found), other) != plan
    slow = replace(HAND, whole_note=2 * HAND.whole_note)
    assert bellows_of(round_, found, replace(TABLES, hand=slow)).openings != plan.openings


def test_the_hand_that_is_given_is_the_one_that_plays() -> None:
    round_ = tune("D4 E4 F#4 G4 A4 B4 C#5 D5")
    dear = replace(HAND, turn=50.0)
    found = finger_round(round_, BC, replace(TABLES, hand=dear))
    parts = cost_parts(round_, found, replace(TABLES, hand=dear))
    assert found.cost > finger_round(round_, BC, tables=TABLES).cost
    assert found.cost == pytest.approx(sum(round(part, 3) for note in parts for part in note.values()))


def test_what_the_way_back_into_the_round_does_is_told_and_not_counted() -> None:
    """Low at the end, high at the beginning: the hand goes back up, and that is none of the round's own reaches."""
    found = finger_round(tune("A5 G5 A5 B5 A5 G5 D5 G5 || G4 F#4 E4 F#4 G4 F#4 E4 D4"), BC, tables=TABLES)
    places = [note.place for note in found.notes]
    assert found.back_reach == places[0] - places[-1] > 0
    assert [note.reach for note in found.notes] == [0, *(b - a for a, b in pairwise(places))]
    assert found.reaches == sum(b != a for a, b in pairwise(places))
    assert finger_round(tune("D4"), BC, pins=[Pin(0, finger=2)], tables=TABLES).back_reach == 0
