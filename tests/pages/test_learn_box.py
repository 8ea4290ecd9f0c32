"""The page on which a box gets known: what it asks for, that it goes on by itself, what it leaves, how it ends."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from companion.box.box_values import Bellows
from companion.box.layout import box_names, load_box
from companion.errors import UserError
from companion.hearing.ear import read_ear
from companion.hearing.level import LevelNow
from companion.input.capture import Block
from companion.input.ear_files import ear_for, ear_path
from companion.pages import learn_box
from companion.pages.learn_box import LearnBox, presses_to_learn
from companion.screen.actions import Action, Asked, Nav
from companion.screen.list_values import LearnPage
from companion.screen.page_values import HelpPage, Page
from companion.screen.words import load_words
from tests.hearing.test_take_in import RATE, Sound, reed, room
from tests.input.microphones import until
from tests.session.fakes import Bench

WORDS = load_words()
BOX = load_box("bc-21")


class Ears:
    """A microphone by hand, and what listens to it."""

    def __init__(self) -> None:
        self.name, self.rate, self.alive, self.level = "Desk", RATE, True, LevelNow()
        self.tap: Callable[[Block], None] | None = None
        self.microphone: Ears | None = self
        self.boxes: list[str] = []
        self.now = 0.0

    def hear_box(self, box: str) -> None:
        self.boxes.append(box)

    def sound(self, *sounds: Sound) -> None:
        sound = np.concatenate(sounds)
        sound = (sound + room(len(sound) / RATE + 1, seed=3)[: len(sound)]).astype(np.float32)
        assert self.tap is not None
        for at in range(0, len(sound), 4096):
            self.tap(Block(sound[at : at + 4096], at, self.now))
        self.now += len(sound) / RATE


@pytest.fixture
def ears() -> Ears:
    return Ears()


@pytest.fixture
def page(ears: Ears, monkeypatch: pytest.MonkeyPatch) -> LearnBox:
    """With four notes to learn."""
    monkeypatch.setattr(learn_box, "presses_to_learn", lambda box: presses_to_learn(box)[:4])
    return LearnBox(BOX, ears, WORDS, lambda: ears.now)  # type: ignore[arg-type]


def play(page: LearnBox, ears: Ears, *sounds: Sound) -> None:
    ears.sound(*sounds)
    page.step()


def to_the_left_hand(page: LearnBox, ears: Ears) -> None:
    page.take(Nav.ENTER)
    play(page, ears, room(2.2))
    for press in presses_to_learn(BOX)[:4]:
        assert page.glance.press == press
        play(page, ears, reed(BOX.pitch(press) or 0), room(0.2))


@pytest.mark.parametrize("name", box_names())
def test_every_note_of_a_box_is_asked_for_once(name: str) -> None:
    box = load_box(name)
    presses = presses_to_learn(box)
    every = {pitch for row in box.rows for pitch in (*row.push, *row.pull) if pitch is not None}
    assert sorted(box.pitch(press) or 0 for press in presses) == sorted(every)
    first = [press.bellows for press in presses[:2]]
    assert first == [Bellows.PUSH, Bellows.PULL]


def test_it_goes_from_the_room_through_the_notes_to_the_left_hand_and_ends_by_itself(
    page: LearnBox, ears: Ears
) -> None:
    assert page.glance.said == WORDS("learn.intro")
    to_the_left_hand(page, ears)
    assert page.glance.said == WORDS("learn.left")
    play(page, ears, room(6.0))
    play(page, ears, room(13.0))  # nobody plays basses
    until(lambda: page.step() or page.glance.said == WORDS("learn.done", n=4), 20)
    assert ears.boxes == ["bc-21"]
    assert not page.over
    ears.now += 5
    page.step()
    assert page.over
    page.stop()
    assert ears.tap is None
    pitches = sorted(BOX.pitch(press) or 0 for press in presses_to_learn(BOX)[:4])
    assert list(read_ear(ear_path("bc-21", "Desk")).pitches) == pitches
    assert not ear_for("bc-21", "Desk").guessed
    assert ear_for("bc-21", "Lid").guessed  # another microphone is another ear


def test_a_note_begins_it_with_no_hand_free(page: LearnBox, ears: Ears) -> None:
    ears.level = LevelNow(-20.0, -25.0)
    page.step()
    assert page.glance.said == WORDS("learn.room")


def test_another_note_is_told_kindly(page: LearnBox, ears: Ears) -> None:
    page.take(Nav.ENTER)
    play(page, ears, room(2.2))
    wanted = BOX.pitch(presses_to_learn(BOX)[0]) or 0
    play(page, ears, reed(wanted + 2, 3.0))
    assert page.glance.aside.startswith("That was ")
    assert f"button {presses_to_learn(BOX)[0].button}, push" in page.glance.aside


def test_it_can_be_left_at_any_time(page: LearnBox, ears: Ears) -> None:
    page.take(Nav.ENTER)
    play(page, ears, room(2.2))
    page.take(Nav.LEAVE)
    assert page.over
    assert not ear_path("bc-21", "Desk").exists()


def test_what_cannot_be_learnt_is_said_and_tried_again(
    page: LearnBox, ears: Ears, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_given: object) -> None:
        raise UserError("this recording is too loud")

    monkeypatch.setattr(learn_box, "learn_ear", fails)
    to_the_left_hand(page, ears)
    page.take(Nav.RIGHT)
    until(lambda: page.step() or page.glance.said == "this recording is too loud")
    assert not page.over
    page.take(Nav.ENTER)
    assert page.glance.said == WORDS("learn.room")


def test_a_fault_of_ours_is_told_as_ours(page: LearnBox, ears: Ears, monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(*_given: object) -> None:
        raise RuntimeError("index 3 is out of bounds")

    told: list[object] = []
    monkeypatch.setattr(threading, "excepthook", lambda fault: told.append(fault.exc_value))
    monkeypatch.setattr(learn_box, "learn_ear", breaks)
    to_the_left_hand(page, ears)
    page.take(Nav.RIGHT)
    until(lambda: (page.step() or page.glance.said == WORDS("learn.fault")) and bool(told))
    assert "index 3" in str(told)
    assert not page.over


def test_a_microphone_that_goes_is_told_of(page: LearnBox, ears: Ears) -> None:
    page.take(Nav.ENTER)
    ears.alive = False
    page.step()
    assert page.glance.aside == WORDS("microphone_gone")


def test_without_a_microphone_it_says_so(ears: Ears) -> None:
    ears.microphone = None
    page = LearnBox(BOX, ears, WORDS)  # type: ignore[arg-type]
    page.take(Nav.ENTER)
    assert page.glance.said == WORDS("learn.no_microphone")
    page.take(Nav.LEAVE)
    assert page.over


def test_over_a_session_it_is_a_page_like_the_others(tmp_path: Path, page: LearnBox, ears: Ears) -> None:
    bench = Bench(tmp_path)
    bench.pages.learn(page)

    def press(one: Asked) -> Page | None:
        bench.window.wanted = [one]
        bench.wind(0.1)
        return bench.pages.shown(bench.speaker.time)

    begun = press(Action.ON)  # a pedal
    assert isinstance(begun, LearnPage)
    assert begun.said == WORDS("learn.room")
    assert isinstance(press(Action.HELP), HelpPage)
    assert isinstance(press(Nav.LEAVE), LearnPage)
    assert not isinstance(press(Nav.LEAVE), LearnPage)
    assert not bench.pages.open
    assert ears.tap is None
