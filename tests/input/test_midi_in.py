"""The ear without a server: what it takes, counts and says; events made into notes; the stand-in player through it."""

from __future__ import annotations

import itertools
import os
import time
from fractions import Fraction
from pathlib import Path
from typing import Any

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.errors import UserError
from companion.input import ports
from companion.input.events import Event, EventKind
from companion.input.instrument import Instrument
from companion.input.midi_in import QUEUE_LIMIT, MidiIn, open_midi_in
from companion.input.note_builder import Notes
from companion.input.standin import NAME, StandIn, StandInRules, read_standin
from companion.marking.learner import Learner
from companion.marking.live import LiveMarker
from companion.marking.mark_values import Heard
from companion.marking.marks import mark
from companion.marking.two_hands import TwoHands, mark_melody
from companion.timeline import Timeline
from tests.marking.tunes import made_tune
from tests.shipped_tables import TABLES


class ByHand:
    """A port that sends what the test tells it to."""

    name = "by hand"
    callback: Any = None
    closed = False

    def close(self) -> None:
        self.closed = True


def counting() -> Any:
    """A clock that goes on by a second at each look."""
    return itertools.count().__next__


def test_messages_are_stamped_in_order() -> None:
    port = ByHand()
    ear = open_midi_in(port, clock=counting())
    for message in (
        mido.Message("note_on", note=62, velocity=80, channel=3),
        mido.Message("note_on", note=62, velocity=0, channel=3),
        mido.Message("active_sensing"),
        mido.Message("note_off", note=64),
        mido.Message("control_change", control=123, value=0),
    ):
        port.callback(message)
    assert ear.take_new() == [
        Event(0, EventKind.ON, 62, 80, 3),
        Event(1, EventKind.OFF, 62, 0, 3),
        Event(3, EventKind.OFF, 64, 0, 0),
        Event(4, EventKind.SILENCE),
    ]
    assert ear.take_new() == []
    ear.close()
    assert port.closed
    assert not ear.alive


def test_only_the_controllers_that_mean_something_are_passed_on() -> None:
    """An accordion may send its bellows as controller 11, hundreds of values a second."""
    port = ByHand()
    ear = open_midi_in(port, clock=counting())
    pedal = mido.Message("control_change", control=64, value=127, channel=2)
    port.callback(pedal)
    ear.controls = frozenset({64})
    for value in range(128):
        port.callback(mido.Message("control_change", control=11, value=value))
    port.callback(pedal)
    (event,) = ear.take_new()
    assert (event.what, event.control, event.velocity, event.channel, event.pitch) == (
        EventKind.CONTROL,
        64,
        127,
        2,
        -1,
    )


def test_a_full_queue_counts_what_it_drops() -> None:
    port = ByHand()
    ear = open_midi_in(port, limit=10)
    for k in range(25):
        port.callback(mido.Message("note_on", note=k))
    assert [event.pitch for event in ear.take_new()] == list(range(10))
    assert ear.dropped == 15


class Driver:
    """python-rtmidi's input, as far as it is used here: a queue of messages with the seconds since the one before."""

    def __init__(self) -> None:
        self.queue: list[tuple[list[int], float]] = []
        self.closed = False

    def get_message(self) -> tuple[list[int], float] | None:
        return self.queue.pop(0) if self.queue else None

    def get_ports(self) -> list[str]:
        return ["box"]

    def ignore_types(self, *kinds: bool) -> None:
        assert not any(kinds)

    def open_port(self, _number: int) -> None: ...

    def close_port(self) -> None: ...

    def delete(self) -> None:
        self.closed = True


def test_a_stamp_is_when_a_note_came_not_when_it_was_fetched(monkeypatch: pytest.MonkeyPatch) -> None:
    rtmidi = pytest.importorskip("rtmidi", reason="no python-rtmidi here")
    driver, now = Driver(), [10.0]
    monkeypatch.setattr(rtmidi, "MidiIn", lambda **_: driver)
    port = ports.open_input("box", "mido.backends.rtmidi/UNIX_JACK", lambda: now[0])
    assert port.take() == []
    now[0] = 10.5
    driver.queue = [([0x90, 62, 80], 0.0), ([0xFE], 0.125), ([0x90, 64, 80], 0.125), ([0xE0, 1], 0.0)]
    # The driver says nothing of the first one: it came after the last look. What is no note has its share of time.
    assert [(at, message.type) for at, message in port.take()] == [
        (10.0, "note_on"),
        (10.125, "active_sensing"),
        (10.25, "note_on"),
    ]
    # Whatever the driver says: not before the last look, and not later than now.
    now[0] = 11.0
    driver.queue = [([0x80, 62, 0], 0.0)]
    assert [at for at, _ in port.take()] == [10.5]
    now[0] = 12.0
    driver.queue = [([0x80, 64, 0], 99.0)]
    assert [at for at, _ in port.take()] == [12.0]
    port.close()
    assert driver.closed
    with pytest.raises(OSError, match="another"):
        ports.open_input("another", "mido.backends.rtmidi/UNIX_JACK", lambda: now[0])


def test_no_midi_is_one_line_and_no_exception(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(ports, "_SEQUENCER", tmp_path / "none")
    monkeypatch.setenv("JACK_DEFAULT_SERVER", "there is none of this name")
    found = ports.list_ports()
    assert found.inputs == ()
    assert found.problem.startswith("No MIDI:")
    assert "\n" not in found.problem
    with pytest.raises(UserError, match="No MIDI"):
        open_midi_in(None)


def test_names_without_their_numbers() -> None:
    assert ports.base_name("Box:Box MIDI 1 20:0") == "Box:Box MIDI 1"
    assert ports.base_name("instrument:box") == "instrument:box"


def test_notes_begin_and_end() -> None:
    notes = Notes(lambda stamp: stamp - 10.0)
    assert notes.take(Event(10.0, EventKind.ON, 62, 80)) == Heard(0.0, 62, 80)
    notes.take(Event(10.5, EventKind.ON, 62, 81))
    notes.take(Event(10.75, EventKind.OFF, 62))
    notes.take(Event(10.875, EventKind.ON, 64, 70, 1))
    notes.take(Event(11.0, EventKind.SILENCE))
    assert notes.clear() == (Heard(0.0, 62, 80, 0, 0.5), Heard(0.5, 62, 81, 0, 0.75), Heard(0.875, 64, 70, 1, 1.0))
    # An end whose note was handed over belongs to nothing that is left.
    notes.take(Event(11.1, EventKind.ON, 65, 80))
    notes.clear()
    notes.take(Event(11.25, EventKind.ON, 66, 80))
    notes.take(Event(11.3, EventKind.OFF, 65))
    assert notes.heard == [Heard(1.25, 66, 80)]


def test_notes_are_bounded() -> None:
    notes = Notes(limit=100)
    for k in range(1000):
        notes.take(Event(float(k), EventKind.ON, k % 128, 80))
    assert len(notes.heard) <= 100
    assert notes.heard[-1].seconds == 999.0


# Ten thousand of them by hand, some hundreds each time.
STREAMS = 10_000 if os.environ.get("BOX_COMPANION_WHOLE_CORPUS") else 300
BYTES = st.one_of(
    st.binary(min_size=1, max_size=3),
    st.tuples(st.integers(0x80, 0x9F), st.integers(40, 90), st.integers(0, 127)).map(bytes),
)


@settings(max_examples=STREAMS, deadline=None)
@given(st.lists(BYTES, max_size=120), st.booleans())
def test_any_stream_of_bytes_ends_in_sane_marks(stream: list[bytes], clocked: bool) -> None:
    """Any bytes in any order, notes that never end, on any channel: through the ear to the marks."""
    port = ByHand()
    ticks = itertools.count()
    ear = open_midi_in(port, clock=lambda: next(ticks) / 20, limit=100)
    parser = mido.Parser()
    for data in stream:
        parser.feed(data)
    for message in parser:
        port.callback(message)
    asked, line = made_tune(1)[:16], Timeline(120.0, Fraction(1, 4)) if clocked else None
    notes, known, live = Notes(limit=60), Instrument(), LiveMarker(asked, line, rules=TABLES.marks)
    hands = TwoHands(live, asked)
    for event in ear.take_new():
        meant = known.as_meant(event)
        begun = notes.take(meant) if meant is not None else None
        if begun is not None:
            hands.hear(begun)
            hands.until(begun.seconds)
            known.learn_channel(asked, [begun])
            known.learn_shift(asked, notes.heard)
    assert len(notes.heard) <= 60
    assert all(note.end is None or note.end >= note.seconds for note in notes.heard)
    marks = mark(asked, notes.heard, timeline=line, rules=TABLES.marks).notes
    assert [n.written for n in marks if n.written is not None] == list(range(16))
    assert sorted(n.heard for n in marks if n.heard is not None) == list(range(len(notes.heard)))
    melody = mark_melody(asked, notes.heard, timeline=line, rules=TABLES.marks).notes
    assert [n.written for n in melody if n.written is not None] == list(range(16))
    told = [n.heard for n in melody if n.heard is not None]
    assert len(set(told)) == len(told) <= len(notes.heard)


def test_a_flood_is_bounded_and_counted() -> None:
    """A minute of 1,000 notes a second that nobody fetches, then one fetch."""
    port = ByHand()
    ear = open_midi_in(port)
    message = mido.Message("note_on", note=60, velocity=80)
    for _ in range(60_000):
        port.callback(message)
    came = ear.take_new()
    assert len(came) == QUEUE_LIMIT
    assert ear.dropped == 60_000 - QUEUE_LIMIT


STEADY = StandInRules(Learner(bias_ms=0.0, spread_ms=3.0), 0.5, 0.8, 1.0)


def listen(seed: int, rules: StandInRules | None, notes: int = 12) -> tuple[list[Event], MidiIn, StandIn, float]:
    """What the ear hears of one quick round by the stand-in player."""
    asked = made_tune(2)[:notes]
    line = Timeline(600.0, Fraction(1, 4))
    port = StandIn(seed, rules)
    ear = open_midi_in(port)
    start = time.perf_counter() + 0.05
    port.play(asked, line, lambda seconds: start + seconds)
    end = start + line.seconds(asked[-1].at + asked[-1].length) + 0.1
    time.sleep(max(0.0, end - time.perf_counter()))
    return ear.take_new(), ear, port, start


def test_the_stand_in_plays_through_the_ear() -> None:
    events, ear, port, start = listen(1, STEADY)
    assert ear.name == NAME
    notes = Notes(lambda stamp: stamp - start)
    for event in events:
        notes.take(event)
    marks = mark(made_tune(2)[:12], notes.heard, timeline=Timeline(600.0, Fraction(1, 4)), rules=TABLES.marks)
    assert marks.clean
    assert all(note.end is not None for note in notes.heard)
    ear.close()
    assert port.closed


def test_the_stand_in_can_be_run_again() -> None:
    sloppy = StandInRules(Learner(wrong=0.3, missed=0.2, extra=0.2, spread_ms=5.0), 0.5, 0.8, 1.0)
    first, second, other = (
        [(e.what, e.pitch) for e in listen(seed, sloppy)[0] if e.what is EventKind.ON] for seed in (7, 7, 8)
    )
    assert first == second
    assert first != other


def test_the_stand_in_stops_at_once_and_leaves_nothing_sounding() -> None:
    asked = made_tune(2)
    port = StandIn(1, STEADY)
    ear = open_midi_in(port)
    start = time.perf_counter()
    port.play(asked, Timeline(120.0, Fraction(1, 4)), lambda seconds: start + seconds)
    time.sleep(0.4)
    port.stop()
    time.sleep(0.1)
    events = ear.take_new()
    assert sum(e.what is EventKind.ON for e in events) == sum(e.what is EventKind.OFF for e in events) > 0
    time.sleep(0.3)
    assert ear.take_new() == []
    ear.close()


def test_the_stand_in_gets_better() -> None:
    port = StandIn(1)
    asked = made_tune(2)[:4]
    clean = mark(asked, [Heard(float(a.at), a.pitch) for a in asked], timeline=None, rules=TABLES.marks)
    before = port.learner
    port.heard_marks(clean)
    after_one = port.learner
    assert after_one.wrong < before.wrong
    assert after_one.spread_ms < before.spread_ms
    for _ in range(30):
        port.heard_marks(clean)
    assert port.learner.wrong < 0.001
    assert port.learner.spread_ms == port.rules.least_spread_ms
    port.close()


def test_a_broken_table_of_the_stand_in_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "standin.toml"
    with pytest.raises(UserError, match="cannot be read"):
        read_standin(path)
    path.write_text("[timing\n")
    with pytest.raises(UserError, match="not valid TOML"):
        read_standin(path)
    path.write_text("[timing]\nbias_ms = 1\n")
    with pytest.raises(UserError, match=r"`timing\.spread_ms` is missing"):
        read_standin(path)
