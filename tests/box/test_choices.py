"""What lies between the notes of a round: the time, the phrases, the air; and the ring that is searched."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from companion.box.air import imbalances
from companion.box.box_values import Bellows
from companion.box.choices import StateTable, choices, gaps_of, phrase_starts
from companion.box.costs import PLAIN, FingerNeeds, Gap, air_part, note_parts, step_parts, thousandths
from companion.box.layout import load_box
from companion.box.pins import Pin
from companion.box.times import Times, times_of
from companion.tune.tune_values import BarSpan, OnceThrough, Played
from tests.box.box_tunes import tune
from tests.melody import make_round
from tests.shipped_tables import TABLES

HAND = TABLES.hand
BC = load_box("bc-21")
PUSH, PULL = Bellows.PUSH, Bellows.PULL
QUAVER = HAND.whole_note / 8


def gaps(words: str) -> list[Gap]:
    round_ = tune(words)
    return gaps_of(round_, times_of(round_, HAND.whole_note))


# Time


def test_times_are_whole_ticks_of_one_length() -> None:
    times = times_of(tune("A4 B4*3 z A4/3 B4"), 2.0)
    assert times.ticks == 24
    assert times.starts == (0, 3, 15, 16)
    assert times.lengths == (3, 9, 1, 3)
    assert times.lap == 19
    assert times.seconds(12) == 1.0
    # A note may begin on a finer part than any lasts, and the round may end on one.
    late = OnceThrough(
        (Played(0, "A", 1, 1, Fraction(1, 24), Fraction(1, 8), 69),), (), Fraction(1, 4), Fraction(0), "A"
    )
    assert times_of(late, 2.0) == Times((1,), (3,), 6, 24, 2.0)
    longer = replace(tune("A4"), length=Fraction(3, 16))
    assert times_of(longer, 2.0) == Times((0,), (2,), 3, 16, 2.0)


def test_the_time_before_a_note_is_from_the_note_before_and_a_rest_counts_twice() -> None:
    quavers = [gap.seconds for gap in gaps("A4 B4*3 z*2 A4 B4 z")]
    # The last B is followed by a rest of a quaver before the first A of the next round.
    assert quavers == pytest.approx([3 * QUAVER, QUAVER, 7 * QUAVER, QUAVER])


def test_notes_that_overlap_leave_no_rest() -> None:
    notes = [Played(k, "A", 1, 1, Fraction(k, 8), Fraction(1, 2), 69) for k in range(3)]
    bar = BarSpan(1, "A", 1, Fraction(0), Fraction(3, 8))
    round_ = OnceThrough(tuple(notes), (bar,), Fraction(3, 8), Fraction(0), "A")
    assert [gap.seconds for gap in gaps_of(round_, times_of(round_, HAND.whole_note))] == pytest.approx([QUAVER] * 3)


# Phrases


def starts(words: str) -> str:
    """One letter a note: P where a phrase starts."""
    return "".join(".P"[start] for start in phrase_starts(tune(words)))


def test_a_phrase_starts_with_every_part_and_every_second_bar() -> None:
    assert starts("A4 B4 | A4 B4 | A4 B4 | A4 | A4 B4") == "P...P..P."
    assert starts("A4 B4 | A4 B4 || A4 B4 | A4 | A4 B4") == "P...P..P."
    assert starts("A4 B4 | A4 B4 | A4 B4 || A4 B4 | A4 B4 | A4") == "P...P.P...P"
    assert starts("A4 B4 | A4 B4 | A4 B4 || A4 | A4 B4 | A4") == "P...P.P..."  # a short bar first is a pick-up


def test_a_pick_up_begins_a_phrase_and_the_bars_are_counted_from_the_one_after_it() -> None:
    notes = [[(69, "1/8")], *[[(69, "1/4"), (71, "1/4")]] * 5]
    found = phrase_starts(make_round([("A", 1, notes)], pickup="1/8"))
    assert found[0]
    assert [found[1 + 2 * bar] for bar in range(1, 5)] == [False, True, False, True]
    assert not found[1]
    assert not any(found[2::2])


def test_a_pick_up_of_a_later_part_leaves_its_phrases_where_they_are() -> None:
    """As reels and jigs have it: the last bar of a part is short, and what it lacks leads into the next part."""
    bar = [(69, "1/4"), (71, "1/4")]
    bars = [[(69, "1/8")], bar, bar, bar, [(69, "1/4"), (71, "1/8")]]
    found = phrase_starts(make_round([("A", 1, bars), ("B", 1, bars)], pickup="1/8"))
    assert "".join(".P"[start] for start in found) == "P....P..." + "P....P..."


def test_each_time_through_a_part_begins_a_phrase() -> None:
    bar = [(69, "1/4"), (71, "1/4")]
    found = phrase_starts(make_round([("A", 1, [bar]), ("A", 2, [bar]), ("B", 2, [bar])]))
    assert "".join(".P"[start] for start in found) == "P.P.P."


def test_the_gaps_say_where_phrases_start() -> None:
    assert [gap.phrase for gap in gaps("A4 B4 | A4 B4 | A4 B4")] == [True, False, False, False, True, False]


# Air


def drift(words: str, ways: list[Bellows | None], **changed: float) -> list[float]:
    round_ = tune(words)
    hand = replace(HAND, **changed)
    return imbalances(times_of(round_, hand.whole_note), ways, hand)


def test_air_is_weighed_on_notes_with_two_directions_by_those_around_with_one() -> None:
    """Around the third of six quavers: three pulled, two pushed, within a reach of the whole round."""
    ways = [PULL, PULL, None, PUSH, PULL, PUSH]
    words = "A4*10 A4*10 A4*10 A4*10 A4*10 A4*10"
    found = drift(words, ways, reach_of_air=1000.0, spare_air=0.0)
    ten = 10 * QUAVER
    # As far as a whole round each way: three pulled, two pushed in each of the two.
    assert found == [0.0, 0.0, pytest.approx(2 * ten), 0.0, 0.0, 0.0]


def test_what_is_spare_is_not_weighed_and_what_is_pushed_more_is_below_nought() -> None:
    words = "A4*8 A4*8 A4*8 A4*8"  # notes of 1.6 s
    long = 8 * QUAVER
    for way, sign in ((PULL, 1.0), (PUSH, -1.0)):
        ways = [way, way, None, way]
        whole = drift(words, ways, reach_of_air=1.1 * long, spare_air=0.0)
        assert whole[2] == pytest.approx(sign * round(2 * 2 * long) / 2)
        spared = drift(words, ways, reach_of_air=1.1 * long, spare_air=1.0)
        assert spared[2] == pytest.approx(sign * round(2 * (2 * long - 1.0)) / 2)
        assert drift(words, ways, reach_of_air=1.1 * long, spare_air=9.0)[2] == 0.0


def test_the_reach_of_air_goes_over_the_ends_of_the_round() -> None:
    """Around the first note: the one after it, and the last of the round before."""
    words = "A4*8 A4*8 A4*8 A4*8 A4*8"
    ways = [None, PULL, PUSH, PUSH, PULL]
    found = drift(words, ways, reach_of_air=1.1 * 8 * QUAVER, spare_air=0.0)
    assert found[0] == pytest.approx(round(2 * 2 * 8 * QUAVER) / 2)


def test_where_air_costs_nothing_or_nothing_is_open_nothing_is_weighed() -> None:
    assert drift("A4*8 A4*8", [PULL, None], air=0.0, spare_air=0.0) == [0.0, 0.0]
    assert drift("A4*8 A4*8", [PULL, PULL], spare_air=0.0) == [0.0, 0.0]


# The ring


def test_every_step_of_the_ring_costs_what_its_parts_say() -> None:
    round_ = tune("D4 E4 ~F#4 G4 | A4*16 E5 z B4/2 A4*16 | D4")
    table = StateTable(BC, HAND)
    ring = choices(round_, table, ornaments=TABLES.ornaments)
    assert ring.columns == tuple(table.states[note.pitch] for note in round_.notes)
    assert any(ring.drift)
    count = len(round_.notes)
    for k in range(count):
        after = (k + 1) % count
        seconds = ring.times.seconds(ring.times.lengths[after])
        for j, go in enumerate(ring.columns[after]):
            for i, come in enumerate(ring.columns[k]):
                parts = (
                    thousandths(step_parts(come, go, ring.gaps[after], HAND))
                    + thousandths(note_parts(go, ring.wants[after], HAND))
                    + thousandths(air_part(go, ring.drift[after], seconds, HAND))
                )
                assert ring.matrices[k][j][i] == parts


def test_only_notes_with_an_ornament_want_fingers_beside_them() -> None:
    ring = choices(tune("D4 ~F#4*3 G4"), StateTable(BC, HAND), ornaments=TABLES.ornaments)
    assert ring.wants == (PLAIN, FingerNeeds(True, True), PLAIN)


def test_the_same_step_is_worked_out_once() -> None:
    ring = choices(tune("D4 E4 D4 E4 D4 E4"), StateTable(BC, HAND), ornaments=TABLES.ornaments)
    assert ring.matrices[0] is ring.matrices[2]
    assert ring.columns[0] is ring.columns[2]


def test_a_pitch_with_one_direction_is_told_from_one_with_two() -> None:
    table = StateTable(BC, HAND)
    assert table.only_way[62] is PULL  # D4
    assert table.only_way[67] is PUSH  # G4
    assert table.only_way[76] is None  # E5


def test_pins_leave_the_states_that_they_allow_and_their_steps() -> None:
    round_ = tune("D4 E5 G4")
    table = StateTable(BC, HAND)
    free, ring = (
        choices(round_, table, ornaments=TABLES.ornaments),
        choices(round_, table, TABLES.ornaments, [Pin(1, row="B", finger=2)]),
    )
    assert ring.columns[1] == tuple(s for s in free.columns[1] if s.press.row == "B" and s.finger == 2)
    kept = [free.columns[1].index(state) for state in ring.columns[1]]
    assert ring.matrices[0] == [list(free.matrices[0][j]) for j in kept]
    assert ring.matrices[1] == [[row[i] for i in kept] for row in free.matrices[1]]
    assert ring.matrices[2] == free.matrices[2]
    assert ring.refused == free.refused == ()


def test_a_pin_and_the_tunes_own_finger_are_both_kept_where_they_can_be() -> None:
    table = StateTable(BC, HAND)
    ring = choices(tune("D4 E5!3 G4"), table, TABLES.ornaments, [Pin(1, row="B")])
    assert {(s.press.row, s.finger) for s in ring.columns[1]} == {("B", 3)}
    # Where they cannot, the pin stands, and the finger is said to be left out; each pin once, however often it comes.
    round_ = tune("D4 E5!3 G4 E5!3")
    twice = replace(round_, notes=(*round_.notes[:3], replace(round_.notes[3], written=1)))
    ring = choices(twice, table, TABLES.ornaments, [Pin(1, finger=2)])
    assert {s.finger for s in ring.columns[1]} == {s.finger for s in ring.columns[3]} == {2}
    assert len(ring.refused) == 1
    assert "note 2 (E5, bar 1) cannot be played as pinned (finger 3)" in ring.refused[0]
    assert "on row C, button 7, push or row B, button 8, pull, for fingers 1 to 4" in ring.refused[0]
