"""Thousands of rounds through one tape: what it keeps of them does not grow; each click is as loud as chosen."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from companion.playback.round_renderer import RoundRenderer, RoundSounds
from companion.practice.player_state import IN_TIME, RoundTask
from companion.practice.round_plan import begin
from companion.sound.score import Passage, SoundVoice, Tone
from tests.playback.test_rounds import RATE, TapeSpeaker
from tests.session.fakes import a_tune_in_hand

FRAMES = 3000  # of a round, long enough for a change of level within it


class Clicks:
    """In place of the renderer: 1 for clicks, nothing for the rest."""

    def render(self, made: Passage) -> NDArray[np.float32]:
        return np.full((FRAMES, 2), float(bool(made.tones)), np.float32)


class Desk:
    """Rounds of one click each, one queued ahead of the one that sounds."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        course, lesson = a_tune_in_hand()
        self.course = course
        self.going = begin(course, RoundTask(lesson.pieces[0], IN_TIME, 1.0), 1, 0.0, 0)
        self.sounding, self.speaker = RoundRenderer(RATE), TapeSpeaker()
        made = Passage((Tone(0.0, 0.01, 60, 100, SoundVoice.CLICK),), FRAMES, 0, RATE)
        monkeypatch.setattr(self.sounding, "_made", lambda *_: made)
        monkeypatch.setattr(self.sounding, "_renderer", Clicks())

    def queue(self, click: bool) -> None:
        self.sounding.queue(self.speaker, self.course, self.going, RoundSounds(click=click))

    def play(self) -> NDArray[np.float32]:
        self.speaker.wind(FRAMES)
        return self.speaker.out.pop()[:, 0]


@pytest.mark.parametrize("loudness", [1.0, 0.25])
@pytest.mark.parametrize("click", [True, False])
def test_thousands_of_rounds_leave_no_more_on_the_tape_than_a_few(
    click: bool, loudness: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = Desk(monkeypatch)
    desk.sounding.loudness(desk.speaker, loudness)
    desk.queue(click)
    for number in range(3000):
        desk.queue(click)
        out = desk.play()
        if number % 500 < 3:
            assert np.allclose(out[300:], loudness if click else 0.0)
    assert len(desk.speaker.tape._levels) <= 8
    assert len(desk.speaker.tape._laid) <= 8


def test_each_round_is_as_loud_as_was_chosen_when_it_was_queued_or_changed_since(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The names of the voices come round again: a level of long ago says nothing of the round now."""
    desk = Desk(monkeypatch)
    rng = np.random.default_rng(3)
    click, loudness = True, 1.0
    desk.queue(click)
    for _ in range(300):
        desk.queue(click)
        turned = rng.random()
        if turned < 0.3:
            click = not click
            desk.sounding.click(desk.speaker, click)
        elif turned < 0.5:
            loudness = float(rng.choice([0.25, 0.5, 1.0]))
            desk.sounding.loudness(desk.speaker, loudness)
        elif turned < 0.6:
            desk.speaker.cut()
            desk.queue(click)
            desk.queue(click)
        assert np.allclose(desk.play()[600:2900], loudness if click else 0.0)
