"""What is learnt of an instrument: how far it sounds from what is written, and the channel of the melody."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest

from companion.input.events import Event, EventKind
from companion.input.instrument import Instrument
from companion.marking.learner import Learner, simulate_take
from companion.marking.mark_values import Heard, Verdict
from companion.marking.shift import ENOUGH, shift_of
from companion.marking.take_marks import mark_take
from companion.timeline import Timeline
from tests.marking.tunes import made_tune
from tests.shipped_tables import TABLES

LINE = Timeline(120.0, Fraction(1, 4))


def moved(heard: tuple[Heard, ...], shift: int) -> tuple[Heard, ...]:
    return tuple(Heard(n.seconds, n.pitch + shift, n.velocity, n.channel, n.end) for n in heard)


@pytest.mark.parametrize("shift", [-24, -12, -5, -1, 1, 2, 12])
def test_a_shift_is_learnt_from_the_first_phrase_and_the_rest_marked_by_it(shift: int) -> None:
    for seed in range(5):
        asked = made_tune(60 + seed)
        learner = Learner(wrong=0.05, missed=0.03, extra=0.03)
        heard, truth = simulate_take(asked, LINE, learner, random.Random(seed))
        assert shift_of(asked, heard[:12]) == 0
        assert shift_of(asked, moved(heard, shift)[:16]) == shift
        found = mark_take(asked, moved(heard, shift), beat=Fraction(1, 4), rules=TABLES.marks)
        assert found.shift == shift
        right = sum(t.verdict is Verdict.RIGHT for t in truth)
        assert sum(n.verdict is Verdict.RIGHT for n in found.marks.notes) >= 0.97 * right


def test_other_notes_are_no_shift() -> None:
    asked, other = made_tune(70), made_tune(71)
    heard = tuple(Heard(LINE.seconds(a.at), a.pitch) for a in other)
    assert shift_of(asked, heard) == 0
    assert shift_of(asked, heard[: ENOUGH - 1]) == 0


def test_a_shift_counts_once_it_is_confirmed() -> None:
    asked = made_tune(72)
    heard = tuple(Heard(LINE.seconds(a.at), a.pitch - 12) for a in asked[:16])
    known = Instrument()
    event = Event(0.0, EventKind.ON, 50, 80, 0)
    assert known.learn_shift(asked, heard) == "heard"
    assert known.as_meant(event) == event
    assert known.learn_shift(asked, heard) == "confirmed"
    assert known.as_meant(event) == Event(0.0, EventKind.ON, 62, 80, 0)
    # What comes as it is meant is no further shift.
    assert known.learn_shift(asked, moved(heard, 12)) == ""


def test_two_different_shifts_confirm_nothing() -> None:
    asked = made_tune(72)
    heard = tuple(Heard(LINE.seconds(a.at), a.pitch - 12) for a in asked[:16])
    known = Instrument()
    assert [known.learn_shift(asked, moved(heard, by)) for by in (0, 5, 0)] == ["heard"] * 3
    assert known.shift == 0


def test_the_channel_of_the_melody_is_learnt_while_playing() -> None:
    asked = made_tune(73)
    tune = [Heard(LINE.seconds(a.at), a.pitch, channel=3) for a in asked]
    bass = [Heard(0.5 * k + 0.001, 43 + p, channel=1) for k in range(20) for p in (0, 12, 16)]
    known = Instrument()
    learnt = [known.learn_channel(asked, [note]) for note in sorted([*tune, *bass], key=lambda n: n.seconds)]
    assert learnt.count(True) == 1
    assert known.channel == 3
    assert known.as_meant(Event(9.0, EventKind.ON, 43, 80, 1)) is None
    assert known.as_meant(Event(9.0, EventKind.ON, 66, 80, 3)) is not None
    assert known.as_meant(Event(9.0, EventKind.SILENCE)) is not None
    alone = Instrument()
    assert not any(alone.learn_channel(asked, [note]) for note in tune)
