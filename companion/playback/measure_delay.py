"""Measures a delay together with the player: a click, and what you play along with it."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from math import floor
from typing import TYPE_CHECKING

from companion.input.events import Event, EventKind
from companion.input.midi_in import MidiIn
from companion.sound.delays import Delay, delay_of
from companion.sound.render import Renderer
from companion.sound.score import CLICK_FIRST, Passage, SoundVoice, Tone
from companion.sound.sound_settings import sound_settings
from companion.sound.transport import Follower

if TYPE_CHECKING:
    from companion.sound.speaker import DeviceSpeaker

BPM = 80.0
CLICKS, LISTENED = 24, 4  # in all, and those at the beginning that are only listened to


def clicks(rate: int) -> Passage:
    """The even click to play along with."""
    each = 60 / BPM
    tones = tuple(Tone(number * each, 0.1, CLICK_FIRST, 112, SoundVoice.CLICK) for number in range(CLICKS))
    return Passage(tones, round(CLICKS * each * rate), 0, rate)


class DelayMeasure:
    """A measure under way: `step` it until it gives the delay.

    The click sounds on the speaker, or on what follows it. `number` is the click that sounds now, counted from 0.
    """

    def __init__(self, speaker: DeviceSpeaker, follower: Follower | None = None) -> None:
        made = clicks(speaker.rate)
        sound = Renderer(sound_settings().voices, rate=speaker.rate).render(made)
        first = speaker.queue(sound * 0 if follower is not None else sound, made.frames)
        if follower is not None:
            follower.queued(made, first)
        self.number = -1
        self._speaker = speaker
        self._begins = first / speaker.rate
        self._end = (first + made.frames) / speaker.rate + 0.3
        self._places = [self._begins + tone.start for tone in made.tones]
        self._stamps: list[float] = []

    def step(self, events: Sequence[Event]) -> Delay | None:
        """Take what has come in since the last step; the delay once the clicks are over.

        Raises
        ------
        UserError : too few notes, or too uneven ones.
        """
        self._stamps += [event.stamp for event in events if event.what is EventKind.ON]
        now = self._speaker.now()
        if now < self._end:
            self.number = min(CLICKS - 1, floor((now - self._begins) * BPM / 60))
            return None
        hits = [self._speaker.place_of(stamp) for stamp in self._stamps]
        return delay_of(self._places, [hit for hit in hits if hit > self._places[LISTENED] - 30 / BPM])


def measure(
    speaker: DeviceSpeaker, ear: MidiIn, follower: Follower | None = None, told: Callable[[int], None] | None = None
) -> Delay:
    """Play the click, on the speaker or on what follows it, and see how late the player's notes come in.

    Raises
    ------
    UserError : too few notes, or too uneven ones.
    """
    ear.take_new()
    measuring = DelayMeasure(speaker, follower)
    said = -1
    while (found := measuring.step(ear.take_new())) is None:
        if told is not None and measuring.number > said:
            said = measuring.number
            told(said)
        time.sleep(0.01)
    return found
