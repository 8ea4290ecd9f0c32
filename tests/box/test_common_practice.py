"""What tutors agree on, on short phrases written for it. Every test here is common practice: no source was found."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from companion.box.box_values import Fingering
from companion.box.costs import Gap, move_parts, states_of, step_parts
from companion.box.explain import explain
from companion.box.fingering import finger_round
from companion.box.layout import load_box
from tests.box.box_tunes import tune
from tests.shipped_tables import TABLES

BC = load_box("bc-21")
HAND = TABLES.hand

PHRASES = [
    "D4 E4 F#4 G4 A4 B4 C#5 D5 | C#5 B4 A4 G4 F#4 E4 D4*2",
    "G4 A4 B4 G4 D5 B4 A4 G4 | E4 F#4 G4 E4 D4*4",
    "A4 F#4 D4 F#4 A4 D5 A4 F#4",
    "G4 B4 D5 B4 G4 B4 D5 G5 | F#5 D5 A4 D5 F#5*4",
    "E4 G4 B4 G4 E5 B4 G4 B4 | A4 F#4 D4 F#4 A4*4",
    "D5 E5 F#5 G5 A5 G5 F#5 E5 | D5 B4 A4 B4 D5*4",
]


def fingered(words: str) -> Fingering:
    found = finger_round(tune(words), BC, tables=TABLES)
    assert found.playable
    return found


@pytest.mark.parametrize("words", PHRASES)
def test_no_finger_hops_and_no_fingers_cross_in_quick_notes(words: str) -> None:
    offsets = {row.name: row.offset for row in BC.rows}
    for before, after in pairwise(fingered(words).notes):
        along = after.press.button + offsets[after.press.row] - before.press.button - offsets[before.press.row]
        if (before.press.row, before.press.button) != (after.press.row, after.press.button):
            assert before.finger != after.finger
            assert along * (after.finger - before.finger) > 0


def test_the_little_finger_takes_a_single_top_note() -> None:
    found = fingered("G4 B4 D5 G5 D5 B4 G4 B4 | D5 B4 G4 B4 D5 B4 G4*2")
    top = [n for n in found.notes if n.note.pitch == 79]
    assert [n.finger for n in top] == [4]
    assert found.reaches == 0


def test_a_passage_that_leans_on_the_little_finger_is_moved_up() -> None:
    found = fingered("G4 B4 D5 B4 G4*2 B4*2 | D5 G5 D5 G5 D5 G5 D5 G5 | B4 G5 D5 G5 B4 G5 D5 G5")
    assert sum(n.finger == 4 for n in found.notes) <= 1
    assert all(n.finger == 3 for n in found.notes if n.note.pitch == 79 and n.note.bar == 3)


def test_an_ornament_is_given_a_strong_finger() -> None:
    """Where the hand can get there at all: here it moves up on the repeated B for the roll."""
    found = fingered("G4*2 B4 B4 D5 ~G5*2 D5 | B4 B4 G4 A4 G4*4")
    assert found.notes[4].note.ornaments == ("roll",)
    assert found.notes[4].finger in (2, 3)
    assert found.notes[2].reach == 1


def test_a_roll_leaves_a_finger_on_each_side() -> None:
    assert fingered("~F#4*3 A4 F#4 D4").notes[0].finger in (2, 3)


def test_a_move_is_a_move_however_it_is_made_and_a_change_on_one_button_saves_the_finding_of_it() -> None:
    states = states_of(BC)
    a = {s.finger: s for s in states[69]}
    g = {s.finger: s for s in states[67]}
    quick = Gap(0.2, False)
    repeated = sum(step_parts(a[2], a[1], quick, HAND).values())
    turning = sum(step_parts(g[2], a[1], quick, HAND).values()) - HAND.turn
    assert repeated == pytest.approx(turning)
    assert HAND.place / 2 < repeated < HAND.place


def test_the_hand_moves_on_the_button_where_the_bellows_turn() -> None:
    """Up the scale of D: G is pushed and A pulled on one button; there the hand goes up, and nowhere else."""
    notes = fingered("D4 E4 F#4 G4 A4 B4 C#5 D5").notes
    assert [note.finger for note in notes] == [1, 2, 3, 4, 1, 2, 3, 4]
    assert [note.reach for note in notes] == [0, 0, 0, 0, 2, 0, 0, 0]


def test_the_hand_moves_on_the_repeated_note() -> None:
    notes = fingered("D4 E4 G4 B4 B4 D5 G5 B5 | G5 D5 B4*2 A4*4").notes
    assert notes[4].note.pitch == notes[3].note.pitch == 71
    assert notes[4].reach > 0
    assert notes[4].finger != notes[3].finger


@pytest.mark.parametrize("pause", ["D4*6", "D4 z*5"])
def test_the_hand_moves_after_a_long_note_or_a_rest(pause: str) -> None:
    """Between low and high the one place with time is taken, and nowhere else does the hand move up."""
    found = fingered(f"D4 E4 D4 E4 {pause} | D5 G5 D5 G5 A5 G5 D5 G5")
    ups = [index for index, note in enumerate(found.notes) if note.reach > 0]
    assert ups == [5]


@pytest.mark.parametrize("distance", [1, 2, 3, 4])
def test_more_places_cost_more(distance: int) -> None:
    assert sum(move_parts(distance + 1, HAND).values()) > sum(move_parts(distance, HAND).values())


def test_a_move_costs_less_with_time_and_where_a_phrase_starts() -> None:
    states = states_of(BC)
    low, high = states[62][0], next(s for s in states[79] if s.finger == 3)
    quick, slow, phrase = (
        sum(step_parts(low, high, gap, HAND).values()) for gap in (Gap(0.2, False), Gap(1.0, False), Gap(0.2, True))
    )
    assert slow < phrase < quick


def test_the_reach_from_a_low_end_to_a_high_beginning_is_named() -> None:
    round_ = tune("G4 F#4 E4 F#4 G4 F#4 E4 D4 || A5 G5 A5 B5 A5 G5 D5 G5")
    found = finger_round(round_, BC, tables=TABLES)
    reasons = [r.sentence for r in explain(round_, found, tables=TABLES) if r.kind == "reach" and r.index == 8]
    assert len(reasons) == 1
    assert reasons[0].startswith("from the end of the A part to the start of the B part")
    assert "moves up" in reasons[0]


def test_the_same_bar_is_fingered_the_same_way() -> None:
    """The cheapest by itself would finger these bars in two ways; making them alike costs a tenth of a place."""
    bar = "G4 E4 G4 B4"
    round_ = tune(f"{bar} | C#5 B4 A4 B4 | {bar} | G4 A4 G4 A4 | {bar}")
    by_itself, alike = (
        finger_round(round_, BC, replace(TABLES, hand=replace(HAND, same=0.0))),
        finger_round(round_, BC, tables=TABLES),
    )

    def ways(found: Fingering) -> int:
        bars = (1, 3, 5)
        return len({tuple((n.press, n.finger) for n in found.notes if n.note.bar == number) for number in bars})

    assert (ways(by_itself), ways(alike)) == (2, 1)
    assert by_itself.cost < alike.cost <= by_itself.cost + HAND.same


@pytest.mark.parametrize(
    ("words", "index", "press"),
    [
        ("B4 D5 E5 D5 B4 D5 E5 D5 | G4*4 G4*4", 2, "B8 pull"),  # in a run of pulled notes
        ("G5 F#5 E5 F#5 G5*4", 2, "C7 push"),  # among pushed ones
        ("G4 B4 G4 F#4 G4 B4 G4*2", 1, "B6 push"),
        ("A4 B4 D5 B4 A4 B4 D5*2", 1, "C6 pull"),
    ],
)
def test_e_and_b_go_where_the_bellows_need_not_turn(words: str, index: int, press: str) -> None:
    note = fingered(words).notes[index]
    assert f"{note.press.row}{note.press.button} {note.press.bellows.value}" == press


def test_a_long_run_in_one_direction_is_paid_for_in_air() -> None:
    """The E of a short pulled run is pulled too; in the middle of a long one it is pushed, which gives air back."""
    run = "A4 B4 C#5 D5 C#5 B4 A4 B4"
    short = fingered("B4 D5 E5 D5 B4 D5 E5 D5 | G4*4 G4*4")
    long = fingered(f"{run} | {run} | B4 D5 E5 D5 B4 D5 E5 D5 | {run} | {run}")
    assert next(n for n in short.notes if n.note.pitch == 76).press.bellows.value == "pull"
    assert next(n for n in long.notes if n.note.pitch == 76).press.bellows.value == "push"
