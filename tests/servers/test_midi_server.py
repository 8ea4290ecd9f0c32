"""The ear on real MIDI ports of a JACK server: nothing lost, the port may go and come back."""

from __future__ import annotations

import json
import random
import threading
import time
from collections.abc import Callable, Iterator
from fractions import Fraction
from typing import Any

import pytest

from companion.cli import ports_command as ports_command
from companion.cli.main import main
from companion.errors import UserError
from companion.input.chosen_ports import chosen_port
from companion.input.events import Event, EventKind
from companion.input.listening import open_listening
from companion.input.midi_in import MidiIn, open_midi_in
from companion.input.note_builder import Notes
from companion.input.ports import backend_name, list_ports
from companion.marking.learner import Learner, simulate_take
from companion.marking.mark_values import Heard
from companion.marking.marks import mark
from companion.notation import tune_index
from companion.places import shipped
from companion.timeline import Timeline
from tests.marking.tunes import made_tune
from tests.session.fakes import a_tune_in_hand
from tests.shipped_tables import TABLES

rtmidi = pytest.importorskip("rtmidi", reason="no python-rtmidi here")
pytestmark = pytest.mark.midi_server

PORT = "instrument:box"


def instrument() -> Any:
    """An instrument that has just been plugged in."""
    out = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name="instrument")
    out.open_virtual_port("box")
    return out


def until(holds: Callable[[], bool], seconds: float = 5.0) -> bool:
    """Wait for something to hold."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if holds():
            return True
        time.sleep(0.01)
    return holds()


@pytest.fixture
def box() -> Iterator[Any]:
    if not backend_name()[0].endswith("UNIX_JACK"):
        pytest.skip("this machine has an ALSA sequencer, so the ear does not listen to JACK")
    out = instrument()
    yield out
    out.delete()


def play(out: Any, heard: tuple[Heard, ...]) -> list[float]:
    """Send a take in real time, as note-on and note-off (every other one a note-on of velocity 0); when each began."""
    messages = []
    for k, note in enumerate(heard):
        off = [0x80 | note.channel, note.pitch, 64] if k % 2 else [0x90 | note.channel, note.pitch, 0]
        messages.append((note.seconds, 1, [0x90 | note.channel, note.pitch, note.velocity]))
        messages.append((note.end if note.end is not None else note.seconds + 0.05, 0, off))
    start = time.perf_counter()
    begun = []
    for at, begins, message in sorted(messages, key=lambda m: (m[0], m[1])):
        time.sleep(max(0.0, start + at - time.perf_counter()))
        if begins:
            begun.append(time.perf_counter())
        out.send_message(message)
    return begun


def heard_by(ear: MidiIn) -> tuple[Heard, ...]:
    """What an ear has heard, as notes."""
    notes = Notes()
    for event in ear.take_new():
        notes.take(event)
    return tuple(notes.heard)


@pytest.mark.usefixtures("box")
def test_the_port_is_listed_and_another_is_refused_with_the_list() -> None:
    assert PORT in list_ports().inputs
    with pytest.raises(UserError, match="instrument:box"):
        open_midi_in("no such port")


def test_a_take_over_a_port_arrives_whole_and_is_marked(box: Any) -> None:
    asked = made_tune(31)[:40]
    line = Timeline(300.0, Fraction(1, 4), Fraction(0), 0.2)
    sent, truth = simulate_take(asked, line, Learner(spread_ms=5.0, wrong=0.1, missed=0.05), random.Random(8))
    ear = open_midi_in(PORT)
    try:
        assert until(lambda: ear.alive)
        began = time.perf_counter()
        begun = play(box, sent)
        time.sleep(0.1)
        came = heard_by(ear)
    finally:
        ear.close()
    assert [note.pitch for note in came] == [note.pitch for note in sent]
    assert ear.dropped == 0
    late = [c.seconds - at for c, at in zip(came, begun, strict=True)]
    # One period of the server (256 frames, 5.3 ms) and what a busy machine adds.
    assert max(late) - min(late) < 0.05
    assert all(note.end is not None for note in came)
    marks = mark(asked, came, timeline=line.moved(began + 0.2), rules=TABLES.marks)
    said = {(n.written, n.verdict) for n in marks.notes if n.written is not None}
    assert said == {(t.written, t.verdict) for t in truth if t.written is not None}


def test_a_burst_arrives_whole(box: Any) -> None:
    ear = open_midi_in(PORT)
    try:
        for k in range(500):
            box.send_message([0x90, 30 + k % 60, 80])
            time.sleep(0.001)
        until(lambda: len(ear._events) >= 500, 2.0)
        assert [event.pitch for event in ear.take_new()] == [30 + k % 60 for k in range(500)]
        assert ear.dropped == 0
    finally:
        ear.close()


def test_the_port_goes_and_comes_back_fifty_times_in_mid_round() -> None:
    out = instrument()
    ear = open_midi_in(PORT)
    times = 50
    try:
        events: list[Event] = []
        for turn in range(times):
            out.send_message([0x90, 40 + turn, 80])
            assert until(lambda: bool(ear._events)), f"note {turn} did not arrive"
            out.delete()
            assert until(lambda: not ear.alive), "the port is gone, and the ear does not know"
            events += ear.take_new()
            # What was sounding when it went has ended.
            assert events[-1].what is EventKind.SILENCE
            out = instrument()
            assert until(lambda: ear.alive), "the port is back, and the ear does not know"
            # JACK loses what is sent in the very cycle in which a connection is made; nobody plays that soon.
            time.sleep(0.1)
        out.send_message([0x90, 100, 80])
        assert until(lambda: bool(ear._events))
        events += ear.take_new()
        assert [e.pitch for e in events if e.what is EventKind.ON] == [*range(40, 40 + times), 100]
        assert [news.there for news in ear.take_news()] == [False, True] * times
    finally:
        ear.close()
        out.delete()


def test_a_note_cut_off_by_the_plug_has_an_end() -> None:
    out = instrument()
    ear = open_midi_in(PORT)
    try:
        out.send_message([0x90, 62, 80])
        assert until(lambda: bool(ear._events))
        out.delete()
        assert until(lambda: not ear.alive)
        came = heard_by(ear)
    finally:
        ear.close()
    assert [note.pitch for note in came] == [62]
    assert came[0].end is not None


def test_a_tune_is_found_by_what_is_played_now(box: Any, capsys: pytest.CaptureFixture[str]) -> None:
    """`companion tunes --played` listens until a quiet, and finds the tune in any octave."""
    book = shipped("demo_tunes", "tanners_quay.abc")
    wanted = tune_index.listing(book).tunes[2]
    pitches = [60 + sum(wanted.intervals[:n]) for n in range(8)]

    def play() -> None:
        time.sleep(1.0)
        for pitch in pitches:
            box.send_message([0x90, pitch, 80])
            time.sleep(0.08)
            box.send_message([0x80, pitch, 0])

    player = threading.Thread(target=play)
    player.start()
    assert main(["tunes", str(book), "--played", "--json"]) == 0
    player.join()
    assert [tune["number"] for tune in json.loads(capsys.readouterr().out)["tunes"]] == [wanted.number]


def test_a_port_is_tried_out(box: Any, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ports_command, "SECONDS", 2.5)

    def play() -> None:
        time.sleep(1.2)
        for pitch in (62, 69):
            box.send_message([0x93, pitch, 77])
            time.sleep(0.05)

    player = threading.Thread(target=play)
    player.start()
    assert main(["ports", "--test", PORT]) == 0
    player.join()
    said = capsys.readouterr().out
    assert "D4, loudness 77, channel 4" in said
    assert "A4, loudness 77, channel 4" in said
    assert main(["ports", "--test", PORT]) == 2
    assert "nothing came in" in capsys.readouterr().err


@pytest.mark.usefixtures("box")
def test_the_port_that_was_named_is_found_again() -> None:
    other = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name="another")
    other.open_virtual_port("box")
    fingering = a_tune_in_hand()[0].fingering
    try:
        for named in (PORT, "another:box"):
            open_listening(named, fingering, standin=False).close()
            assert chosen_port() == named
            again = open_listening(None, fingering, standin=False)
            assert again._instrument is not None
            assert again._instrument.name == named
            again.close()
    finally:
        other.delete()
    # One that is not there is passed over.
    first = open_listening(None, fingering, standin=False)
    assert first._instrument is not None
    assert first._instrument.name == PORT
    first.close()


def test_a_pedal_has_a_port_of_its_own() -> None:
    """It is no instrument; it is found again; and what it sends comes in, whoever plays."""
    if not backend_name()[0].endswith("UNIX_JACK"):
        pytest.skip("this machine has an ALSA sequencer, so the ear does not listen to JACK")
    foot = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name="a foot")
    foot.open_virtual_port("switch")
    fingering = a_tune_in_hand()[0].fingering
    alone = open_listening(None, fingering, standin=True, controls=frozenset({64}), pedal="a foot:switch")
    try:
        assert alone.instrument is None
        assert alone.pedal is not None
        assert until(lambda: alone.pedal is not None and alone.pedal.alive)
        time.sleep(0.1)
        foot.send_message([0x90, 62, 80])
        foot.send_message([0xB0, 64, 127])
        came: list[Event] = []

        def pressed() -> bool:
            assert alone.new(lambda stamp: stamp) == []
            came.extend(alone.came)
            return bool(came)

        assert until(pressed)
        assert [(event.what, event.control) for event in came] == [(EventKind.CONTROL, 64)]
    finally:
        alone.close()
    out = instrument()
    both = open_listening(None, fingering, standin=False, controls=frozenset({64}))
    named = both.instrument.name if both.instrument else "", both.pedal.name if both.pedal else ""
    both.close()
    none = open_listening(None, fingering, standin=False, pedal="")
    assert none.pedal is None
    none.close()
    out.delete()
    foot.delete()
    assert named == (PORT, "a foot:switch")
