"""From a round to its sound: what the session queues on the speaker."""

from __future__ import annotations

from collections import deque
from dataclasses import replace
from typing import TYPE_CHECKING

from companion.playback.hand_sounds import figures_of
from companion.practice.round_plan import RoundPlan, TuneInHand
from companion.sound.figures import Figures
from companion.sound.render import Renderer
from companion.sound.score import Passage, Request, SoundVoice, Tone, passage
from companion.sound.sound_settings import SoundSettings, sound_settings
from companion.sound.speaker import Speaker

if TYPE_CHECKING:
    from companion.sound.render import Sound


SAMPLE = (62, 66, 69, 74)  # a triad on D, in the middle of every box
SAMPLE_S = 0.35  # seconds a note of it
CLICKS = 4  # names for the rounds' clicks, in turn: more than rounds are ever queued at once


class RoundRenderer:
    """Renders rounds with the player's sound settings."""

    def __init__(self, rate: int, settings: SoundSettings | None = None) -> None:
        self._settings = settings or sound_settings()
        self._rate = rate
        self._renderer = Renderer(self._settings.voices, rate=rate)
        self._clicks: deque[str] = deque(maxlen=2)  # the voices of the clicks in the rounds queued last
        self._queued = 0
        self._hand: tuple[TuneInHand, dict[int, Figures]] | None = None
        self._loud, self._click = 1.0, True
        self._levels: dict[str, float] = {}  # of the clicks' voices, where it was set

    def queue(self, speaker: Speaker, course: TuneInHand, going: RoundPlan, click: bool) -> RoundPlan:
        """Queue a round; gives it back with its timeline on the very frame on which it will sound."""
        made = self._made(course, going)
        later = tuple(
            t for t in made.tones if t.voice is SoundVoice.CLICK and round(t.start * self._rate) >= made.start
        )
        rest = tuple(tone for tone in made.tones if tone not in later)
        # The click has its own voice in each round, so that it can be muted at once; the count-in always sounds.
        name = f"click {self._queued % CLICKS}"
        self._queued += 1
        self._clicks.append(name)
        self._click = click
        level = self._loud if click else 0.0
        if self._levels.get(name, 1.0) != level:
            self._level(speaker, name, level)
        voices = {"": self._renderer.render(replace(made, tones=rest))}
        voices[name] = self._renderer.render(replace(made, tones=later))
        first = speaker.queue(voices, made.frames)
        return replace(going, timeline=going.timeline.moved((first + made.start) / speaker.rate))

    def click(self, speaker: Speaker, on: bool) -> None:
        """Let the click be heard, or not, at once."""
        self._click = on
        for name in self._clicks:
            self._level(speaker, name, self._loud if on else 0.0)

    def _level(self, speaker: Speaker, name: str, level: float) -> None:
        self._levels[name] = level
        speaker.level(name, level)

    def loudness(self, speaker: Speaker, factor: float) -> None:
        """Let everything be so loud from now on: a factor of amplitude."""
        self._loud = factor
        speaker.level("", factor)
        self.click(speaker, self._click)

    def sample(self, speaker: Speaker) -> float:
        """Let a few notes be heard, as loud as everything; gives when they end, in seconds on the speaker's clock."""
        tones = tuple(
            Tone(number * SAMPLE_S, 0.9 * SAMPLE_S, pitch, self._settings.score.velocity, SoundVoice.MELODY)
            for number, pitch in enumerate(SAMPLE)
        )
        made = Passage(tones, round((len(SAMPLE) + 1) * SAMPLE_S * self._rate), 0, self._rate)
        first = speaker.queue({"": self._renderer.render(made)}, made.frames)
        return (first + made.frames) / speaker.rate

    def render(self, course: TuneInHand, going: RoundPlan) -> tuple[Passage, Sound]:
        """A round's passage and its sound."""
        made = self._made(course, going)
        return made, self._renderer.render(made)

    def _made(self, course: TuneInHand, going: RoundPlan) -> Passage:
        """A round's tones, its ornaments as the hand plays them."""
        if self._hand is None or self._hand[0] is not course:
            self._hand = (course, figures_of(course.fingering, course.keys, course.ornaments))
        request = Request(bars_in=going.bars_in, figures=self._hand[1])
        return passage(
            going.laid,
            going.timeline,
            course.meter,
            self._settings.score,
            request,
            rate=self._rate,
        )
