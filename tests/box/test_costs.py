"""What notes and steps cost, rule by rule, with the names and numbers of `config/hand.toml`."""

from __future__ import annotations

from dataclasses import replace

import pytest

from companion.box.box_values import Bellows, Press
from companion.box.costs import (
    PLAIN,
    FingerNeeds,
    Gap,
    HandMove,
    HandState,
    air_part,
    move_parts,
    note_parts,
    priced,
    states_of,
    step_of,
    step_parts,
    thousandths,
)
from companion.box.layout import load_box
from tests.shipped_tables import TABLES

HAND = TABLES.hand
BC = load_box("bc-21")
PUSH, PULL = Bellows.PUSH, Bellows.PULL
QUICK, SLOW = Gap(HAND.quick, False), Gap(HAND.slow, False)
STILL = HandMove(False, False, False, False, 0, 0, False, False)


def state(
    finger: int,
    place: int = 3,
    x: float | None = None,
    row: int = 1,
    bellows: Bellows = PULL,
    leans: bool = False,
    home: bool = True,
) -> HandState:
    """A finger over its own column on the inner row, whose buttons lie half a button along, if nothing else is said."""
    along = place + finger - 1 + (0.5 if row else 0.0) if x is None else x
    return HandState(Press("BC"[row], int(along), bellows), finger, place, along, leans, row, home)


# Ways to play a note


def test_every_finger_has_a_button_over_its_own_column_and_closes_up_to_the_next_row() -> None:
    """A4 is C5 on the pull: half a button beyond the middle of its column, so the outer fingers lean back for it."""
    ways = {(s.press.row, s.press.button, s.finger, s.place, s.leans) for s in states_of(BC)[69]}
    assert ways == {
        ("C", 5, 1, 5, False), ("C", 5, 2, 4, False), ("C", 5, 3, 3, False), ("C", 5, 3, 4, True),
        ("C", 5, 4, 2, False), ("C", 5, 4, 3, True),
    }  # fmt: skip


def test_on_the_outer_row_the_inner_fingers_lean_on() -> None:
    """F#4 is B5 on the push only."""
    ways = {(s.press.row, s.press.button, s.finger, s.place, s.leans) for s in states_of(BC)[66]}
    assert ways == {
        ("B", 5, 1, 5, False), ("B", 5, 1, 4, True), ("B", 5, 2, 4, False), ("B", 5, 2, 3, True),
        ("B", 5, 3, 3, False), ("B", 5, 4, 2, False),
    }  # fmt: skip


def test_on_a_box_of_one_row_no_finger_leans() -> None:
    assert not any(s.leans for states in states_of(load_box("d-10")).values() for s in states)


def test_ways_come_inner_row_first_and_by_button_and_finger() -> None:
    """E5 is C7 on the push and B8 on the pull."""
    ways = states_of(BC)[76]
    assert [(s.row, s.press.row) for s in ways] == sorted(((s.row, s.press.row) for s in ways), reverse=True)
    assert {(s.press.row, s.press.bellows) for s in ways} == {("C", PUSH), ("B", PULL)}
    for row in ("C", "B"):
        fingers = [s.finger for s in ways if s.press.row == row]
        assert fingers == sorted(fingers)
        assert set(fingers) == {1, 2, 3, 4}


def test_the_rows_of_a_box_with_a_home_row_are_told_apart() -> None:
    assert all(s.home == (s.press.row == "C") for states in states_of(BC).values() for s in states)
    no_home = replace(BC, home="")
    assert all(s.home for states in states_of(no_home).values() for s in states)


def test_every_reed_of_the_box_is_there() -> None:
    reeds = {pitch for row in BC.rows for side in (row.push, row.pull) for pitch in side if pitch is not None}
    assert set(states_of(BC)) == reeds
    for pitch, ways in states_of(BC).items():
        assert all(BC.pitch(way.press) == pitch for way in ways)


# Notes


@pytest.mark.parametrize(
    ("finger", "wanted", "parts"),
    [
        (1, PLAIN, {}),
        (2, FingerNeeds(True, True), {}),
        (1, FingerNeeds(False, True), {"untapped": HAND.untapped}),  # no finger below the first for the tap
        (1, FingerNeeds(True, False), {}),
        (3, PLAIN, {"ring": HAND.ring}),
        (3, FingerNeeds(True, True), {"ring": HAND.ring}),
        (4, PLAIN, {"little": HAND.little}),
        (4, FingerNeeds(True, False), {"little": HAND.little, "little_ornament": HAND.little_ornament}),
        (4, FingerNeeds(False, True), {"little": HAND.little, "little_ornament": HAND.little_ornament}),
    ],
)
def test_what_a_finger_costs(finger: int, wanted: FingerNeeds, parts: dict[str, float]) -> None:
    assert note_parts(state(finger), wanted, HAND) == parts


def test_what_it_costs_to_lean_to_leave_the_home_row_and_to_lie_off_the_keyboard() -> None:
    assert note_parts(state(2, leans=True), PLAIN, HAND) == {"lean": HAND.lean}
    assert note_parts(state(2, home=False), PLAIN, HAND) == {"side": HAND.side}
    off = [note_parts(state(2, place), PLAIN, HAND).get("off", 0.0) for place in (2, 1, 0, -1)]
    assert off == [0.0, 0.0, HAND.off, 2 * HAND.off]


# Steps


def test_the_same_finger_on_another_button_hops_and_on_the_same_one_stays() -> None:
    assert step_of(state(2), state(2, place=4)) == HandMove(True, False, False, False, 1, 0, False, False)
    assert step_of(state(2), state(2)) == STILL._replace(again=True)
    assert step_of(state(2), state(2, bellows=PUSH)) == STILL._replace(turn=True)


def test_another_finger_on_the_same_button_is_a_change_and_carries_the_hand() -> None:
    assert step_of(state(2, 3), state(1, 4)) == STILL._replace(change=True, moved=1)
    assert step_of(state(1, 4), state(4, 1)) == STILL._replace(change=True, moved=3)
    # The button at the same place in the other row is another button.
    assert not step_of(state(2, x=4.5), state(1, x=4.5, row=0)).change


def test_fingers_cross_where_they_go_against_the_buttons() -> None:
    assert step_of(state(3), state(2, x=6.5, place=3)).cross
    assert step_of(state(2), state(3, x=2.5, place=3)).cross
    assert not step_of(state(2), state(3)).cross
    assert not step_of(state(3), state(2)).cross
    assert not step_of(state(2), state(3, x=4.5, row=0)).cross  # beside it in the other row: neither way


@pytest.mark.parametrize(("wider", "stretch"), [(0.0, 0), (0.5, 0), (1.0, 1), (1.5, 2), (-0.5, 0), (-1.0, 1)])
def test_half_a_button_wider_or_closer_is_no_stretch(wider: float, stretch: int) -> None:
    before, after = state(1), state(3)
    assert step_of(before, after._replace(x=after.x + wider)).stretch == stretch


def test_a_move_of_the_hand_is_no_stretch() -> None:
    assert step_of(state(1, 3), state(3, 5)) == STILL._replace(moved=2)
    assert step_of(state(3, 5), state(1, 3)) == STILL._replace(moved=2)


def test_rows_and_turns_are_told() -> None:
    assert step_of(state(2), state(3, row=0)).row
    assert not step_of(state(2), state(3)).row
    assert step_of(state(2, bellows=PUSH), state(3)).turn
    assert not step_of(state(2), state(3)).turn


# Prices


def test_hops_and_crossings_cost_all_in_quick_notes_and_nothing_where_there_is_time() -> None:
    half = Gap((HAND.quick + HAND.slow) / 2, False)
    for name, price in (("hop", HAND.hop), ("cross", HAND.cross)):
        step = STILL._replace(**{name: True})
        for gap, share in ((Gap(0.0, False), 1.0), (QUICK, 1.0), (half, 0.5), (SLOW, 0.0), (Gap(9.0, False), 0.0)):
            assert priced(step, gap, HAND) == {name: pytest.approx(price * share)}


def test_other_steps_are_eased_by_time_and_by_a_phrase() -> None:
    step = STILL._replace(row=True, turn=True, moved=3)
    full = {"row": HAND.row, "turn": HAND.turn, "place": HAND.place, "further": 2 * HAND.further}
    half_eased = HAND.eased + (1 - HAND.eased) / 2
    for gap, share in (
        (QUICK, 1.0),
        (SLOW, HAND.eased),
        (Gap((HAND.quick + HAND.slow) / 2, False), half_eased),
        (Gap(HAND.quick, True), HAND.phrase),
        (Gap(HAND.slow, True), HAND.eased * HAND.phrase),
    ):
        assert priced(step, gap, HAND) == {name: pytest.approx(price * share) for name, price in full.items()}


def test_a_move_in_a_change_of_finger_is_a_part_of_any_other_move() -> None:
    for gap in (QUICK, SLOW, Gap(HAND.quick, True)):
        parts = priced(STILL._replace(change=True, moved=2), gap, HAND)
        assert parts.pop("change") == HAND.change
        other = priced(STILL._replace(moved=2), gap, HAND)
        assert parts == {"carried": pytest.approx(HAND.carried * (other["place"] + other["further"]))}


def test_a_finger_that_plays_a_note_again_costs_what_the_hand_says_and_only_in_quick_notes() -> None:
    dear = replace(HAND, again=0.7)
    assert priced(STILL._replace(again=True), QUICK, dear) == {"again": 0.7}
    assert priced(STILL._replace(again=True), SLOW, dear) == {"again": 0.0}
    assert priced(STILL._replace(again=True), QUICK, HAND) == {}


def test_a_stretch_costs_by_half_buttons_and_nothing_costs_nothing() -> None:
    for gap in (QUICK, SLOW):
        assert priced(STILL._replace(stretch=3), gap, HAND) == {"stretch": 3 * HAND.stretch}
        assert priced(STILL, gap, HAND) == {}


@pytest.mark.parametrize(("places", "further"), [(1, 0.0), (2, 1.0), (5, 4.0)])
def test_the_first_place_of_a_move_costs_most(places: int, further: float) -> None:
    assert move_parts(places, HAND) == {"place": HAND.place, "further": pytest.approx(further * HAND.further)}
    assert move_parts(0, HAND) == {}


def test_a_step_between_two_states_is_priced_as_what_it_is() -> None:
    before, after = state(2), state(3, 4, row=0, bellows=PUSH)
    assert step_parts(before, after, QUICK, HAND) == priced(step_of(before, after), QUICK, HAND)
    assert set(step_parts(before, after, QUICK, HAND)) == {"place", "further", "row", "turn"}


def test_what_goes_on_the_way_the_air_goes_already_is_paid_for() -> None:
    """Where the notes around pull more (drift above 0) a pull costs, by its seconds; where they push more, a push."""
    assert air_part(state(2), 3.0, 0.5, HAND) == {"air": pytest.approx(HAND.air * 1.5)}
    assert air_part(state(2, bellows=PUSH), -3.0, 0.5, HAND) == {"air": pytest.approx(HAND.air * 1.5)}
    for bellows, drift in ((PULL, -3.0), (PUSH, 3.0), (PULL, 0.0), (PUSH, 0.0)):
        assert air_part(state(2, bellows=bellows), drift, 0.5, HAND) == {}


def test_costs_add_up_in_thousandths_each_part_rounded_by_itself() -> None:
    assert thousandths({"a": 0.0006, "b": 0.0006}) == 2
    assert thousandths({"a": 1.2344, "b": 2.0}) == 3234
    assert thousandths({}) == 0
