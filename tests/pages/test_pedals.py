"""Pedals and held buttons: what asks for something, and what does not."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from companion.errors import UserError
from companion.input.events import Event, EventKind
from companion.input.note_builder import Notes
from companion.pages.pedals import Pedals
from companion.places import shipped
from companion.screen.actions import Action
from companion.screen.pedal_table import PedalTable, load_pedals

SUSTAIN = 64


def nothing_asked(_pitch: int) -> float:
    return 0.0


def pedal(value: int, stamp: float = 0.0, control: int = SUSTAIN) -> Event:
    return Event(stamp, EventKind.CONTROL, velocity=value, control=control)


def note(stamp: float, pitch: int = 62, what: EventKind = EventKind.ON) -> Event:
    return Event(stamp, what, pitch, 80)


@pytest.fixture
def pedals() -> Pedals:
    return Pedals(PedalTable({SUSTAIN: Action.PAUSE, 67: Action.ON}, Action.PAUSE, 2.0))


def test_a_pedal_acts_once_as_it_goes_down(pedals: Pedals) -> None:
    assert [pedals.take(pedal(value)) for value in (0, 63, 64, 100, 127, 90, 64)] == [
        None, None, Action.PAUSE, None, None, None, None,
    ]  # fmt: skip
    assert pedals.take(pedal(0)) is None
    assert pedals.take(pedal(127)) is Action.PAUSE
    assert pedals.take(pedal(127, control=67)) is Action.ON
    assert pedals.take(pedal(127, control=11)) is None


def test_a_pedal_is_no_note() -> None:
    notes = Notes()
    assert notes.take(pedal(127)) is None
    assert notes.heard == []
    notes.take(note(0.0))
    notes.take(pedal(0, 0.5))
    assert notes.heard[0].end is None


def test_a_button_held_asks_once(pedals: Pedals) -> None:
    pedals.take(note(1.0))
    assert pedals.held(2.9, nothing_asked) is None
    assert pedals.held(3.0, nothing_asked) is Action.PAUSE
    assert pedals.held(3.1, nothing_asked) is None
    assert not pedals.holding(3.1, nothing_asked)
    pedals.take(note(4.0, what=EventKind.OFF))
    pedals.take(note(5.0))
    assert pedals.held(7.0, nothing_asked) is Action.PAUSE


def test_a_button_that_is_let_go_asks_for_nothing(pedals: Pedals) -> None:
    pedals.take(note(1.0))
    pedals.take(note(2.5, what=EventKind.OFF))
    pedals.take(note(2.6))
    pedals.take(Event(3.0, EventKind.SILENCE))
    assert pedals.held(9.0, nothing_asked) is None


def test_who_goes_on_playing_holds_nothing(pedals: Pedals) -> None:
    """Also where the end of a note was lost on its way: it must not pause the session in the middle of a tune."""
    pedals.take(note(0.0, 62))
    for beat in range(1, 8):
        pedals.take(note(float(beat), 64))
        pedals.take(note(beat + 0.8, 64, EventKind.OFF))
        assert pedals.held(beat + 0.9, nothing_asked) is None
        assert not pedals.holding(beat + 0.9, nothing_asked)


def test_what_the_round_asks_is_not_counted(pedals: Pedals) -> None:
    """A dotted minim at a slow tempo may take two seconds by itself."""

    def long_d(pitch: int) -> float:
        return 2.4 if pitch == 62 else 0.0

    pedals.take(note(0.0))
    assert not pedals.holding(2.8, long_d)
    assert pedals.held(4.3, long_d) is None
    assert pedals.holding(3.0, long_d)
    assert pedals.held(4.4, long_d) is Action.PAUSE


def test_it_can_be_switched_off() -> None:
    pedals = Pedals(PedalTable({}, Action.PAUSE, 0.0))
    pedals.take(note(0.0))
    assert pedals.held(60.0, nothing_asked) is None
    assert not pedals.holding(60.0, nothing_asked)


def test_every_action_of_playing_has_a_pedal_of_its_own() -> None:
    """What was gained is looked at afterwards, with free hands."""
    feet = load_pedals()
    assert {action for action in Action if not feet.controls_of(action)} == {Action.PROGRESS}
    assert feet.controls_of(Action.PAUSE)[0] == SUSTAIN


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[midi]\npause = ["note 3"]', "takes controllers"),
        ('[midi]\npause = ["control 123"]', "takes controllers"),
        ('[midi]\nfly = ["control 3"]', "fly is not something"),
        ('[midi]\npause = ["control 3"]\non = ["control 3"]', "controller 3 is given to pause and to on"),
        ("midi = 3", "must be a table"),
        ('[held]\ndoes = "fly"', "not something the program can do"),
        ('[held]\ndoes = "pause"\nseconds = "two"', "must be a number"),
        ("[midi", "not valid TOML"),
    ],
)
def test_a_broken_table(own_table: Callable[[str, str], Path], text: str, said: str) -> None:
    own_table("keys.toml", text)
    with pytest.raises(UserError, match=said):
        load_pedals()


def test_an_older_table_of_keys_still_has_pedals(own_table: Callable[[str, str], Path]) -> None:
    text = shipped("config", "keys.toml").read_text(encoding="utf-8")
    own_table("keys.toml", text[: text.index("# The same by MIDI")])
    assert load_pedals().controls_of(Action.PAUSE)[0] == SUSTAIN
