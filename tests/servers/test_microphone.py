"""A microphone on a real sound server: its stream loses nothing, its stamps are steady, it comes and goes."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from difflib import SequenceMatcher
from pathlib import Path

import numpy as np
import pytest

from companion.box.layout import load_box
from companion.cli.main import main
from companion.hearing.level import Fault
from companion.hearing.stream import LiveNote
from companion.input.capture import Capture, list_microphones
from companion.input.events import Event, EventKind
from companion.input.listening import open_listening
from companion.input.microphone import Microphone, open_capture
from companion.pages import learn_box
from companion.pages.learn_box import LearnBox, presses_to_learn
from companion.playback.measure_delay import HEARD
from companion.screen.actions import Nav
from companion.screen.words import load_words
from companion.sound.delays import kept_delay
from companion.sound.speaker import open_speaker
from tests.hearing.sounds import SOUNDFONTS, Note, Voice, played
from tests.input.microphones import EAR, PlainHearing, Sound, sine, until
from tests.servers.room import AIR_NAME, NAME, Room, room

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


def test_the_delay_is_measured_by_the_click_alone(here: Room, capsys: pytest.CaptureFixture[str]) -> None:
    assert here.there
    assert main(["delay", "--device", AIR_NAME, "--microphone", "companion room"]) == 0
    kept = kept_delay(HEARD, f"{AIR_NAME} · {NAME}")
    assert kept is not None
    assert 0.0 < kept < 0.5
    told = re.search(rf"“{NAME}” hears the click (\d+) ms late", capsys.readouterr().out)
    assert told is not None
    assert abs(int(told[1]) - 1000 * kept) <= 1  # told in whole milliseconds, kept in tenths
    assert main(["delay", "--device", AIR_NAME, "--microphone", "--forget"]) == 0
    assert kept_delay(HEARD, f"{AIR_NAME} · {NAME}") is None


def test_a_click_that_is_not_heard_is_said(here: Room, capsys: pytest.CaptureFixture[str]) -> None:
    here.mute(True)
    assert main(["delay", "--device", AIR_NAME, "--microphone", NAME]) == 2
    assert "the microphone did not hear the click" in capsys.readouterr().err
    assert main(["delay", "--microphone", "nobody"]) == 2
    assert "there is no microphone “nobody”" in capsys.readouterr().err


def test_what_we_play_is_known_frame_for_frame_where_the_microphone_hears_it(here: Room) -> None:
    """What is handed over lies as far before what is heard as the delay is long, and stays there."""
    assert here.there
    speaker = open_speaker(device=AIR_NAME)
    heard: list[Sound] = []
    beside: list[Sound] = []

    class Keeps(PlainHearing):
        def take(self, block: Sound, playback: Sound | None = None) -> list[LiveNote]:
            heard.append(block)
            beside.append(playback if playback is not None else np.zeros(len(block), np.float32))
            return []

    one = Microphone(open_capture(NAME), lambda: EAR, _open, hearing=Keeps)
    try:
        one.playback = speaker.played
        until(lambda: one.level.fault is Fault.MUTED, 15)
        made = 0.2 * np.random.default_rng(1).standard_normal((4 * RATE, 2)).astype(np.float32)
        first = speaker.queue(made, len(made))
        until(lambda: speaker.now() > first / RATE + 4.3, 15)
    finally:
        one.close()
        speaker.close()
    sound, ours = np.concatenate(heard), np.concatenate(beside)
    start = int(np.flatnonzero(ours)[0])
    lags = []
    for at in (start + RATE // 2, start + RATE, start + 2 * RATE, start + 3 * RATE):
        piece = ours[at : at + 8192]
        alike = np.correlate(sound[at : at + 8192 + RATE // 3], piece, "valid")
        lags.append(int(alike.argmax()))
        near = sound[at + lags[-1] : at + lags[-1] + 8192]
        assert np.corrcoef(piece, near)[0, 1] > 0.99
    assert 0 < lags[0] < 0.3 * RATE
    # A busy sound server loses or repeats a few milliseconds now and then; the clock goes on evenly all the same.
    assert max(lags) - min(lags) <= 0.012 * RATE
    assert len(set(lags)) <= 3


def test_a_box_is_got_to_know_through_the_microphone(here: Room, monkeypatch: pytest.MonkeyPatch) -> None:
    """A sampled accordion plays button by button; what is learnt of it hears a tune on it without a fault."""
    if not SOUNDFONTS["timgm"].exists():
        pytest.skip("the package timgm6mb-soundfont is not installed")
    box, count = load_box("bc-21"), 5
    asked = presses_to_learn(box)[:count]
    monkeypatch.setattr(learn_box, "presses_to_learn", lambda _box: asked)
    pitches = [box.pitch(press) or 0 for press in asked]
    listening = open_listening(None, None, standin=False, microphone=NAME, box=box.id)
    page = LearnBox(box, listening, load_words())

    def play(notes: list[Note], seconds: float) -> None:
        sound = 0.4 * played(notes, Voice("timgm", 22), seconds)
        noise = 3e-4 * np.random.default_rng(1).standard_normal(len(sound))
        here.play((sound + noise).astype(np.float32), RATE)

    def seen(said: str) -> bool:
        page.step()
        listening.new(lambda stamp: stamp)
        return page.glance.said == load_words()(said, n=count)

    try:
        page.take(Nav.ENTER)
        play([Note(4 + 1.5 * n, 5.2 + 1.5 * n, pitch) for n, pitch in enumerate(pitches)], 4 + 1.5 * count + 1)
        until(lambda: seen("learn.left"), 40)
        page.take(Nav.ENTER)  # no left hand
        until(lambda: seen("learn.done"), 20)
        page.stop()
        assert listening.microphone is not None
        until(lambda: listening.microphone is not None and not listening.microphone.guessed, 10)
        time.sleep(2)  # the room's sound so far ends
        listening.new(lambda stamp: stamp)
        tune = [*pitches, *pitches[-2:0:-1]]
        listening.expect(tune)
        play([Note(1 + 0.3 * n, 1.26 + 0.3 * n, pitch) for n, pitch in enumerate(tune)], 0.3 * len(tune) + 3)
        heard: list[int] = []
        ends = time.monotonic() + 0.3 * len(tune) + 5
        while time.monotonic() < ends:
            heard += [note.pitch for note in listening.new(lambda stamp: stamp)]
            time.sleep(0.01)
        # How well is measured where hearing is tested; here it is enough that it is the tune.
        assert SequenceMatcher(None, heard, tune, autojunk=False).ratio() > 0.9, heard
    finally:
        listening.close()
