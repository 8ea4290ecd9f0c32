"""From a round to its sound: what the session queues on the speaker."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from companion.playback.hand_sounds import figures_of, pressed_of
from companion.practice.round_plan import RoundPlan, TuneInHand
from companion.sound.figures import Figures
from companion.sound.left_hand_sound import BassPressed
from companion.sound.lift import DanceLift
from companion.sound.render import Renderer
from companion.sound.score import Passage, Request, SoundVoice, Tone, passage
from companion.sound.sound_settings import SoundSettings, sound_settings
from companion.sound.speaker import Speaker
from companion.timeline import Timeline

if TYPE_CHECKING:
    from companion.sound.render import Sound


SAMPLE = (62, 66, 69, 74)  # a triad on D, in the middle of every box
SAMPLE_S = 0.35  # seconds a note of it
FADE_IN = 128  # frames: three milliseconds, short enough for the click on the beat to stay a click
CLICKS = 4  # names for the rounds' clicks, in turn: more than rounds are ever queued at once


@dataclass(frozen=True, slots=True)
class RoundSounds:
    """What of a round sounds: the tune, its basses, its ornaments (else the plain notes), the click, and with which
    lift of the dance (None: none)."""

    melody: bool = True
    basses: bool = False
    ornaments: bool = True
    click: bool = True
    lift: DanceLift | None = None


class RoundRenderer:
    """Renders rounds with the player's sound settings."""

    def __init__(self, rate: int, settings: SoundSettings | None = None) -> None:
        self._settings = settings or sound_settings()
        self._rate = rate
        self._renderer = Renderer(self._settings.voices, rate=rate)
        self._clicks: deque[str] = deque(maxlen=2)  # the voices of the clicks in the rounds queued last
        self._queued = 0
        self._hand: tuple[TuneInHand, dict[int, Figures], Mapping[int, BassPressed]] | None = None
        self._loud, self._click = 1.0, True
        self._levels: dict[str, float] = {}  # of the clicks' voices, where it was set

    def queue(self, speaker: Speaker, course: TuneInHand, going: RoundPlan, sounds: RoundSounds) -> RoundPlan:
        """Queue a round; gives it back with its timeline on the very frame on which it will sound."""
        made = self._made(course, going, going.timeline, sounds)
        first = speaker.queue(self._voices(speaker, made, sounds, 0), made.frames)
        return replace(going, timeline=going.timeline.moved((first + made.start) / speaker.rate))

    def relay(
        self, speaker: Speaker, course: TuneInHand, going: RoundPlan, since: Fraction, sounds: RoundSounds
    ) -> RoundPlan:
        """Let a round that sounds go on from the place `since` as its plan now is, at another tempo or with other
        sounds; what was queued after it goes. Gives it back with its timeline on the very frame."""
        tempo = Timeline(going.timeline.bpm, going.timeline.beat)
        made = self._made(course, replace(going, bars_in=0), tempo, sounds)
        first = min(round(tempo.seconds(since) * self._rate), made.frames)
        voices = self._voices(speaker, made, sounds, first)
        speaker.cut(round(going.timeline.seconds(since) * speaker.rate))
        begins = speaker.queue(voices, made.frames - first)
        return replace(going, timeline=replace(going.timeline, origin=begins / speaker.rate))

    def _voices(self, speaker: Speaker, made: Passage, sounds: RoundSounds, first: int) -> dict[str, Sound]:
        """A passage from frame `first` on. The click has its own voice in each round, so that it can be muted at once;
        the count-in always sounds."""
        later = tuple(
            t for t in made.tones if t.voice is SoundVoice.CLICK and round(t.start * self._rate) >= made.start
        )
        rest = tuple(tone for tone in made.tones if tone not in later)
        name = f"click {self._queued % CLICKS}"
        self._queued += 1
        self._clicks.append(name)
        self._click = sounds.click
        level = self._loud if sounds.click else 0.0
        if self._levels.get(name, 1.0) != level:
            self._level(speaker, name, level)
        voices = {"": self._renderer.render(replace(made, tones=rest))}
        voices[name] = self._renderer.render(replace(made, tones=later))
        return {"": _from(voices[""], first), name: voices[name][first:]} if first else voices

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
        made = self._made(course, going, going.timeline, RoundSounds())
        return made, self._renderer.render(made)

    def _made(self, course: TuneInHand, going: RoundPlan, tempo: Timeline, sounds: RoundSounds) -> Passage:
        """A round's tones, its ornaments and basses as the hands play them."""
        if self._hand is None or self._hand[0] is not course:
            figures = figures_of(course.fingering, course.keys, course.ornaments)
            self._hand = (course, figures, pressed_of(course.round, course.fingering, course.key))
        request = Request(
            bars_in=going.bars_in,
            melody=sounds.melody,
            ornaments=sounds.ornaments,
            lift=sounds.lift,
            figures=self._hand[1],
            left=self._hand[2] if sounds.basses else {},
        )
        return passage(
            going.laid,
            tempo,
            course.meter,
            self._settings.score,
            request,
            rate=self._rate,
        )


def _from(sound: Sound, first: int) -> Sound:
    """A sound from a frame on, with a short fade in: what sounds there already does not begin with a crack."""
    import numpy as np

    rest = np.array(sound[first:])
    fade = min(FADE_IN, len(rest))
    rest[:fade] *= (0.5 - 0.5 * np.cos(np.pi * np.arange(fade) / max(1, fade))).astype(np.float32)[:, None]
    return rest
