"""Measuring a delay together with the player: a click, and what is played along with it."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING

from companion.hearing.ear import Ear, What
from companion.sound.delays import Delay, delay_of
from companion.sound.render import Renderer
from companion.sound.score import CLICK_FIRST, Passage, Tone, Voice
from companion.sound.settings import sound_settings
from companion.sound.transport import Follower

if TYPE_CHECKING:
    from companion.sound.speaker import DeviceSpeaker

BPM = 80.0
CLICKS, LISTENED = 24, 4  # in all, and those at the beginning that are only listened to


def clicks(rate: int) -> Passage:
    """The even click to play along with."""
    each = 60 / BPM
    tones = tuple(Tone(number * each, 0.1, CLICK_FIRST, 112, Voice.CLICK) for number in range(CLICKS))
    return Passage(tones, round(CLICKS * each * rate), 0, rate)


def measure(
    speaker: DeviceSpeaker, ear: Ear, follower: Follower | None = None, told: Callable[[int], None] | None = None
) -> Delay:
    """Play the click, on the speaker or on what follows it, and see how late the player's notes come in.

    Raises
    ------
    UserError : too few notes, or too uneven ones.
    """
    made = clicks(speaker.rate)
    ear.take_new()
    sound = Renderer(sound_settings().voices, rate=speaker.rate).render(made)
    first = speaker.queue(sound * 0 if follower is not None else sound, made.frames)
    if follower is not None:
        follower.queued(made, first)
    end = (first + made.frames) / speaker.rate + 0.3
    stamps: list[float] = []
    said = -1
    while speaker.now() < end:
        stamps += [event.stamp for event in ear.take_new() if event.what is What.ON]
        number = int((speaker.now() - first / speaker.rate) * BPM / 60)
        if told is not None and 0 <= number < CLICKS and number != said:
            said = number
            told(number)
        time.sleep(0.01)
    places = [first / speaker.rate + tone.start for tone in made.tones]
    hits = [speaker.place_of(stamp) for stamp in stamps]
    return delay_of(places, [hit for hit in hits if hit > places[LISTENED] - 30 / BPM])
