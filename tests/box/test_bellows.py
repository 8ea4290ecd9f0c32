"""The bellows: the line of their openings, the air button, and where a player runs out."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.box.bellows import AirNote, BellowsTable, plan_bellows, read_bellows
from companion.box.box_values import Bellows
from companion.box.fingering import bellows_of, finger_round
from companion.box.layout import load_box
from companion.box.spare_air import spare_air
from companion.errors import UserError
from tests.box.box_tunes import tune
from tests.shipped_tables import TABLES

PULL, PUSH = Bellows.PULL, Bellows.PUSH
TABLE = BellowsTable(full=8.0, button=1.0, margin=0.06, long=0.55, phrase_end=0.35, rest=0.15)
BC = load_box("bc-21")


def test_the_line_rises_on_the_pull_and_falls_on_the_push() -> None:
    plan = plan_bellows([AirNote(PULL, 0.4), AirNote(PUSH, 0.2), AirNote(PUSH, 0.2)], TABLE)
    assert plan.openings[0] - plan.start == pytest.approx(0.05)
    assert plan.openings[1] - plan.openings[0] == pytest.approx(-0.025)
    assert plan.openings[2] == pytest.approx(plan.start)
    assert plan.air == ()
    assert plan.runs_out == ()


def test_louder_takes_more_air() -> None:
    soft, loud = ([AirNote(PULL, 0.4, flow=flow), AirNote(PUSH, 0.4, flow=flow)] for flow in (0.5, 2.0))
    assert plan_bellows(loud, TABLE).openings[0] - plan_bellows(loud, TABLE).start == pytest.approx(0.1)
    assert plan_bellows(soft, TABLE).openings[0] - plan_bellows(soft, TABLE).start == pytest.approx(0.025)


def test_what_a_round_gains_is_let_out_on_the_long_pushed_note() -> None:
    notes = [AirNote(PULL, 0.2)] * 20 + [AirNote(PUSH, 0.8)]
    plan = plan_bellows(notes, TABLE)
    assert plan.runs_out == ()
    assert [use.index for use in plan.air] == [20]
    assert plan.air[0].amount == pytest.approx(-plan.drift)
    assert plan.air[0].reason == "on the long note"
    assert plan.openings[-1] == pytest.approx(plan.start)


def test_a_rest_lets_air_in_or_out() -> None:
    plan = plan_bellows([*[AirNote(PULL, 0.2)] * 20, AirNote(PULL, 0.2, rest=0.6)], TABLE)
    assert [(use.index, use.in_rest) for use in plan.air] == [(20, True)]
    assert plan.runs_out == ()


def test_one_direction_for_too_long_runs_out_and_is_said() -> None:
    plan = plan_bellows([AirNote(PULL, 0.2)] * 60 + [AirNote(PUSH, 0.8)] * 4, TABLE)
    assert len(plan.runs_out) == 1
    assert plan.openings[plan.runs_out[0]] == 1.0


sounding = st.builds(
    AirNote,
    st.sampled_from([PULL, PUSH]),
    st.floats(0.05, 2.0),
    st.sampled_from([0.0, 0.0, 0.3]),
    st.booleans(),
    st.just(1.0),
)


@settings(max_examples=200, deadline=None)
@given(st.lists(sounding, min_size=1, max_size=60))
def test_openings_are_what_notes_and_air_make_of_them(notes: list[AirNote]) -> None:
    plan = plan_bellows(notes, TABLE)
    air = {use.index: use for use in plan.air}
    level = plan.start
    for index, note in enumerate(notes):
        moved = note.seconds / TABLE.full * (1 if note.direction is PULL else -1)
        level = min(1.0, max(0.0, level + moved))
        if index in air:
            use = air[index]
            level += use.amount
            if not use.in_rest:  # only on in the direction in which the note goes
                assert use.amount * moved > 0
            assert abs(use.amount) <= max(note.rest, note.seconds) / TABLE.button + 1e-9
        assert plan.openings[index] == pytest.approx(level)
        assert -1e-9 <= plan.openings[index] <= 1 + 1e-9


def test_the_plan_of_a_tune_and_what_spares_its_air() -> None:
    round_ = tune("A4 B4 C#5 D5 E5 D5 C#5 B4 | " * 3 + "A4 B4 C#5 D5 E5*4")
    found = finger_round(round_, BC, tables=TABLES)
    plan = bellows_of(round_, found, replace(TABLES, bellows=TABLE))
    assert plan.openings == bellows_of(round_, found, tables=TABLES).openings  # the shipped table has these values
    choices = spare_air(round_, found, tables=TABLES)
    assert {c.index for c in choices} == {i for i, n in enumerate(round_.notes) if n.pitch in (71, 76)}
    for choice in choices:
        chosen = found.notes[choice.index].press.bellows
        assert choice.other.endswith("push" if chosen is PULL else "pull")
    assert any(choice.seconds > 0 for choice in choices)


def test_an_unknown_loudness_is_told() -> None:
    with pytest.raises(UserError, match="no loudness “fff”"):
        TABLES.bellows.flow("fff")


@pytest.mark.parametrize(
    ("text", "words"),
    [("[full]\nvalue = 0\n", "greater than 0"), ("[full", "not valid TOML"), ("", "full")],
)
def test_a_broken_table_is_told(tmp_path: Path, text: str, words: str) -> None:
    (tmp_path / "bellows.toml").write_text(text)
    with pytest.raises(UserError, match=words):
        read_bellows(tmp_path / "bellows.toml")
