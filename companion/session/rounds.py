"""Rounds of a piece as they are wished for: what `play` and `render` sound, one round after the other.

A wish is a value; a change while it sounds is another wish, and counts from the next round on.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from companion.lesson.model import Piece
from companion.session.by_hand import figures_of, pressed_of
from companion.session.going import Course
from companion.sound.lift import lift_of
from companion.sound.render import Renderer
from companion.sound.score import Passage, Request, Voice, passage
from companion.sound.settings import SoundSettings
from companion.sound.transport import Loop
from companion.timeline import Timeline

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Sound = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Wish:
    """How a piece is to sound.

    `rounds` None: until told. `bars_in` bars are counted in, or with `short_in` two beats. `click`: "beats",
    "off-beats" or "count-in" (only there). With `answer` each round is followed by as long a room for the player.
    `basses` lets the left hand play; `lift` 0 to 1; `shift` semitones; `levels` factors of amplitude a voice.
    """

    piece: Piece
    bpm: float
    rounds: int | None = 1
    bars_in: int = 0
    short_in: bool = False
    click: str = "beats"
    answer: bool = False
    ornaments: bool = True
    basses: bool = False
    lift: float = 0.0
    shift: int = 0
    levels: Mapping[str, float] = field(default_factory=dict)


class Rounds:
    """Makes rounds of one tune.

    Parameters
    ----------
    course : the tune. `rhythm` : what dance it is. `concert` : A4 in Hz.
    """

    def __init__(
        self, course: Course, settings: SoundSettings, rhythm: str = "", concert: float = 440.0, rate: int = 44100
    ) -> None:
        self.course, self.settings, self.rate = course, settings, rate
        self.renderer = Renderer(settings.voices, rate=rate, concert=concert)
        self._rhythm = rhythm
        self._figures = figures_of(course.fingering, course.key)
        self._pressed = pressed_of(course.round, course.fingering, course.key)

    def timeline(self, wish: Wish) -> Timeline:
        """The tempo of a wish."""
        return Timeline(wish.bpm, self.course.beat)

    def made(self, wish: Wish, number: int) -> Passage | None:
        """The tones of a round, counted from 0 and counted in there; None where there are no more."""
        turn, room = divmod(number, 2) if wish.answer else (number, 0)
        if wish.rounds is not None and turn >= wish.rounds:
            return None
        request = Request(
            bars_in=wish.bars_in if number == 0 else 0,
            short_in=wish.short_in and number == 0,
            click=wish.click != "count-in",
            off_beats=wish.click == "off-beats",
            melody=not room,
            ornaments=wish.ornaments,
            shift=wish.shift,
            lift=lift_of(self._rhythm, self.course.meter, wish.lift),
            figures=self._figures,
            left=self._pressed if wish.basses else {},
        )
        course = self.course
        laid = course.laid(wish.piece)
        timeline = self.timeline(wish)
        return passage(laid, timeline, course.meter, self.settings.score, request, key=course.key, rate=self.rate)

    def loop(self, wish: Wish, number: int) -> Loop | None:
        """A round for the transport, its voices apart: their levels are the speaker's business."""
        made = self.made(wish, number)
        return None if made is None else Loop(made, self.renderer.voices_of(made))

    def blocks(self, wish: Wish) -> Iterator[Sound]:
        """The sound of all rounds, round by round to the last that rings, so that hours of it need little room."""
        import numpy as np

        levels = {Voice(name): level for name, level in wish.levels.items()}
        rings = np.zeros((0, 2), np.float32)
        number = 0
        while (made := self.made(wish, number)) is not None:
            sound = self.renderer.render(made, levels)
            if len(rings) > len(sound):
                sound = np.concatenate([sound, np.zeros((len(rings) - len(sound), 2), np.float32)])
            sound[: len(rings)] += rings
            yield sound[: made.frames]
            rings = sound[made.frames :]
            number += 1
        yield rings

    def whole(self, wish: Wish) -> Passage:
        """All rounds as one passage."""
        parts: list[Passage] = []
        while (made := self.made(wish, len(parts))) is not None:
            parts.append(made)
        tones, frames = [], 0
        for made in parts:
            shift = frames / made.rate
            tones += [replace(tone, start=tone.start + shift) for tone in made.tones]
            frames += made.frames
        return replace(parts[0], tones=tuple(tones), frames=frames)


def levelled(made: Passage, levels: Mapping[str, float]) -> Passage:
    """The same tones with levels told by their velocities, for what knows no other: a voice at 0 is left out."""
    tones = []
    for tone in made.tones:
        # A tone's amplitude goes with the square of its velocity (General MIDI's recommended practice).
        velocity = round(tone.velocity * levels.get(tone.voice.value, 1.0) ** 0.5)
        if velocity > 0:
            tones.append(replace(tone, velocity=min(127, velocity)))
    return replace(made, tones=tuple(tones))


def voice_names() -> tuple[str, ...]:
    """The names under which levels are given: both of the left hand's voices are "basses"."""
    return (Voice.MELODY.value, Voice.CLICK.value, "basses")
