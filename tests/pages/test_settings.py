"""The settings page with a silent speaker and a port by hand: each change does what it says and is kept."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import mido
import numpy as np
import pytest

from companion.box.layout import box_names, load_box
from companion.errors import UserError
from companion.input import listening
from companion.input.chosen_ports import MICROPHONE, PEDAL, chosen_port
from companion.input.ear_files import ear_path
from companion.input.events import EventKind
from companion.input.listening import Listening
from companion.input.midi_in import open_midi_in
from companion.input.ports import Ports, base_name
from companion.pages import settings_page, settings_tests
from companion.pages.player_choices import PlayerChoices, load_choices
from companion.pages.settings_page import SettingsPage, keep_looks
from companion.pages.settings_tests import presses
from companion.playback import measure_delay
from companion.playback.measure_delay import HEARD
from companion.playback.round_renderer import RoundRenderer
from companion.screen.actions import Nav, Picked
from companion.screen.window import Window, open_window
from companion.screen.words import load_words
from companion.sound.delays import keep_delay, kept_delay
from companion.sound.speaker import DeviceSpeaker, open_speaker
from tests.input.microphones import EAR, PlainHearing, WoundSource, sine, until


class ByHand:
    """A port that sends what the test tells it to."""

    name = "by hand"
    callback: Callable[[Any], None] | None = None

    def send(self, kind: str, **values: int) -> None:
        assert self.callback is not None
        self.callback(mido.Message(kind, **values))

    def close(self) -> None:
        pass


@dataclass
class Table:
    """A settings page, and what it changes."""

    page: SettingsPage
    port: ByHand
    speaker: DeviceSpeaker
    listening: Listening
    window: Window

    def row(self, name: str) -> int:
        return next(n for n, row in enumerate(self.page.glance.rows) if row.id == name)

    def result(self, name: str) -> str:
        return self.page.glance.rows[self.row(name)].result

    def value(self, name: str) -> str:
        return self.page.glance.rows[self.row(name)].value

    def step(self) -> None:
        self.listening.new(self.speaker.time_of)
        self.page.step(self.listening.came)

    def touch(self, name: str, part: str) -> None:
        self.page.take(Picked(self.row(name), part))
        self.step()


@pytest.fixture
def table(monkeypatch: pytest.MonkeyPatch) -> Iterator[Table]:
    monkeypatch.setenv("SDL_AUDIODRIVER", "dummy")
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER"):
        monkeypatch.delenv(name, raising=False)
    port, speaker, window = ByHand(), open_speaker(), open_window((800, 480))
    listening = Listening(open_midi_in(port), None, standin=True, controls=frozenset({64}))
    page = SettingsPage(PlayerChoices(), speaker, RoundRenderer(speaker.rate), listening, window, load_words())
    yield Table(page, port, speaker, listening, window)
    listening.close()
    speaker.close()
    window.close()


def test_the_box_is_chosen_and_its_test_names_buttons(table: Table) -> None:
    table.touch("box", "test")
    assert table.result("box") == "play a note"
    table.port.send("note_on", note=62, velocity=70)
    table.step()
    assert table.result("box") == "D4: C 3 pull"
    table.port.send("note_on", note=20, velocity=70)
    table.step()
    assert table.result("box").endswith("not on this box")
    names = box_names()
    table.touch("box", "more")
    assert table.page.box == names[(names.index("bc-21") + 1) % len(names)]
    assert load_choices().box == table.page.box
    assert table.value("box") == load_box(table.page.box).name
    assert table.result("box") == ""


def test_a_pedal_on_a_port_of_its_own(table: Table, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only its pedals count: what else it sends is no note of the instrument's."""
    foot = ByHand()
    foot.name = "foot"
    monkeypatch.setattr(listening, "open_midi_in", lambda _: open_midi_in(foot))
    assert table.value("pedal") == "on the instrument"
    table.listening.take_pedal("foot")
    assert chosen_port(PEDAL) == "foot"
    foot.send("note_on", note=62, velocity=70)
    foot.send("control_change", control=64, value=127)
    foot.send("control_change", control=11, value=127)
    table.port.send("note_on", note=69, velocity=81)
    assert table.listening.new(table.speaker.time_of) == []
    assert [(event.what, event.pitch, event.control) for event in table.listening.came] == [
        (EventKind.ON, 69, -1),
        (EventKind.CONTROL, -1, 64),
    ]
    assert [event.pitch for event in table.listening.meant] == [69]
    page = SettingsPage(
        PlayerChoices(), table.speaker, RoundRenderer(table.speaker.rate), table.listening, table.window, load_words()
    )
    row = next(n for n, one in enumerate(page.glance.rows) if one.id == "pedal")
    assert page.glance.rows[row].value == "foot"
    page.take(Picked(row, "test"))
    foot.send("control_change", control=64, value=127)
    table.listening.new(table.speaker.time_of)
    page.step(table.listening.came)
    assert page.glance.rows[row].result == "pedal 64"
    page.take(Picked(row, "less"))
    assert page.glance.rows[row].value == "on the instrument"
    assert table.listening.pedal is None
    assert chosen_port(PEDAL) is None


def test_every_button_of_a_pitch_is_named() -> None:
    """On a B/C, E is on both rows: the outer pulls it, the inner pushes it."""
    found = {(one.row, one.bellows.value) for one in presses(load_box("bc-21"), 64)}
    assert found == {("B", "pull"), ("C", "push")}


def test_the_instrument_is_listened_to(table: Table, monkeypatch: pytest.MonkeyPatch) -> None:
    table.touch("port", "test")
    table.port.send("note_on", note=69, velocity=81)
    table.step()
    assert table.result("port") == "A4, loudness 81"
    table.port.send("control_change", control=64, value=127)
    table.step()
    assert table.result("port") == "pedal 64"
    monkeypatch.setattr(settings_tests, "SECONDS", 0.0)
    table.touch("port", "test")
    table.step()
    assert table.result("port") == "nothing heard"


@pytest.mark.parametrize("name", ["Midi Through Port-0 14:0", "RtMidi output 128:0", "Box 20:0"])
@pytest.mark.parametrize("there", [True, False], ids=["there", "unplugged since"])
def test_an_input_that_was_named_is_shown_and_stays_chosen(
    table: Table, name: str, there: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever its name is like: those named like a program are only not offered."""
    port, other = ByHand(), ByHand()
    port.name, other.name = name, "Other 24:0"
    inputs = ("Midi Through Port-0 14:0", "RtMidi output 128:0", "Other 24:0", *([name] if there else []))
    monkeypatch.setattr("companion.pages.settings_page.list_ports", lambda: Ports(inputs, (), "by hand"))
    opened = {"Other 24:0": other, base_name(name): port, name: port}
    monkeypatch.setattr(listening, "open_midi_in", lambda wanted: open_midi_in(opened.get(wanted, wanted)))
    heard = listening.open_listening(name, None, standin=True)
    page = SettingsPage(PlayerChoices(), table.speaker, RoundRenderer(44100), heard, table.window, load_words())
    row = table.row("port")
    assert page.glance.rows[row].value == base_name(name)
    page.take(Picked(row, "less"))
    assert page.glance.rows[row].value == chosen_port() == "Other"
    page.take(Picked(row, "more"))
    assert page.glance.rows[row].value == chosen_port() == base_name(name)
    heard.close()


def test_without_an_instrument_the_tests_say_so(table: Table) -> None:
    lone = Listening(None, None, standin=True)
    page = SettingsPage(PlayerChoices(), table.speaker, RoundRenderer(44100), lone, table.window, load_words())
    for name in ("box", "port", "delay"):
        page.take(Picked(table.row(name), "test"))
        page.step([])
        assert page.glance.rows[table.row(name)].result == "No instrument and no microphone found"
        assert not page.testing
    lone.close()


def test_no_sound_is_said(table: Table) -> None:
    for name in ("device", "level", "delay"):
        table.touch(name, "test")
        assert table.result(name) == "no sound device"


def test_a_sample_is_played(table: Table) -> None:
    table.speaker.missing = ""
    before = table.speaker.queued_until()
    table.touch("level", "test")
    assert table.result("level") == "playing"
    assert table.speaker.queued_until() > before + 44100
    table.page.take(Nav.DOWN)  # leaving the row stops it
    assert not table.page.testing
    table.touch("level", "test")
    end = time.monotonic() + 10
    while table.page.testing and time.monotonic() < end:
        table.step()
        time.sleep(0.01)
    assert table.result("level") == "played"


def test_the_level_is_heard_and_kept(table: Table, monkeypatch: pytest.MonkeyPatch) -> None:
    levels: dict[str, float] = {}
    monkeypatch.setattr(table.speaker, "level", lambda voice, factor: levels.update({voice: factor}))
    table.touch("level", "less")
    table.touch("level", "less")
    assert table.value("level") == "80 %"
    assert levels[""] == pytest.approx(0.64)
    assert load_choices().level == 80


def test_the_delay_is_measured_with_the_player_and_kept(table: Table, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(measure_delay, "BPM", 600.0)
    table.speaker.missing = ""
    table.touch("delay", "test")
    trial = table.page._trial
    assert isinstance(trial, settings_tests.MeasureTest)
    places = trial._measuring._places[measure_delay.LISTENED :]
    said = set()
    while table.page.testing:
        if places and table.speaker.now() >= places[0] + 0.03:
            places.pop(0)
            table.port.send("note_on", note=69, velocity=80)
        table.step()
        said.add(table.result("delay"))
        time.sleep(0.001)
    assert any(one.startswith("listen") for one in said)
    assert "play along: 20 of 20" in said
    kept = kept_delay("sound", "")
    assert kept is not None
    assert 0.02 < kept < 0.06
    assert table.speaker.delay == pytest.approx(kept, abs=1e-4)
    shown, unit = table.result("delay").split(",")[0].split()
    assert unit == "ms"
    assert int(shown) == pytest.approx(1000 * kept, abs=1)
    stepped = int(table.value("delay").removesuffix(" ms"))
    assert stepped == pytest.approx(1000 * kept, abs=3)
    table.touch("delay", "less")
    assert kept_delay("sound", "") == pytest.approx((stepped - 5) / 1000)


def test_too_few_notes_are_said(table: Table, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(measure_delay, "BPM", 2400.0)
    table.speaker.missing = ""
    table.touch("delay", "test")
    while table.page.testing:
        table.step()
        time.sleep(0.005)
    assert "0 notes were heard" in table.result("delay")
    assert kept_delay("sound", "") is None


def test_a_device_that_does_not_open_is_left(table: Table) -> None:
    table.page._devices.append("No Such Device")
    table.page._again("device", "")
    table.touch("device", "less")
    assert table.result("device") == "won't open"
    assert table.value("device") == "the default device"
    assert load_choices().device == ""
    assert table.speaker.device == ""


def test_another_port_is_listened_to_and_remembered(table: Table, monkeypatch: pytest.MonkeyPatch) -> None:
    from companion.input.chosen_ports import chosen_port

    other = ByHand()
    other.name = "other box"
    monkeypatch.setattr("companion.input.listening.open_midi_in", lambda _name: open_midi_in(other))
    table.page._ports = ["by hand", "other box"]
    table.page._again("port", "")
    table.touch("port", "more")
    assert table.value("port") == "other box"
    assert chosen_port() == "other box"
    assert not table.listening.standin_on
    table.touch("port", "test")
    other.send("control_change", control=64, value=127)
    table.step()
    assert table.result("port") == "pedal 64"

    def refuses(_name: str) -> None:
        raise UserError("The MIDI input is in use.")

    monkeypatch.setattr("companion.input.listening.open_midi_in", refuses)
    table.touch("port", "less")
    assert table.result("port") == "The MIDI input is in use."
    assert table.value("port") == "other box"


def test_the_look_is_changed_at_once_and_kept(table: Table) -> None:
    for name in ("theme", "text", "facing", "hand", "motion", "names", "staff"):
        table.touch(name, "more")
    look = table.window.look
    assert (look.text, look.facing.value, look.left_handed, look.reduced_motion) == (1.15, "mirrored", True, True)
    assert (look.names, look.staff) == (True, True)
    own = load_choices()
    assert own.look == look
    assert own.theme == table.window.theme == "light"
    table.touch("wait", "more")
    assert load_choices().calm_wait == 12.0


def test_a_look_that_was_changed_by_key_is_kept_too(table: Table) -> None:
    from companion.screen.actions import Action

    begun = load_choices()
    keep_looks(table.window, begun)
    assert load_choices() == PlayerChoices()
    table.window.change_look(Action.THEME)
    keep_looks(table.window, begun)
    assert load_choices().theme == "light"


class AtHand:
    """Microphones by hand: two are there."""

    names = ("Lid", "Desk")


@pytest.fixture
def microphones(monkeypatch: pytest.MonkeyPatch) -> type[AtHand]:
    from companion.input import microphone as through
    from companion.input.microphone import Microphone

    for module in (through, listening, settings_page):
        monkeypatch.setattr(module, "list_microphones", lambda: AtHand.names)
    monkeypatch.setattr(through, "find_microphone", lambda name: name)
    monkeypatch.setattr(through, "open_capture", WoundSource)
    monkeypatch.setattr(listening, "ear_for", lambda _box, _name: EAR)
    usual = Microphone.__init__.__kwdefaults__ | {"hearing": PlainHearing}
    monkeypatch.setattr(Microphone.__init__, "__kwdefaults__", usual)
    return AtHand


@pytest.mark.usefixtures("microphones")
def test_a_microphone_is_chosen_its_level_moves_and_its_test_names_notes(table: Table) -> None:
    page = table.page = SettingsPage(
        PlayerChoices(), table.speaker, RoundRenderer(table.speaker.rate), table.listening, table.window, load_words()
    )
    assert table.value("microphone") == "none"
    table.touch("microphone", "more")
    assert (table.value("microphone"), table.value("port")) == ("Lid", "none")
    assert chosen_port(MICROPHONE) == "Lid"
    here = table.listening.microphone
    assert here is not None
    assert here.playback is not None  # it knows what we play
    table.touch("microphone", "test")
    here._source.put(np.concatenate((np.zeros(4096, np.float32), sine(69, 0.4))))  # type: ignore[union-attr]
    until(lambda: table.step() or table.result("microphone") == "heard: A4")
    level = page.glance.rows[table.row("microphone")].level
    assert level is not None
    assert level > 0.5
    table.touch("microphone", "less")
    assert table.listening.microphone is None
    assert chosen_port(MICROPHONE) is None


@pytest.mark.usefixtures("microphones")
def test_learning_the_box_is_asked_for_through_the_first_microphone(table: Table) -> None:
    page = table.page = SettingsPage(
        PlayerChoices(), table.speaker, RoundRenderer(table.speaker.rate), table.listening, table.window, load_words()
    )
    assert table.value("ear") == "not learnt yet"
    assert page.learning() is None
    table.touch("ear", "test")
    learning = page.learning()
    assert learning is not None
    assert learning.glance.said == load_words()("learn.intro")
    assert page.learning() is None  # once
    assert table.value("microphone") == "Lid"
    path = ear_path("bc-21", "Lid")
    path.parent.mkdir(parents=True)
    path.write_bytes(b"")
    page.learnt()
    assert table.value("ear") == "learnt"


@pytest.mark.usefixtures("microphones")
def test_the_delay_of_a_microphone_is_its_own(table: Table) -> None:
    keep_delay("sound", "", 0.03)
    table.speaker.use(None)
    table.speaker.delay = 0.03
    table.page = SettingsPage(
        PlayerChoices(), table.speaker, RoundRenderer(table.speaker.rate), table.listening, table.window, load_words()
    )
    assert table.value("delay") == "30 ms"
    keep_delay(HEARD, " · Lid", 0.075)
    table.touch("microphone", "more")
    assert table.value("delay") == "75 ms"
    table.touch("delay", "more")
    assert kept_delay(HEARD, " · Lid") == 0.08
    assert kept_delay("sound", "") == 0.03
    here = table.listening.microphone
    assert here is not None
    assert here.late == pytest.approx(0.05)  # the speaker takes the rest off
    table.touch("delay", "test")
    assert table.result("delay") == "no sound device"
