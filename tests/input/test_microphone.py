"""A microphone as a way in, by hand: its notes and their stamps, what it expects, how it goes away and comes back."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence

import numpy as np
import pytest

from companion.errors import UserError
from companion.hearing.ear import Ear
from companion.hearing.guess import own_ear
from companion.hearing.level import Fault
from companion.hearing.stream import LiveNote
from companion.input import capture, listening, microphone
from companion.input.capture import find_microphone, improved, list_microphones
from companion.input.chosen_ports import MICROPHONE, choose_port, chosen_port
from companion.input.events import EventKind
from companion.input.listening import open_listening
from companion.input.microphone import Microphone
from companion.screen.words import load_words
from tests.input.microphones import EAR, RATE, PlainHearing, Sound, WoundSource, sine, until


class Desk:
    """An open microphone, its source, and what hears it."""

    def __init__(self, hearing: Callable[[Ear, int], PlainHearing] = PlainHearing) -> None:
        self.source = WoundSource()
        self.came_back: WoundSource | None = None
        self.hearings: list[PlainHearing] = []
        self.ears = [EAR]

        def hear(ear: Ear, rate: int) -> PlainHearing:
            self.hearings.append(hearing(ear, rate))
            return self.hearings[-1]

        self.microphone = Microphone(self.source, lambda: self.ears[-1], self._reopen, hearing=hear)
        until(lambda: self.hearings)

    def _reopen(self, name: str) -> WoundSource:
        if self.came_back is None:
            raise OSError(f"no {name}")
        return self.came_back

    def put(self, *sounds: Sound) -> None:
        self.source.put(np.concatenate(sounds))
        until(lambda: self.source.empty)


@pytest.fixture
def desk(monkeypatch: pytest.MonkeyPatch) -> Iterator[Desk]:
    monkeypatch.setattr(microphone, "AGAIN", 0.01)
    one = Desk()
    yield one
    one.microphone.close()


def ons(desk: Desk, count: int) -> list[tuple[float, int]]:
    events = []

    def enough() -> bool:
        events.extend(desk.microphone.take_new())
        return sum(event.what is EventKind.ON for event in events) >= count

    until(enough)
    return [(event.stamp, event.pitch) for event in events if event.what is EventKind.ON]


REST = np.zeros(RATE // 5, np.float32)


def test_notes_come_with_the_moment_they_began(desk: Desk) -> None:
    desk.put(REST, sine(69, 0.3), REST, sine(74, 0.3), REST)
    (first, a), (second, d) = ons(desk, 2)
    assert (a, d) == (69, 74)
    assert first == pytest.approx(100.2, abs=0.03)
    assert second == pytest.approx(100.7, abs=0.03)


def test_each_note_ends_and_says_how_sure_it_is(desk: Desk) -> None:
    desk.put(REST, sine(69, 0.3), REST, REST)
    events = []
    until(lambda: events.extend(desk.microphone.take_new()) or len(events) >= 2)
    assert [(event.what, event.pitch) for event in events] == [(EventKind.ON, 69), (EventKind.OFF, 69)]
    assert events[0].sure == 0.9
    assert events[1].stamp - events[0].stamp == pytest.approx(0.3, abs=0.03)


def test_the_measured_delay_is_taken_off(desk: Desk) -> None:
    desk.microphone.late = 0.08
    desk.put(REST, sine(69, 0.3))
    assert ons(desk, 1)[0][0] == pytest.approx(100.12, abs=0.03)


def test_what_is_expected_is_told_before_the_next_sound(desk: Desk) -> None:
    desk.microphone.expect([62, 64])
    desk.put(REST)
    assert desk.hearings[0].told == [(62, 64)]
    desk.put(REST)
    assert desk.hearings[0].told == [(62, 64)]  # once


def test_what_we_play_ourselves_is_handed_over_frame_for_frame(desk: Desk) -> None:
    asked: list[tuple[float, int, int]] = []

    def played(stamp: float, frames: int, rate: int) -> Sound:
        asked.append((stamp, frames, rate))
        return np.full(frames, 0.5, np.float32)

    desk.microphone.playback = played
    desk.put(REST)
    assert sum(frames for _, frames, _ in asked) == len(REST)
    assert [stamp for stamp, _, _ in asked] == pytest.approx([100 + 256 / RATE * n for n in range(len(asked))])
    assert all(sound is not None and sound.min() == 0.5 for sound in desk.hearings[0].played)


def test_a_note_told_late_keeps_its_place_in_order() -> None:
    class Late(PlainHearing):
        """Tells of a note that was not expected after the one that followed it."""

        def take(self, block: Sound, playback: Sound | None = None) -> list[LiveNote]:
            if super().take(block, playback):
                return [LiveNote(0.3, 64, ends=False), LiveNote(0.25, 65, ends=False)]
            return []

    desk = Desk(Late)
    try:
        desk.put(REST, sine(69, 0.2))
        stamps = [stamp for stamp, _ in ons(desk, 2)]
    finally:
        desk.microphone.close()
    assert stamps == sorted(stamps)


def test_it_goes_away_and_comes_back(desk: Desk) -> None:
    desk.microphone.expect([70])
    desk.put(REST)
    desk.source.gone = True
    until(lambda: not desk.microphone.alive)
    assert desk.source.closed
    assert [news.there for news in desk.microphone.take_news()] == [False]
    assert [event.what for event in desk.microphone.take_new()] == [EventKind.SILENCE]
    desk.came_back = WoundSource(began=500.0)
    until(lambda: desk.microphone.alive)
    assert [news.there for news in desk.microphone.take_news()] == [True]
    desk.source = desk.came_back
    until(lambda: len(desk.hearings) == 2)
    desk.put(REST, sine(69, 0.3), REST)
    assert ons(desk, 1)[0] == (pytest.approx(500.2, abs=0.03), 69)
    assert desk.hearings[1].told[0] == (70,)  # what was asked for is asked for still


def test_one_that_sends_nothing_any_more_has_gone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(microphone, "STILL", 0.1)
    desk = Desk()
    try:
        desk.put(REST)
        until(lambda: not desk.microphone.alive)
    finally:
        desk.microphone.close()


def test_another_ear_is_taken_up_at_once(desk: Desk) -> None:
    assert not desk.microphone.guessed
    desk.microphone.hear_with(own_ear)
    until(lambda: len(desk.hearings) == 2)
    assert desk.microphone.guessed


def test_a_fault_of_ours_is_not_hidden() -> None:
    class Broken(PlainHearing):
        def take(self, *_given: Sound | None) -> list[LiveNote]:
            raise ZeroDivisionError

    desk = Desk(Broken)
    try:
        desk.source.put(REST)
        until(lambda: desk.microphone.waiting)
        with pytest.raises(ZeroDivisionError):
            desk.microphone.take_new()
    finally:
        desk.microphone.close()


def test_no_more_events_wait_than_there_is_room_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(microphone, "LIMIT", 3)
    desk = Desk()
    try:
        for _ in range(4):
            desk.put(REST, sine(69, 0.2))
        desk.put(REST)
        until(lambda: desk.microphone.dropped)
        assert len(desk.microphone.take_new()) == 3
    finally:
        desk.microphone.close()


# Which one is listened to


@pytest.fixture
def there(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Microphones by hand, by their names; none at first."""
    names: list[str] = []
    monkeypatch.setattr(capture, "list_microphones", lambda: tuple(names))
    monkeypatch.setattr(microphone, "list_microphones", lambda: tuple(names))
    monkeypatch.setattr(listening, "list_microphones", lambda: tuple(names))
    monkeypatch.setattr(microphone, "open_capture", WoundSource)
    monkeypatch.setattr(microphone, "find_microphone", find_microphone)
    monkeypatch.setattr(listening, "ear_for", lambda _box, _name: EAR)
    monkeypatch.setattr(
        Microphone.__init__, "__kwdefaults__", Microphone.__init__.__kwdefaults__ | {"hearing": PlainHearing}
    )
    return names


@pytest.fixture
def no_midi(monkeypatch: pytest.MonkeyPatch) -> None:
    from companion.input.ports import Ports

    monkeypatch.setattr(listening, "list_ports", lambda: Ports((), (), "none", "No MIDI here."))


def heard_through(**given: object) -> tuple[str, bool, str]:
    """The microphone that is listened to, whether the demonstration plays, and what is missing."""
    one = open_listening(None, None, standin=True, **given)  # type: ignore[arg-type]
    found = (one.microphone.name if one.microphone is not None else "", one.standin_on, one.missing)
    one.close()
    return found


@pytest.mark.usefixtures("no_midi", "there")
def test_with_no_microphone_the_demonstration_plays_as_ever() -> None:
    assert heard_through() == ("", True, "No MIDI here. A demonstration plays.")
    assert chosen_port(MICROPHONE) is None


@pytest.mark.usefixtures("no_midi")
def test_with_no_instrument_the_default_microphone_is_listened_to(there: list[str]) -> None:
    there += ["Desk", "Lid"]
    assert heard_through() == ("Desk", False, "")
    assert chosen_port(MICROPHONE) == "Desk"


@pytest.mark.usefixtures("no_midi")
def test_the_one_that_was_named_last_is_looked_for_first(there: list[str]) -> None:
    there += ["Desk", "Lid"]
    assert heard_through(microphone="lid")[0] == "Lid"
    assert heard_through()[0] == "Lid"
    there.remove("Lid")
    assert heard_through()[0] == "Desk"
    there.append("Lid")
    assert heard_through()[0] == "Lid"


@pytest.mark.usefixtures("no_midi")
def test_whoever_wants_none_is_not_listened_to(there: list[str]) -> None:
    there.append("Desk")
    assert heard_through(may_record=False)[0] == ""
    choose_port("", MICROPHONE)
    assert heard_through()[0] == ""


def test_an_instrument_comes_before_a_microphone(there: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    there.append("Desk")
    choose_port("Desk", MICROPHONE)
    monkeypatch.setattr(listening, "_open_instrument", lambda *_given: (WoundMidi(), ""))
    assert heard_through()[0] == ""
    assert heard_through(microphone="Desk")[0] == "Desk"  # unless it is named


class WoundMidi:
    """An instrument that is there and sends nothing."""

    name, controls, dropped, alive, waiting = "box", frozenset[int](), 0, True, False

    def expect(self, pitches: Sequence[int]) -> None:
        pass

    def close(self) -> None:
        pass


@pytest.mark.usefixtures("no_midi")
def test_only_the_first_use_is_announced(there: list[str]) -> None:
    there.append("Desk")
    first = open_listening(None, None, standin=True)
    first.close()
    again = open_listening(None, None, standin=True)
    again.close()
    assert (first.first_use, again.first_use) == (True, False)


def test_what_cannot_be_meant_is_said_in_one_sentence(there: list[str]) -> None:
    with pytest.raises(UserError, match="there is no microphone; plug one in, or allow"):
        find_microphone("Desk")
    there += ["Desk left", "Desk right"]
    with pytest.raises(UserError, match="more than one microphone fits “desk”; those there are: “Desk left”"):
        find_microphone("desk")
    with pytest.raises(UserError, match="there is no microphone “lid”"):
        find_microphone("lid")
    with pytest.raises(UserError, match="name only the one"):
        open_listening("box", None, standin=True, microphone="Desk left")


@pytest.mark.parametrize("fault", list(Fault))
def test_each_fault_has_a_sentence(fault: Fault) -> None:
    assert len(load_words()(f"microphone_{fault.value}")) > 30


@pytest.mark.usefixtures("no_midi")
def test_a_muted_microphone_is_told_of(there: list[str]) -> None:
    there.append("Desk")
    one = open_listening(None, None, standin=True)
    try:
        assert one.notice(lambda key, **_: key) == "microphone_first"
        assert one.microphone is not None
        source = one.microphone._source

        def told() -> bool:  # what comes while the ear is made is let go
            source.put(np.zeros(RATE // 10, np.float32))  # type: ignore[union-attr]
            return one.notice(lambda key, **_: key) == "microphone_muted"

        until(told)
    finally:
        one.close()


def test_sdl_without_a_real_device_has_no_microphone(monkeypatch: pytest.MonkeyPatch) -> None:
    for driver in ("dummy", "disk"):
        monkeypatch.setenv("SDL_AUDIODRIVER", driver)
        assert list_microphones() == ()
    assert os.environ["SDL_AUDIODRIVER"] == "disk"


def test_a_source_made_for_speech_is_known_by_its_name() -> None:
    assert improved("Built-in Audio (echo cancelled)")
    assert not improved("USB Audio Device Mono")
