"""From a round to its sound: what the session queues on the speaker."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from companion.session.going import Course, Going
from companion.sound.render import Renderer
from companion.sound.score import Passage, Request, passage
from companion.sound.settings import SoundSettings, sound_settings
from companion.sound.speaker import Speaker

if TYPE_CHECKING:
    from companion.sound.render import Sound


class Sounding:
    """Renders rounds with the player's sound settings."""

    def __init__(self, rate: int, settings: SoundSettings | None = None) -> None:
        self._settings = settings or sound_settings()
        self._rate = rate
        self._renderer = Renderer(self._settings.voices, rate=rate)

    def queue(self, speaker: Speaker, course: Course, going: Going, click: bool) -> Going:
        """Queue a round; gives it back with its timeline on the very frame on which it will sound."""
        made, sound = self.render(course, going, click)
        first = speaker.queue(sound, made.frames)
        return replace(going, timeline=going.timeline.moved((first + made.start) / speaker.rate))

    def render(self, course: Course, going: Going, click: bool) -> tuple[Passage, Sound]:
        """A round's passage and its sound."""
        request = Request(bars_in=going.bars_in, click=click)
        made = passage(
            going.laid,
            going.timeline,
            course.meter,
            self._settings.score,
            request,
            key=course.key,
            rate=self._rate,
        )
        return made, self._renderer.render(made)
