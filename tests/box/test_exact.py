"""The search against exhaustive enumeration, and what holds of every fingering whatever the tune (by hypothesis)."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.box.box_values import Bellows, Box, Fingering, Press, Row
from companion.box.choices import table_of
from companion.box.fingering import Pin, cost_parts, finger_round
from companion.box.layout import box_names, load_box
from companion.box.search import Bounds, cheapest_ring
from companion.tune.tune_values import BarSpan, OnceThrough, Played
from tests.box import every_way
from tests.shipped_tables import TABLES

BOXES = ["bc-21", "bc-23", "csd-21", "csd-23", "dg-21", "d-10"]
LENGTHS = [Fraction(1, 16), Fraction(1, 8), Fraction(1, 4), Fraction(3, 8), Fraction(1, 2)]
HAND = TABLES.hand
MOST_WAYS = 20_000_000  # that an enumeration adds up


def a_round(
    notes: list[tuple[int, Fraction, bool]], bar: Fraction = Fraction(1, 2), rests: bool = False
) -> OnceThrough:
    """A round of (pitch, length, ornamented), barred evenly; with `rests`, one of a quaver before every third note."""
    played, at = [], Fraction(0)
    for index, (pitch, length, ornamented) in enumerate(notes):
        if rests and index % 3 == 2:
            at += Fraction(1, 8)
        ornaments = ("roll",) if ornamented else ()
        played.append(Played(index, "A", 1, 1 + int(at / bar), at, length, pitch, ornaments))
        at += length
    bars = tuple(BarSpan(1 + k, "A", 1, k * bar, bar) for k in range(int(at / bar) + 1))
    return OnceThrough(tuple(played), bars, at, Fraction(0), "A")


@lru_cache
def pitches(box: Box) -> tuple[int, ...]:
    return tuple(sorted(table_of(box, HAND).states))


def random_round(box: Box, count: int, random_: random.Random) -> OnceThrough:
    """A tune that moves as tunes do, mostly by small steps within the box (random input)."""
    have = pitches(box)
    at = random_.randrange(len(have))
    notes = []
    for _ in range(count):
        at = max(0, min(len(have) - 1, at + random_.choice([-7, -4, -3, -2, -1, 0, 0, 1, 2, 3, 4, 7])))
        notes.append((have[at], random_.choice(LENGTHS), random_.random() < 0.2))
    return a_round(notes, rests=random_.random() < 0.3)


@pytest.mark.parametrize("lean", [HAND.lean, 0.07])
@pytest.mark.parametrize("name", BOXES)
def test_as_cheap_as_the_cheapest_of_all_there_are(name: str, lean: float) -> None:
    """Random tunes of one to eight notes, the way back into the next round included; also where a lean costs."""
    box, random_ = load_box(name), random.Random(f"exact {name} {lean}")
    exact = replace(HAND, same=0.0, lean=lean)
    done = dict.fromkeys(range(1, 9), 0)
    while any(times < (8 if count < 7 else 9 - count) for count, times in done.items()):
        count = min(done, key=lambda c: (done[c], c))
        round_ = random_round(box, count, random_)
        if every_way.how_many(round_, box) > MOST_WAYS:
            continue
        done[count] += 1
        found = finger_round(round_, box, replace(TABLES, hand=exact))
        assert round(1000 * found.cost) == every_way.cheapest(round_, box, exact)
        played = zip(round_.notes, found.notes, strict=True)
        ways = [(n.press.row, n.press.button, n.press.bellows is Bellows.PULL, n.finger, n.place) for _, n in played]
        every = [every_way.ways(box, note.pitch) for note in round_.notes]
        assert all(
            way in [(w.row, w.button, w.pull, w.finger, w.place) for w in e] for way, e in zip(ways, every, strict=True)
        )


@pytest.mark.parametrize("name", BOXES)
def test_making_bars_alike_costs_what_it_may(name: str) -> None:
    """With bars made alike, a fingering is never dearer than the cheapest by more than `same` a bar."""
    box, random_ = load_box(name), random.Random(f"alike {name}")
    exact = replace(HAND, same=0.0)
    for _ in range(20):
        one = random_round(box, random_.randint(2, 5), random_)
        other = random_round(box, 3, random_)
        notes = [(n.pitch, n.length, bool(n.ornaments)) for r in (one, other, one, one) for n in r.notes]
        round_ = a_round(notes, bar=one.length)
        least = finger_round(round_, box, replace(TABLES, hand=exact)).cost
        found = finger_round(round_, box, TABLES).cost
        assert least <= found + 1e-9
        assert found <= least + HAND.same * len({n.bar for n in round_.notes}) + 1e-9


def test_the_ring_against_enumeration_on_random_matrices() -> None:
    """Rings of columns of one to five states with random costs, many of them equal."""
    random_ = random.Random(4)
    for _ in range(300):
        widths = [random_.randint(1, 5) for _ in range(random_.randint(1, 6))]
        matrices = [
            [[random_.randint(0, 9) for _ in range(a)] for _ in range(b)] for a, b in pairwise([*widths, widths[0]])
        ]
        cost, path = cheapest_ring(matrices)
        closed = [*path, path[0]]
        assert cost == sum(m[closed[k + 1]][closed[k]] for k, m in enumerate(matrices))
        ways = {}
        for way in product(*map(range, widths)):
            round_way = [*way, way[0]]
            ways[way] = sum(m[round_way[k + 1]][round_way[k]] for k, m in enumerate(matrices))
        assert cost == min(ways.values())
        limit = cost + random_.randint(0, 12)
        narrow, kept = Bounds(matrices).narrowed(limit)
        for way, value in ways.items():
            assert value > limit or all(state in states for state, states in zip(way, kept, strict=True))
        for k, matrix in enumerate(narrow):
            after = kept[(k + 1) % len(kept)]
            assert matrix == [[matrices[k][j][i] for i in kept[k]] for j in after]


tunes = st.lists(st.tuples(st.integers(0, 200), st.sampled_from(LENGTHS), st.booleans()), min_size=1, max_size=40)


def on_box(notes: list[tuple[int, Fraction, bool]], box: Box) -> OnceThrough:
    have = pitches(box)
    return a_round([(have[index % len(have)], length, ornament) for index, length, ornament in notes])


@settings(max_examples=60, deadline=None)
@given(tunes, st.sampled_from(BOXES))
def test_no_result_breaks_the_layout_and_every_part_is_as_the_table_says(
    notes: list[tuple[int, Fraction, bool]], name: str
) -> None:
    box = load_box(name)
    round_ = on_box(notes, box)
    found = finger_round(round_, box, tables=TABLES)
    assert [note.note for note in found.notes] == list(round_.notes)
    for note in found.notes:
        assert box.pitch(note.press) == note.note.pitch
        assert 0 <= note.opening <= 1
    parts = cost_parts(round_, found, tables=TABLES)
    assert set().union(*parts) <= set(HAND.__slots__)
    assert found.cost == pytest.approx(sum(round(part, 3) for note in parts for part in note.values()), abs=1e-9)
    for note, part in zip(found.notes, parts, strict=True):
        assert part.get("little", 0) == (HAND.little if note.finger == 4 else 0)
        assert part.get("ring", 0) == (HAND.ring if note.finger == 3 else 0)
        assert part.get("little_ornament", 0) == (
            HAND.little_ornament if note.finger == 4 and note.note.ornaments else 0
        )
        assert part.get("untapped", 0) == (HAND.untapped if note.finger == 1 and note.note.ornaments else 0)
        assert part.get("side", 0) == (HAND.side if box.home not in ("", note.press.row) else 0)
    for before, note, part in zip((found.notes[-1], *found.notes), found.notes, parts, strict=False):
        turned = before.press.bellows is not note.press.bellows
        same_button = (before.press.row, before.press.button) == (note.press.row, note.press.button)
        assert ("turn" in part) == turned
        assert ("hop" in part) == (before.finger == note.finger and not same_button)
        assert ("change" in part) == (before.finger != note.finger and same_button)
        assert ("row" in part) == (before.press.row != note.press.row)
        assert ("place" in part) == (before.place != note.place and "change" not in part)
        assert ("carried" in part) == ("change" in part)
        assert 0 <= part.get("turn", 0) <= HAND.turn


@settings(max_examples=40, deadline=None)
@given(tunes, st.sampled_from(BOXES), st.data())
def test_a_pin_that_can_be_is_always_kept(
    notes: list[tuple[int, Fraction, bool]], name: str, data: st.DataObject
) -> None:
    box = load_box(name)
    round_ = on_box(notes, box)
    pins = []
    for index in data.draw(st.sets(st.integers(0, len(round_.notes) - 1), max_size=4)):
        state = data.draw(st.sampled_from(table_of(box, HAND).states[round_.notes[index].pitch]))
        kept = data.draw(st.sets(st.sampled_from(["row", "button", "bellows", "finger"]), min_size=1))
        wanted: dict[str, object] = {
            "row": state.press.row,
            "button": state.press.button,
            "bellows": state.press.bellows,
            "finger": state.finger,
        }
        pins.append(Pin(index, **{key: wanted[key] for key in kept}))  # type: ignore[arg-type]
    found = finger_round(round_, box, pins=pins, tables=TABLES)
    assert found.refused == ()
    for pin in pins:
        note = found.notes[pin.written]
        assert pin.row in (None, note.press.row)
        assert pin.button in (None, note.press.button)
        assert pin.bellows in (None, note.press.bellows)
        assert pin.finger in (None, note.finger)
    assert found.cost >= finger_round(round_, box, tables=TABLES).cost - HAND.same * len(round_.notes)


def higher(box: Box, by: int) -> Box:
    """The box with every reed `by` semitones higher."""

    def side(reeds: tuple[int | None, ...]) -> tuple[int | None, ...]:
        return tuple(None if pitch is None else pitch + by for pitch in reeds)

    rows = tuple(Row(row.name, row.offset, side(row.push), side(row.pull)) for row in box.rows)
    return Box("higher", box.name, rows, box.basses, "for a test", box.home)


@settings(max_examples=40, deadline=None)
@given(tunes, st.sampled_from(BOXES), st.integers(-12, 12))
def test_transposing_box_and_tune_together_changes_nothing(
    notes: list[tuple[int, Fraction, bool]], name: str, by: int
) -> None:
    box = load_box(name)
    there = higher(box, by)
    here = on_box(notes, box)
    moved = a_round([(note.pitch + by, note.length, bool(note.ornaments)) for note in here.notes])

    def seen(found: Fingering) -> list[object]:
        return [found.cost, found.reaches, *((n.press, n.finger, n.reach, n.opening) for n in found.notes)]

    assert seen(finger_round(here, box, tables=TABLES)) == seen(finger_round(moved, there, tables=TABLES))


def test_every_box_there_is_is_tested_here() -> None:
    assert set(box_names()) == set(BOXES)


def test_the_cost_of_a_fingering_worked_out_by_hand() -> None:
    """Two quavers, D4 and G4, round and round on a B/C: C3 pull with 1, C5 push with 3, and back.

    No move (two buttons, two fingers), so: the bellows turn twice, and the ring finger once; the second bar line of
    the round does not fall on a phrase, the first does.
    """
    round_ = a_round([(62, Fraction(1, 8), False), (67, Fraction(1, 8), False)])
    found = finger_round(round_, load_box("bc-21"), tables=TABLES)
    assert [(n.press, n.finger) for n in found.notes] == [
        (Press("C", 3, Bellows.PULL), 1),
        (Press("C", 5, Bellows.PUSH), 3),
    ]
    assert found.cost == pytest.approx(HAND.turn + HAND.turn * HAND.phrase + HAND.ring)
