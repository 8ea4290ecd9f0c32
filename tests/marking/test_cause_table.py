"""The rows of the causes: each has one test, its words and its weight, and a new one needs nothing but its row."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

import companion
from companion.box.box_values import Box, Press
from companion.lesson.lesson_values import Kind, Piece
from companion.marking.cause_table import CAUSES, WEIGHTS, Cause
from companion.marking.mark_values import Heard
from companion.marking.marks import mark
from companion.marking.summary import Trouble
from companion.places import shipped
from companion.session.round_sentences import to_work_on
from companion.tune.part_bars import Bar
from tests.marking.small import BOX, LINE, asked_for, fingered
from tests.shipped_tables import TABLES

ROWS = list(CAUSES.values())


def shipped_table(name: str) -> dict[str, dict[str, object]]:
    return tomllib.loads(shipped("config", name).read_text(encoding="utf-8"))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.name)
def test_the_words_and_the_weight_of_a_cause_are_in_their_tables(row: Cause) -> None:
    assert {row.said, row.work} <= set(shipped_table("words.toml")["en"])
    assert row.weight is None or row.weight in shipped_table("marks.toml")["cause"]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.name)
def test_a_cause_has_a_test_and_a_wrong_pitch_has_a_weight(row: Cause) -> None:
    tests = [test for test in (row.slip, row.instead, row.late) if test is not None]
    assert len(tests) == 1 if row.run_of in (None, row.name) else not tests
    assert (row.weight is not None) == (row.slip is not None or row.instead is not None)
    assert row.run_of is None or CAUSES[row.run_of].weight is not None


def test_no_weight_and_no_sentence_is_left_over() -> None:
    assert set(shipped_table("marks.toml")["cause"]) - {"equal", "run", "wait", "rush"} == set(WEIGHTS)
    work = {key for key in shipped_table("words.toml")["en"] if key.startswith("work_")}
    # "wrong" is said where nothing explains it; the other two say how often.
    assert work - {"work_wrong", "work_in_rounds", "work_times"} == {row.work for row in ROWS}


def test_no_name_is_made_into_a_key() -> None:
    made = re.compile(r"""replace\(["']-["'], *["']_["']\)|["'](said|work)_["'] *\+|f["'](said|work)_\{""")
    sources = Path(companion.__file__).parent.rglob("*.py")
    assert [path.name for path in sources if made.search(path.read_text(encoding="utf-8"))] == []


def two_below(_box: Box, press: Press) -> list[Press]:
    return [Press(press.row, press.button - 2, press.bellows)]


def test_a_new_cause_needs_only_its_row_its_weight_and_its_words(monkeypatch: pytest.MonkeyPatch) -> None:
    row = Cause(
        name="two-below",
        means="two buttons down the row",
        said="said_two_below",
        work="work_two_below",
        weight="two_below",
        slip=two_below,
    )
    monkeypatch.setitem(CAUSES, row.name, row)
    rules = TABLES.marks
    rules = replace(rules, cause=replace(rules.cause, weights={**rules.cause.weights, "two_below": 1.0}))
    asked = asked_for(69, 62, 78)
    came = BOX.pitch(two_below(BOX, fingered(asked).notes[1].press)[0])
    assert came is not None
    heard = [Heard(LINE.seconds(a.at), came if k == 1 else a.pitch) for k, a in enumerate(asked)]
    assert mark(asked, heard, timeline=LINE, fingering=fingered(asked), rules=rules).notes[1].cause == "two-below"

    trouble = Trouble(Bar("A", 1, 1), 1, 1, 1, "two-below", 0, 2, 1)
    pieces = [Piece("A bar 1", Kind.BAR, 0, 2, None, 0.0)]
    assert to_work_on([trouble], pieces, lambda key, **_: key) == ("work_two_below",)
