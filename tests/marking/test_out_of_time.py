"""Causes of right notes at the wrong time, at their edges: 120 crotchets a minute, so that a note may be 70 ms off.

What is worth saying begins at 0.6 of that, 42 ms. The numbers are those of `config/marks.toml`.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from companion.box.box_values import Bellows, Fingered, Fingering
from companion.marking.causes import out_of_time
from companion.marking.mark_values import Asked, Heard, NoteMark, Verdict
from companion.marking.marks import mark
from companion.marking.wrong_pitches import AskedRound
from tests.marking.small import LINE, asked_for, fingered
from tests.shipped_tables import TABLES

SCALE = (62, 64, 66, 67, 69, 71)


def still(asked: tuple[Asked, ...]) -> Fingering:
    """A fingering in which the bellows never turn and the hand never moves."""
    found = fingered(asked)
    return replace(found, notes=tuple(replace(n, press=replace(n.press, bellows=Bellows.PULL)) for n in found.notes))


def changed(found: Fingering, at: int, note: Fingered) -> Fingering:
    return replace(found, notes=(*found.notes[:at], note, *found.notes[at + 1 :]))


def turning(found: Fingering, at: int) -> Fingering:
    """The bellows turn before note `at` (and stay)."""
    notes = [
        replace(n, press=replace(n.press, bellows=Bellows.PUSH)) if k >= at else n for k, n in enumerate(found.notes)
    ]
    return replace(found, notes=tuple(notes))


def moving(found: Fingering, at: int, by: int = 1) -> Fingering:
    """The hand moves before note `at`."""
    return changed(found, at, replace(found.notes[at], reach=by))


def causes(asked: tuple[Asked, ...], ms: dict[int, float], found: Fingering, left_out: int = -1) -> list[str | None]:
    """The cause of each note when those named come so late."""
    heard = [Heard(LINE.seconds(a.at) + ms.get(k, 0.0) / 1000, a.pitch) for k, a in enumerate(asked) if k != left_out]
    return [n.cause for n in mark(asked, heard, timeline=LINE, fingering=found, rules=TABLES.marks).notes]


EVEN = asked_for(*SCALE, *SCALE)


@pytest.mark.parametrize(("ms", "said"), [(41.0, None), (43.0, "late-turn"), (120.0, "late-turn"), (-43.0, None)])
def test_how_late_a_note_is_after_a_turn_that_is_worth_saying(ms: float, said: str | None) -> None:
    found = turning(still(EVEN), 4)
    assert causes(EVEN, {4: ms}, found) == [said if k == 4 else None for k in range(12)]
    assert causes(EVEN, {5: ms}, found) == [None] * 12  # no turn there


def test_who_is_late_all_along_is_not_late_at_the_turn() -> None:
    found = turning(still(EVEN), 4)
    assert causes(EVEN, dict.fromkeys(range(12), 60.0), found) == [None] * 12
    assert causes(EVEN, {3: 60.0, 4: 60.0}, found) == [None] * 12  # late against the round, not against the note before
    assert causes(EVEN, {3: 10.0, 4: 60.0}, found)[4] == "late-turn"
    assert causes(EVEN, {3: 20.0, 4: 60.0}, found)[4] is None


def test_where_the_note_before_was_left_out_the_round_is_what_counts() -> None:
    found = turning(still(EVEN), 4)
    assert causes(EVEN, {4: 60.0}, found, left_out=3)[4] == "late-turn"


@pytest.mark.parametrize("by", [1, -1, 3])
def test_a_wait_where_the_hand_moves_up_or_down(by: int) -> None:
    assert causes(EVEN, {4: 60.0}, moving(still(EVEN), 4, by))[4] == "hesitation"


def test_a_turn_and_a_move_at_once_are_both_said() -> None:
    assert causes(EVEN, {4: 60.0}, moving(turning(still(EVEN), 4), 4))[4] == "late-turn+hesitation"


def test_a_wait_where_a_part_or_a_repeat_begins() -> None:
    for name, value in (("part", "B"), ("turn", 2)):
        found = still(EVEN)
        notes = tuple(
            replace(n, note=replace(n.note, **{name: value})) if k >= 4 else n for k, n in enumerate(found.notes)
        )
        said = causes(EVEN, {4: 60.0, 8: 60.0}, replace(found, notes=notes))
        assert (said[4], said[8]) == ("hesitation", None)


def test_the_first_note_comes_after_no_turn_and_no_move() -> None:
    found = moving(turning(still(EVEN), 1), 0)
    assert causes(EVEN, {0: 60.0}, found)[0] is None


def test_without_a_fingering_nothing_is_known_of_turns_and_moves() -> None:
    heard = [Heard(LINE.seconds(a.at) + (0.1 if k == 4 else 0.0), a.pitch) for k, a in enumerate(EVEN)]
    assert all(n.cause is None for n in mark(EVEN, heard, timeline=LINE, rules=TABLES.marks).notes)


# Bars that run away or drag


BARS = asked_for(*SCALE * 4)  # four bars of 6/8


def bar_of(share: float, first: int = 6, last: int = 12) -> list[str | None]:
    """The causes when notes `first` to `last` fall behind by a share of the time (get ahead: negative)."""
    ms = {k: share * 250.0 * (k - first) for k in range(first, last)}
    return causes(BARS, ms, still(BARS))


def test_a_bar_by_an_eighth_slower_is_dragged_and_by_an_eighth_quicker_is_rushed() -> None:
    assert set(bar_of(0.13)[6:12]) == {None, "dragged-bar"}
    assert set(bar_of(-0.13)[6:12]) == {None, "rushed-bar"}
    assert set(bar_of(0.11)) == set(bar_of(-0.11)) == {None}
    for share in (0.13, -0.13):
        assert set(bar_of(share)[:6] + bar_of(share)[12:]) == {None}


def test_each_of_two_bars_that_drag_is_said() -> None:
    asked = asked_for(*SCALE * 6)
    ms = {k: 0.15 * 250.0 * ((k - 6) % 12) for k in (*range(6, 12), *range(18, 24))}
    said = causes(asked, ms, still(asked))
    assert ["dragged-bar" in said[first : first + 6] for first in (0, 6, 12, 18)] == [False, True, False, True]


def test_two_bars_are_enough_to_tell() -> None:
    ms = {k: 0.3 * 250.0 * (k - 6) for k in range(6, 11)}
    assert "dragged-bar" in causes(BARS[:12], ms, still(BARS[:12]))[6:]


def test_only_the_notes_that_lie_off_are_said_to_be_dragged() -> None:
    said = bar_of(0.13)[6:12]  # 0, 32, 65, 97, 130, 162 ms late
    assert said == [None, None, *["dragged-bar"] * 4]


def test_a_tempo_that_is_another_all_through_is_no_bar_that_drags() -> None:
    ms = {k: 0.2 * 250.0 * k for k in range(24)}
    assert set(causes(BARS, ms, still(BARS))) == {None}


@pytest.mark.parametrize(("right", "said"), [((9, 10, 11), False), ((8, 9, 10, 11), True), ((6, 7, 11), False)])
def test_three_notes_make_no_trend_and_four_do(right: tuple[int, ...], said: bool) -> None:
    """Of the second bar only some notes were right; they fall behind by 15 in a hundred."""
    marks = {}
    for k, note in enumerate(BARS):
        good = not 6 <= k < 12 or k in right
        ms = 0.15 * 250.0 * (k - 6) if 6 <= k < 12 else 0.0
        marks[k] = NoteMark(k, k, Verdict.RIGHT if good else Verdict.WRONG, note.pitch, note.pitch, ms)
    held = dict(enumerate(still(BARS).notes))
    assert (set(out_of_time(AskedRound(BARS, marks, held), LINE, TABLES.marks, ()).values()) == {"dragged-bar"}) == said


def test_a_single_bar_has_nothing_to_differ_from() -> None:
    asked = BARS[:6]
    ms = {k: 0.2 * 250.0 * k for k in range(6)}
    assert set(causes(asked, ms, still(asked))) == {None}


def test_the_same_bar_played_again_is_another_bar() -> None:
    """Bars count by part and time: what drags the second time through is not spread over both."""
    found = still(BARS)
    notes = tuple(
        replace(n, note=replace(n.note, bar=1 + (k % 12) // 6, turn=1 + k // 12)) for k, n in enumerate(found.notes)
    )
    ms = {k: 0.2 * 250.0 * (k - 18) for k in range(18, 24)}
    said = causes(BARS, ms, replace(found, notes=notes))
    assert "dragged-bar" in said[18:]
    assert set(said[:18]) == {None}


def test_a_late_turn_within_a_dragged_bar_is_said_as_the_turn() -> None:
    ms = {k: 0.2 * 250.0 * (k - 6) for k in range(6, 12)}
    ms[10] += 60.0
    assert causes(BARS, ms, turning(still(BARS), 10))[10] == "late-turn"


# With no clock


def waits(seconds: dict[int, float], found: Fingering, asked: tuple[Asked, ...] = EVEN) -> list[int]:
    """The notes said to come after a hesitation, when the player waits so long before some."""
    heard, now = [], 0.0
    for k, note in enumerate(asked):
        now += seconds.get(k, 0.0)
        heard.append(Heard(now, note.pitch))
        now += 0.25
    marks = mark(asked, heard, timeline=None, fingering=found, rules=TABLES.marks)
    return [k for k, n in enumerate(marks.notes) if n.cause == "hesitation"]


def test_a_wait_is_more_than_twice_what_a_note_lasts() -> None:
    """2.2 times: 0.3 s more than the quarter of a second."""
    found = moving(still(EVEN), 4)
    assert waits({4: 0.31}, found) == [4]
    assert waits({4: 0.29}, found) == []
    assert waits({5: 2.0}, found) == []


def test_long_notes_are_waited_for_as_they_are_written() -> None:
    asked = tuple(replace(a, at=a.at + (a.length * 2 if k >= 4 else 0)) for k, a in enumerate(EVEN))
    found = moving(still(asked), 4)
    assert waits({4: 0.5}, found, asked) == []  # the note before lasts three quavers
    assert waits({4: 1.5}, found, asked) == [4]


def test_so_few_notes_tell_no_pace() -> None:
    for count, said in ((4, []), (5, [3])):
        asked = EVEN[:count]
        assert waits({3: 2.0}, moving(still(asked), 3), asked) == said


def test_a_wait_after_a_wrong_note_is_none_of_the_hands() -> None:
    found = moving(still(EVEN), 4)
    heard = [Heard(0.25 * k + (2.0 if k >= 4 else 0.0), a.pitch + (k == 3)) for k, a in enumerate(EVEN)]
    marks = mark(EVEN, heard, timeline=None, fingering=found, rules=TABLES.marks)
    assert marks.notes[3].verdict is Verdict.WRONG
    assert marks.notes[4].cause is None
