"""Measures a delay: a click, and what you play along with it; or with a microphone, how late it hears the click."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from math import floor
from statistics import median
from typing import TYPE_CHECKING

from companion.errors import UserError
from companion.input.capture import Block
from companion.input.events import Event, EventKind
from companion.input.microphone import Microphone
from companion.input.midi_in import MidiIn
from companion.sound.delays import Delay, delay_of, keep_delay, kept_delay
from companion.sound.render import Renderer
from companion.sound.score import CLICK_FIRST, Passage, SoundVoice, Tone
from companion.sound.sound_settings import sound_settings
from companion.sound.transport import Follower

if TYPE_CHECKING:
    from companion.sound.speaker import DeviceSpeaker

BPM = 80.0
HEARD = "microphone"  # the kind of delay that a microphone has with a sound device
HEARD_CLICKS, HEARD_EACH = 8, 0.6  # heard by a microphone: how many, and seconds from one to the next
EARLY, MOST_LATE = 0.02, 0.5  # seconds: where a click is looked for
ALIKE = 0.004  # seconds by which clicks may differ
CLEAR = 12.0  # times the middle of all likenesses: a click was there
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


class HeardDelay:
    """A measure under way that needs no player: the microphone hears the click. `step` it until it gives the delay of
    loudspeaker, air and microphone together. `number` is the click that sounds now, counted from 0.
    """

    def __init__(self, speaker: DeviceSpeaker, microphone: Microphone) -> None:
        each = HEARD_EACH
        tones = tuple(Tone(n * each, 0.1, CLICK_FIRST, 112, SoundVoice.CLICK) for n in range(HEARD_CLICKS))
        made = Passage(tones, round(HEARD_CLICKS * each * speaker.rate), 0, speaker.rate)
        first = speaker.queue(Renderer(sound_settings().voices, rate=speaker.rate).render(made), made.frames)
        one = Passage(tones[:1], round(0.05 * microphone.rate), 0, microphone.rate)
        shape = Renderer(sound_settings().voices, rate=microphone.rate).render(one)
        self._shape = shape[: one.frames].mean(axis=1)
        self.number = -1
        self._speaker, self._microphone = speaker, microphone
        self._places = [first / speaker.rate + tone.start for tone in tones]
        self._end = self._places[-1] + each + MOST_LATE
        self._blocks: list[Block] = []
        microphone.tap = self._blocks.append

    def step(self) -> Delay | None:
        """The delay, once the clicks are over.

        Raises
        ------
        UserError : the microphone heard too few of them.
        """
        now = self._speaker.now()
        if now < self._end:
            self.number = min(HEARD_CLICKS - 1, floor((now - self._places[0]) / HEARD_EACH))
            return None
        self.stop()
        late = [found for place in self._places if (found := self._late(place)) is not None]
        middle = median(late) if late else 0.0
        near = [one for one in late if abs(one - middle) < ALIKE]
        if len(near) < HEARD_CLICKS // 2:
            raise UserError(
                "the microphone did not hear the click; take the headphones off, turn the sound up, and try again"
            )
        return Delay(median(near), median(abs(one - middle) for one in near), len(near))

    def stop(self) -> None:
        """Listen no more."""
        self._microphone.tap = None

    def _late(self, place: float) -> float | None:
        """How late a click at a place was heard, in seconds; None where it was not."""
        import numpy as np

        rate = self._microphone.rate
        near = [block for block in self._blocks if abs(self._speaker.place_of(block.stamp) - place) < HEARD_EACH]
        if not near:
            return None
        sound = np.concatenate([block.sound for block in near])
        begins = median(self._speaker.place_of(b.stamp) - (b.place - near[0].place) / rate for b in near)
        first = max(0, round((place - EARLY - begins) * rate))
        sound = sound[first : first + round((EARLY + MOST_LATE) * rate) + len(self._shape)]
        if len(sound) < 2 * len(self._shape):
            return None
        alike = np.abs(np.correlate(sound, self._shape, "valid"))
        best = int(alike.argmax())
        if alike[best] <= CLEAR * float(np.median(alike)):
            return None
        return begins + (first + best) / rate - place


def measure_heard(speaker: DeviceSpeaker, microphone: Microphone) -> Delay:
    """Play the click and hear how late it comes in at the microphone. Raises `UserError` where it was not heard."""
    measuring = HeardDelay(speaker, microphone)
    try:
        while (found := measuring.step()) is None:
            microphone.take_new()
            time.sleep(0.01)
    finally:
        measuring.stop()
    return found


def keep_heard(speaker: DeviceSpeaker, microphone: Microphone, seconds: float | None) -> None:
    """Keep the delay of a sound device and a microphone together, or forget it; it counts from now on."""
    keep_delay(HEARD, _both(speaker, microphone), seconds)
    join(speaker, microphone)


def join(speaker: DeviceSpeaker, microphone: Microphone | None) -> None:
    """Let a microphone know what sounds while it listens, and how late it hears that: to be done when either of them
    has become another, or what was measured of them."""
    if microphone is None:
        return
    kept = kept_delay(HEARD, _both(speaker, microphone))
    # What an instrument's notes are put right by is taken off all stamps; the microphone has its own delay.
    microphone.late = kept - speaker.delay if kept is not None else 0.0
    microphone.playback = speaker.played


def _both(speaker: DeviceSpeaker, microphone: Microphone) -> str:
    return f"{speaker.device} · {microphone.name}"


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
