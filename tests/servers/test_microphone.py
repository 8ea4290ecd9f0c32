"""A microphone on a real sound server: its stream loses nothing, its stamps are steady, it comes and goes."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from companion.hearing.level import Fault
from companion.input.capture import Capture, list_microphones
from companion.input.events import Event, EventKind
from companion.input.microphone import Microphone, open_capture
from tests.input.microphones import EAR, PlainHearing, Sound, sine, until
from tests.servers.room import NAME, Room, room

pytestmark = [pytest.mark.sound_server]

RATE = 44100
PITCHES = [62, 64, 66, 67, 69, 71, 73, 74]
EACH = 0.25  # seconds from one note to the next
STILL = 0.05  # seconds between two notes


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Room]:
    monkeypatch.setenv("SDL_AUDIODRIVER", "pulseaudio")
    with room(tmp_path) as made:
        yield made


@pytest.fixture
def listening(here: Room) -> Iterator[Microphone]:
    assert here.there
    assert NAME in list_microphones()
    one = Microphone(open_capture(NAME), lambda: EAR, _open, hearing=PlainHearing)
    until(lambda: one.level.fault is Fault.MUTED, 15)  # the server has woken: exact silence comes
    yield one
    one.close()


def _open(name: str) -> Capture:
    if name not in list_microphones():
        raise OSError(name)
    return Capture(name)


def take() -> Sound:
    still = np.zeros(round(STILL * RATE), np.float32)
    return np.concatenate([part for pitch in PITCHES for part in (sine(pitch, EACH - STILL), still)])


def heard(one: Microphone, count: int, seconds: float = 10.0) -> list[Event]:
    events: list[Event] = []

    def enough() -> bool:
        events.extend(event for event in one.take_new() if event.what is EventKind.ON)
        return len(events) >= count

    until(enough, seconds)
    return events


def test_a_take_in_the_room_is_heard_note_for_note_in_even_time(here: Room, listening: Microphone) -> None:
    begun = time.perf_counter()
    here.play(take(), RATE)
    events = heard(listening, len(PITCHES))
    assert [event.pitch for event in events] == PITCHES
    stamps = np.array([event.stamp for event in events])
    assert begun < stamps[0] < begun + 2
    # The plain hearing looks every 23 ms; the stamps themselves are far steadier.
    assert np.abs(np.diff(stamps) - EACH).max() < 0.03


def test_each_frame_has_a_steady_stamp_and_none_is_lost(here: Room) -> None:
    one = open_capture(NAME)
    try:
        here.play(sine(69, 6.0), RATE)
        frames, stamps, until_ = 0, [], time.perf_counter() + 6
        while time.perf_counter() < until_:
            block = one.take()
            if block is not None:
                assert block.place == frames
                frames += len(block.sound)
                stamps.append(block.stamp - block.place / one.rate)
            time.sleep(0.003)
    finally:
        one.close()
    settled = np.array(stamps[len(stamps) // 2 :])
    assert frames > 3 * one.rate
    assert np.ptp(settled) < 0.003


def test_a_muted_microphone_is_known_and_one_that_is_not_any_more(here: Room, listening: Microphone) -> None:
    here.play(sine(69, 20.0), RATE)
    until(lambda: listening.level.fault is None and listening.level.level > -20, 10)
    here.mute(True)
    until(lambda: listening.level.level < -100)
    here.mute(False)
    until(lambda: listening.level.level > -20)


def test_it_is_unplugged_in_the_middle_and_comes_back(here: Room, listening: Microphone) -> None:
    here.play(take(), RATE)
    heard(listening, 2)
    here.unplug()
    until(lambda: not listening.alive, 10)
    here.plug_in()
    until(lambda: listening.alive, 10)
    assert [news.there for news in listening.take_news()] == [False, True]
    until(lambda: listening.level.fault is Fault.MUTED, 15)
    listening.take_new()
    here.play(take(), RATE)
    assert [event.pitch for event in heard(listening, len(PITCHES))] == PITCHES


def test_it_costs_little(listening: Microphone) -> None:
    before, begun = time.process_time(), time.perf_counter()
    time.sleep(3)
    assert (time.process_time() - before) / (time.perf_counter() - begun) < 0.15  # other processes share the machine
    assert listening.alive
