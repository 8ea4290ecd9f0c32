"""The tests beside the settings: each is stepped, says in a few words how far it is, and can be left at any time."""

from __future__ import annotations

import time
from collections.abc import Sequence
from typing import TYPE_CHECKING, Protocol

from companion.box.box_values import Bellows, Box, Press
from companion.box.pitch_names import name_of
from companion.errors import UserError
from companion.input.events import Event, EventKind
from companion.input.microphone import Microphone
from companion.playback.measure_delay import (
    CLICKS,
    HEARD_CLICKS,
    LISTENED,
    DelayMeasure,
    HeardDelay,
    keep_heard,
)
from companion.playback.round_renderer import RoundRenderer
from companion.screen.words import Say
from companion.sound.delays import keep_delay

if TYPE_CHECKING:
    from companion.sound.speaker import DeviceSpeaker

SECONDS = 15.0  # for which the instrument is listened to


class SettingTest(Protocol):
    """What the settings page needs of a test: `over` says that there is nothing more to come."""

    over: bool

    def step(self, events: Sequence[Event]) -> str:
        """Take what the instrument has sent; what is to be said now."""


class ListenTest:
    """Says each note and each pedal that comes in, for a while; with a box, the buttons that sound the note on it."""

    def __init__(self, words: Say, there: bool, box: Box | None = None) -> None:
        self._words, self._box = words, box
        self._until = time.monotonic() + SECONDS
        self._said = words("setting.play_now") if there else words("no_instrument")
        self._heard = False
        self.over = not there

    def step(self, events: Sequence[Event]) -> str:
        for event in events:
            if event.what is EventKind.ON:
                self._heard, self._said = True, self._note(event)
            elif event.what is EventKind.CONTROL and event.velocity:
                self._heard, self._said = True, self._words("setting.pedal", number=event.control)
        if time.monotonic() > self._until:
            self.over = True
            if not self._heard:
                self._said = self._words("setting.nothing")
        return self._said

    def _note(self, event: Event) -> str:
        name = name_of(event.pitch)
        if self._box is None:
            return self._words("setting.heard", note=name, loudness=event.velocity)
        found = presses(self._box, event.pitch)
        where = ", ".join(f"{one.row} {one.button} {self._words(one.bellows.value).lower()}" for one in found)
        return f"{name}: {where}" if found else self._words("setting.not_on_box", note=name)


class MicrophoneTest:
    """Says each note that the microphone hears, or what is wrong with its sound, for a while."""

    def __init__(self, words: Say, microphone: Microphone | None) -> None:
        self._words, self._microphone = words, microphone
        self._until = time.monotonic() + SECONDS
        self._said = words("setting.play_now") if microphone is not None else words("setting.no_microphone")
        self._heard = False
        self.over = microphone is None

    def step(self, events: Sequence[Event]) -> str:
        if self._microphone is None:
            return self._said
        for event in events:
            if event.what is EventKind.ON:
                self._heard, self._said = True, self._words("setting.heard_note", note=name_of(event.pitch))
        if time.monotonic() > self._until:
            self.over = True
            if not self._heard:
                self._said = self._words("setting.nothing")
        if not self._microphone.alive:
            return self._words("microphone_gone")
        fault = self._microphone.level.fault
        return self._words(f"microphone_{fault.value}") if fault is not None else self._said


def presses(box: Box, pitch: int) -> list[Press]:
    """Every button and direction of a box that sounds a pitch."""
    every = [
        Press(row.name, number, bellows)
        for row in box.rows
        for number in range(1, len(row.push) + 1)
        for bellows in Bellows
    ]
    return [press for press in every if box.pitch(press) == pitch]


class PlayTest:
    """Lets a few notes be heard."""

    def __init__(self, words: Say, speaker: DeviceSpeaker, sounding: RoundRenderer) -> None:
        self._words, self._speaker = words, speaker
        speaker.cut()
        self._until = sounding.sample(speaker)
        self.over = False

    def step(self, events: Sequence[Event]) -> str:  # noqa: ARG002 - the same form as the others
        if self._speaker.missing:
            self.over = True
            return self._words("setting.no_sound")
        self.over = self._speaker.now() >= self._until
        return self._words("setting.played" if self.over else "setting.playing")


class MeasureTest:
    """Measures how late the notes come in; keeps it."""

    def __init__(self, words: Say, speaker: DeviceSpeaker, device: str, there: bool) -> None:
        self._words, self._speaker, self._device = words, speaker, device
        self.over = not there or bool(speaker.missing)
        self._why = words("setting.no_sound") if there else words("no_instrument")
        if not self.over:
            speaker.cut()
            self._measuring = DelayMeasure(speaker)

    def step(self, events: Sequence[Event]) -> str:
        if self.over:
            return self._why
        try:
            found = self._measuring.step(events)
        except UserError as why:
            self.over = True
            return why.message
        if found is None:
            number = self._measuring.number + 1
            if number <= LISTENED:
                return self._words("setting.listen", n=max(0, number), all=LISTENED)
            return self._words("setting.play_along", n=number - LISTENED, all=CLICKS - LISTENED)
        self.over = True
        keep_delay("sound", self._device, found.seconds)
        self._speaker.delay = found.seconds
        return self._words("setting.measured", ms=round(1000 * found.seconds), n=found.count)


class HeardTest:
    """Measures how late the microphone hears the loudspeaker; keeps it."""

    def __init__(self, words: Say, speaker: DeviceSpeaker, microphone: Microphone) -> None:
        self._words, self._speaker, self._microphone = words, speaker, microphone
        self.over = bool(speaker.missing)
        if not self.over:
            speaker.cut()
            self._measuring = HeardDelay(speaker, microphone)

    def step(self, events: Sequence[Event]) -> str:  # noqa: ARG002 - the same form as the others
        if self.over:
            return self._words("setting.no_sound")
        try:
            found = self._measuring.step()
        except UserError as why:
            self.over = True
            return why.message
        if found is None:
            return self._words("setting.hearing", n=max(0, self._measuring.number + 1), all=HEARD_CLICKS)
        self.over = True
        keep_heard(self._speaker, self._microphone, found.seconds)
        return self._words("setting.measured_clicks", ms=round(1000 * found.seconds), n=found.count)
