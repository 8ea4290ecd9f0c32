"""Reasons: one for each reach and each choice of button, with what the next best really costs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from companion.box.explain import explain
from companion.box.fingering import Pin, finger_round
from companion.box.layout import load_box
from tests.box.box_tunes import tune
from tests.shipped_tables import TABLES

BC = load_box("bc-21")
EXACT = replace(TABLES, hand=replace(TABLES.hand, same=0.0))
TUNE = tune("D4 E4 F#4 G4 A4 B4 D5 E5 | F#5 E5 D5 B4 A4*2 F#4 A4 || G5 F#5 E5 D5 B4 G4 E4*2")


def test_each_reach_and_each_note_with_a_choice_has_its_sentence() -> None:
    found = finger_round(TUNE, BC, tables=TABLES)
    reasons = explain(TUNE, found, tables=TABLES)
    reaches = {r.index for r in reasons if r.kind == "reach"}
    assert reaches == {i for i, n in enumerate(found.notes) if n.reach}
    assert {r.index for r in reasons if r.kind == "row"} == {
        i for i, n in enumerate(TUNE.notes) if n.pitch in (64, 71, 76)
    }
    assert bool([r for r in reasons if r.kind == "back"]) == (found.back_reach != 0)
    for reason in reasons:
        assert reason.sentence.endswith(".")
        assert reason.next_best is not None


def test_the_next_best_is_what_a_search_without_it_costs() -> None:
    """Ruling a button out by pinning the other one gives the very cost that the reason names."""
    found = finger_round(TUNE, BC, EXACT)
    for reason in explain(TUNE, found, EXACT):
        assert reason.next_best is not None
        assert reason.next_best >= 0
        if reason.kind != "row":
            continue
        chosen = found.notes[reason.index].press
        other = next(s for s in BC.rows if s.name != chosen.row).name
        pinned = finger_round(TUNE, BC, EXACT, [Pin(reason.index, row=other)])
        assert pinned.refused == ()
        assert reason.next_best == pytest.approx(pinned.cost - found.cost)


def test_a_pinned_note_has_no_other_way() -> None:
    round_ = tune("E4 D4 E4 G4")
    pins = [Pin(0, row="C", finger=2)]
    found = finger_round(round_, BC, pins=pins, tables=TABLES)
    rows = [r for r in explain(round_, found, pins=pins, tables=TABLES) if r.kind == "row"]
    assert [r.index for r in rows] == [2]


def test_nothing_to_explain() -> None:
    round_ = tune("F3")
    assert explain(round_, finger_round(round_, BC, tables=TABLES), tables=TABLES) == ()
