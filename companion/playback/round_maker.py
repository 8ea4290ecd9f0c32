"""Rounds of a piece as you want them: what `play` and `render` sound, one round after the other.

A wish is a value; a change while it sounds is another wish, and counts from the next round on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING

from companion.lesson.lesson_values import Piece
from companion.lesson.stretch import Stretch
from companion.marking.take_in_tune import PlacedNote, TakeNote, in_piece
from companion.playback.hand_sounds import figures_of, pressed_of
from companion.playback.take_tones import beside
from companion.practice.round_plan import TuneInHand
from companion.sound.lift import DanceLift
from companion.sound.recording import Tied
from companion.sound.render import Renderer
from companion.sound.score import Passage, Request, SoundVoice, passage
from companion.sound.sound_settings import SoundSettings
from companion.sound.transport import Loop
from companion.timeline import Timeline

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Sound = NDArray[np.float32]

MELODY = SoundVoice.MELODY.value


@dataclass(frozen=True, slots=True)
class SoundWish:
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


class RoundMaker:
    """Makes rounds of one tune.

    Parameters
    ----------
    course : the tune. `rhythm` : what dance it is. `concert` : A4 in Hz.
    recording : sounds in place of the melody and the basses.
    take : the rounds of a take, which sound beside the tune, one after the other and from the first again; after the
        tune, where there is room to answer in.
    """

    def __init__(
        self,
        course: TuneInHand,
        settings: SoundSettings,
        lift: DanceLift | None = None,
        concert: float = 440.0,
        rate: int = 44100,
        recording: Tied | None = None,
        take: Sequence[Sequence[TakeNote]] = (),
    ) -> None:
        self.course, self.settings, self.rate = course, settings, rate
        self._recording = recording
        self._take = take
        self._cuts: dict[tuple[int, int, float, int], Sound] = {}  # of the recording, as they have sounded
        self.renderer = Renderer(settings.voices, rate=rate, concert=concert, apart=bool(take))
        self._lift = lift
        self._figures = figures_of(course.fingering, course.keys, course.ornaments)
        self._pressed = pressed_of(course.round, course.fingering, course.key)

    def timeline(self, wish: SoundWish) -> Timeline:
        """The tempo of a wish."""
        return Timeline(wish.bpm, self.course.beat)

    def made(self, wish: SoundWish, number: int) -> Passage | None:
        """The tones of a round, counted from 0 and counted in there; None where there are no more."""
        turn, room = divmod(number, 2) if wish.answer else (number, 0)
        if wish.rounds is not None and turn >= wish.rounds:
            return None
        request = Request(
            bars_in=wish.bars_in if number == 0 else 0,
            short_in=wish.short_in and number == 0,
            click=wish.click != "count-in",
            off_beats=wish.click == "off-beats",
            melody=not room and self._recording is None,
            ornaments=wish.ornaments,
            shift=wish.shift,
            lift=self._lift.by(wish.lift) if self._lift is not None else None,
            figures=self._figures,
            left=self._pressed if wish.basses else {},
        )
        course = self.course
        laid = course.laid(wish.piece)
        timeline = self.timeline(wish)
        made = passage(laid, timeline, course.meter, self.settings.score, request, rate=self.rate)
        now, ahead = self._taken(wish, number, laid), self._taken(wish, number + 1, laid)
        loud = self.settings.score.velocity
        return beside(made, now, ahead, timeline, first=number == 0, velocity=loud, shift=wish.shift)

    def _taken(self, wish: SoundWish, number: int, laid: Stretch) -> tuple[PlacedNote, ...]:
        """The notes of the take that belong to a round."""
        turn, room = divmod(number, 2) if wish.answer else (number, 1)
        over = wish.rounds is not None and turn >= wish.rounds
        return in_piece(self._take, turn, laid) if room and not over else ()

    def has_taken(self, piece: Piece) -> bool:
        """Whether the take has anything of a piece."""
        laid = self.course.laid(piece)
        return any(in_piece(self._take, number, laid) for number in range(len(self._take)))

    def loop(self, wish: SoundWish, number: int) -> Loop | None:
        """A round for the transport, its voices apart: their levels are the speaker's business."""
        made = self.made(wish, number)
        if made is None:
            return None
        recorded = self._recorded(wish, number, made)
        return Loop(made, self.renderer.voices_of(made) | ({} if recorded is None else {MELODY: recorded}))

    def ready(self, wish: SoundWish) -> bool:
        """Whether a round can be had at once; where not, :meth:`slow` takes its time."""
        return self._recording is None or _name(wish) in self._cuts

    def slow(self, wish: SoundWish) -> Callable[[], Sound] | None:
        """What is to be computed before a wish is :meth:`ready`, apart from here; the result goes to :meth:`keep`."""
        if self._recording is None:
            return None
        laid = self.course.laid(wish.piece)
        timeline = self.timeline(wish)
        last = laid.notes[-1]
        # What the recording has after the last note is another piece's.
        length = min(laid.length, last.at + last.note.length)
        start = last.note.at - last.at + (self.course.round.length if wish.piece.first > wish.piece.last else 0)
        frames = round(float(length) * timeline.whole * self.rate)
        return partial(self._recording.cut, start, length, frames, self.rate, wish.shift)

    def keep(self, wish: SoundWish, sound: Sound) -> None:
        """Take what :meth:`slow` has computed."""
        self._cuts[_name(wish)] = sound

    def _recorded(self, wish: SoundWish, number: int, made: Passage) -> Sound | None:
        """The recording's sound in a round, count-in and all; None where it has none."""
        import numpy as np

        slow = self.slow(wish)
        if slow is None or (wish.answer and number % 2):
            return None
        if not self.ready(wish):
            self.keep(wish, slow())
        lead = np.zeros((made.start, 2), np.float32)
        return np.concatenate([lead, self._cuts[_name(wish)]])

    def blocks(self, wish: SoundWish) -> Iterator[Sound]:
        """The sound of all rounds, round by round to the last that rings, so that hours of it need little room."""
        import numpy as np

        levels = {SoundVoice(name): level for name, level in wish.levels.items()}
        rings = np.zeros((0, 2), np.float32)
        number = 0
        while (made := self.made(wish, number)) is not None:
            sound = self.renderer.render(made, levels)
            recorded = self._recorded(wish, number, made)
            if recorded is not None:
                sound = _sum(sound, recorded * np.float32(wish.levels.get(MELODY, 1.0)))
            sound = _sum(sound, rings)
            yield sound[: made.frames]
            rings = sound[made.frames :]
            number += 1
        yield rings

    def whole(self, wish: SoundWish) -> Passage:
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


def _name(wish: SoundWish) -> tuple[int, int, float, int]:
    return wish.piece.first, wish.piece.last, wish.bpm, wish.shift


def _sum(one: Sound, other: Sound) -> Sound:
    import numpy as np

    both = np.zeros((max(len(one), len(other)), 2), np.float32)
    both[: len(one)] += one
    both[: len(other)] += other
    return both


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
    return (MELODY, SoundVoice.CLICK.value, "basses", SoundVoice.TAKE.value)
