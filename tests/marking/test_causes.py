"""Causes, on the layouts that come with the program: each slip named from the box's own table."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import pytest

from companion.box.box_values import Bellows, Press
from companion.marking.cause_table import CAUSES
from companion.marking.causes import slip_pitches, slips
from companion.marking.learner import Learner, simulate_take
from companion.marking.mark_values import Asked, Heard, Verdict
from companion.marking.marks import mark
from tests.marking.scoring import score
from tests.marking.small import BOX, LINE, PRESSES, asked_for, fingered
from tests.marking.tunes import QUAVER, made_tune
from tests.shipped_tables import TABLES


def cause(asked: tuple[Asked, ...], wrong: int, pitch: int) -> str | None:
    """The cause said when note `wrong` comes with another pitch."""
    heard = [Heard(LINE.seconds(a.at), pitch if k == wrong else a.pitch) for k, a in enumerate(asked)]
    return mark(asked, heard, timeline=LINE, fingering=fingered(asked), rules=TABLES.marks).notes[wrong].cause


# D4 is button 3 of the inner row on the pull; the same button gives C4 on the push (published chart of the layout).
@pytest.mark.parametrize(
    ("pitch", "expected"),
    [(60, "other-direction"), (65, "button-above"), (59, "button-below"), (61, "other-row"), (90, None)],
)
def test_slips_round_one_button(pitch: int, expected: str | None) -> None:
    assert cause(asked_for(69, 62, 78), 1, pitch) == expected


def test_the_slips_from_a_button_are_the_buttons_round_it() -> None:
    for bellows, other in ((Bellows.PUSH, Bellows.PULL), (Bellows.PULL, Bellows.PUSH)):
        assert slips(BOX, Press("C", 5, bellows)) == {
            "other-direction": [Press("C", 5, other)],
            "button-below": [Press("C", 4, bellows)],
            "button-above": [Press("C", 6, bellows)],
            "other-row": [Press("B", 5, bellows), Press("B", 6, bellows)],  # it lies between the two
        }
    assert slips(BOX, Press("B", 5, Bellows.PUSH))["other-row"] == [
        Press("C", 4, Bellows.PUSH), Press("C", 5, Bellows.PUSH)
    ]  # fmt: skip
    assert slips(BOX, Press("B", 1, Bellows.PUSH))["other-row"] == [Press("C", 1, Bellows.PUSH)]


def test_the_pitches_of_a_slip_are_those_of_the_buttons_round_it_and_of_the_notes_beside() -> None:
    asked = asked_for(62, 100, 101, 102)
    around = slip_pitches(asked, fingered(asked))
    # Round C3 on the pull: the push, the buttons above and below, the two beside it in the other row; the next note.
    assert around[0] == {60, 65, 59, 61, 64, 100}
    beside = [found & {62, 100, 101, 102} for found in around]
    assert beside == [{100}, {62, 101}, {100, 102}, {101}]


def test_the_next_note_weighs_more_where_it_was_left_out_after_it() -> None:
    """C4 for D4 is the same button on the push; where it is the next note too, and came only once, both are said."""
    asked = asked_for(69, 62, 60, 76, 74)
    heard = [Heard(LINE.seconds(a.at), 60 if k == 1 else a.pitch) for k, a in enumerate(asked)]
    assert (
        mark(asked, heard, timeline=LINE, fingering=fingered(asked), rules=TABLES.marks).notes[1].cause
        == "other-direction"
    )
    del heard[2]
    marks = mark(asked, heard, timeline=LINE, fingering=fingered(asked), rules=TABLES.marks)
    assert [note.verdict.value for note in marks.notes][1:3] == ["wrong", "missed"]
    assert marks.notes[1].cause == "other-direction+next-note"


def test_two_equal_causes_are_both_said() -> None:
    both = 0
    for pitch, press in PRESSES.items():
        found: dict[int, set[str]] = {}
        for name, presses in slips(BOX, press).items():
            for other in presses:
                came = BOX.pitch(other)
                if came is not None and came != pitch:
                    found.setdefault(came, set()).add(name)
        for came, names in found.items():
            # Neighbours of other pitches, so that nothing but the box explains it.
            said = cause(asked_for(100, pitch, 101), 1, came)
            assert said is not None
            assert set(said.split("+")) == names
            assert said.split("+") == [c for c in CAUSES if c in names]
            both += len(names) > 1
    assert both > 0


def test_the_next_note_too_early() -> None:
    asked = asked_for(62, 69, 81, 62)
    # 81 lies far from 69's button, and the note whose pitch it is was left out after it.
    heard = [Heard(0.0, 62), Heard(0.25, 81), Heard(0.75, 62)]
    assert (
        mark(asked, heard, timeline=LINE, fingering=fingered(asked), rules=TABLES.marks).notes[1].cause == "next-note"
    )


def test_the_note_before_again() -> None:
    # 81 lies far from 62's button, and comes a second time in its place.
    assert cause(asked_for(69, 81, 62, 78), 2, 81) == "note-before"


def test_the_bar_before_again() -> None:
    """The notes of the bar before, each in its place: the place was lost, whatever else would explain one of them."""
    asked = tuple(
        Asked(k, k * QUAVER, QUAVER, pitch)
        for k, pitch in enumerate((62, 66, 69, 74, 69, 66, 64, 67, 71, 76, 71, 67, 62, 66, 69, 74, 69, 66))
    )
    heard = [
        Heard(LINE.seconds(note.at), asked[k - 6].pitch if 6 <= k < 12 else note.pitch) for k, note in enumerate(asked)
    ]
    marks = mark(asked, heard, timeline=LINE, fingering=fingered(asked), rules=TABLES.marks)
    assert [note.verdict.value for note in marks.notes[6:12]] == ["wrong"] * 6
    assert {note.cause for note in marks.notes[6:12]} == {"bar-before"}
    assert {note.cause for note in marks.notes[:6]} | {note.cause for note in marks.notes[12:]} == {None}


def test_where_the_two_bars_are_alike_the_bar_before_is_right_and_the_place_is_lost_all_the_same() -> None:
    bars = ((62, 66, 69, 74, 69, 66), (64, 67, 69, 76, 71, 67), (62, 66, 69, 74, 69, 66))
    asked = asked_for(*(pitch for bar in bars for pitch in bar))
    heard = [
        Heard(LINE.seconds(note.at), asked[k - 6].pitch if 6 <= k < 12 else note.pitch) for k, note in enumerate(asked)
    ]
    notes = mark(asked, heard, timeline=LINE, fingering=fingered(asked), rules=TABLES.marks).notes
    assert [note.cause for note in notes[6:12]] == ["bar-before", "bar-before", None, *["bar-before"] * 3]


def test_wrong_notes_further_apart_are_no_run() -> None:
    """Two a button too high, and another a bar later, with a note left out before it: the hand was not off."""
    asked = made_tune(21)[:24]
    finger = fingered(asked)
    heard = []
    for k, note in enumerate(asked):
        press = finger.notes[k].press
        above = BOX.pitch(replace(press, button=press.button + 1))
        if k != 13:
            heard.append(Heard(LINE.seconds(note.at), above or note.pitch if k in (6, 7, 14) else note.pitch))
    marks = mark(asked, heard, timeline=LINE, fingering=finger, rules=TABLES.marks)
    assert [note.verdict.value for note in marks.notes if note.verdict is not Verdict.RIGHT].count("wrong") == 3
    assert not any("hand-above" in (note.cause or "") for note in marks.notes)


@pytest.mark.parametrize(("by", "said"), [(1, "hand-above"), (-1, "hand-below")])
def test_a_hand_one_button_off_for_a_phrase(by: int, said: str) -> None:
    asked = tuple(a for a in made_tune(21)[:24])
    finger = fingered(asked)
    heard = []
    for k, note in enumerate(asked):
        pitch = note.pitch
        if 8 <= k < 16:
            press = finger.notes[k].press
            pitch = BOX.pitch(replace(press, button=press.button + by)) or pitch
        heard.append(Heard(LINE.seconds(note.at), pitch))
    marks = mark(asked, heard, timeline=LINE, fingering=finger, rules=TABLES.marks)
    assert {n.cause for n in marks.notes[8:16]} == {said}


def test_late_where_the_bellows_turn() -> None:
    # G4 push and A4 pull lie on one button: a turn at every step.
    asked = asked_for(67, 69, 67, 69, 67, 69)
    late = {3: 0.12}
    heard = [Heard(LINE.seconds(a.at) + late.get(k, 0.0), a.pitch) for k, a in enumerate(asked)]
    marks = mark(asked, heard, timeline=LINE, fingering=fingered(asked), rules=TABLES.marks)
    assert [n.cause for n in marks.notes] == [None, None, None, "late-turn", None, None]


def test_a_wait_where_the_hand_moves() -> None:
    """In time it shows against the beat, with no clock against the pace of the notes; elsewhere a wait says nothing."""
    asked = asked_for(62, 69, 81, 78, 62, 69, 62, 69)
    plain = fingered(asked)
    for moves in (3, 5):
        notes = tuple(replace(one, reach=2 if k == moves else 0) for k, one in enumerate(plain.notes))
        finger = replace(plain, notes=notes)
        heard = [Heard(LINE.seconds(a.at) + (0.5 if k >= 3 else 0.0), a.pitch) for k, a in enumerate(asked)]
        causes = [note.cause for note in mark(asked, heard, timeline=None, fingering=finger, rules=TABLES.marks).notes]
        assert causes == [None, None, None, "hesitation" if moves == 3 else None, None, None, None, None]
        heard = [Heard(LINE.seconds(a.at) + (0.12 if k == 3 else 0.0), a.pitch) for k, a in enumerate(asked)]
        causes = [note.cause for note in mark(asked, heard, timeline=LINE, fingering=finger, rules=TABLES.marks).notes]
        turn = finger.notes[2].press.bellows is not finger.notes[3].press.bellows
        said = [name for name, fits in (("late-turn", turn), ("hesitation", moves == 3)) if fits]
        assert causes[3] == ("+".join(said) or None)


@pytest.mark.parametrize(("share", "said"), [(-0.3, "rushed-bar"), (0.18, "dragged-bar"), (0.05, None)])
def test_a_bar_that_runs_away_or_drags(share: float, said: str | None) -> None:
    asked = tuple(Asked(k, k * QUAVER, QUAVER, (62, 64, 66, 67, 69, 71)[k % 6]) for k in range(24))
    begins = LINE.seconds(Fraction(6, 8))
    heard = []
    for k, note in enumerate(asked):
        at = LINE.seconds(note.at)
        heard.append(Heard(at + (share * (at - begins) if 6 <= k < 12 else 0.0), note.pitch))
    marks = mark(asked, heard, timeline=LINE, fingering=fingered(asked), rules=TABLES.marks)
    assert {note.cause for k, note in enumerate(marks.notes) if not 6 <= k < 12} == {None}
    assert (said in {note.cause for note in marks.notes[6:12]}) if said else not any(n.cause for n in marks.notes)


def test_simulated_slips_are_named() -> None:
    caught = total = 0
    for seed in range(20):
        asked = made_tune(700 + seed)
        finger = fingered(asked)
        learner = Learner(wrong=0.08, missed=0.02, spread_ms=15.0)
        heard, truth = simulate_take(asked, LINE, learner, random.Random(seed), finger)
        found = score(mark(asked, heard, timeline=LINE, fingering=finger, rules=TABLES.marks), truth)
        caught, total = caught + found.causes, total + found.with_cause
    assert total > 100
    assert caught / total >= 0.95
