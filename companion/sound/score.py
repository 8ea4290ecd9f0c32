"""From a stretch of a tune to the tones that sound: exact starts and lengths in seconds. Pure.

Conventions: seconds count from the beginning of the passage (the count-in, where it has one); a frame is one point of
the output; a tone begins on frame ``round(start * rate)``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from fractions import Fraction

from companion.lesson.stretch import Beat, Stretch, count_in
from companion.sound.figures import Figures, parts_of
from companion.sound.left_hand_sound import BassPressed, off_beat, touches
from companion.sound.lift import DanceLift
from companion.sound.sound_settings import ScoreSettings
from companion.timeline import Timeline
from companion.tune.tune_values import Meter

CLICK_FIRST, CLICK_OTHER = 76, 77  # keys of the click's programs: the high and the low wood-block of General MIDI


class SoundVoice(StrEnum):
    """Who sounds."""

    MELODY = "melody"
    BASS = "bass"
    CHORD = "chord"
    CLICK = "click"
    TAKE = "take"


@dataclass(frozen=True, slots=True)
class Tone:
    """One tone.

    Seconds from the beginning of its passage; MIDI pitch and velocity. `index`: the round's note, else None.
    """

    start: float
    length: float
    pitch: int
    velocity: int
    voice: SoundVoice
    index: int | None = None


@dataclass(frozen=True, slots=True)
class Passage:
    """What is queued as one: tones, and the exact number of frames until the next passage begins.

    `start` is the frame on which place 0 of the stretch falls (0 without a count-in).
    """

    tones: tuple[Tone, ...]
    frames: int
    start: int
    rate: int

    @property
    def seconds(self) -> float:
        """How long it is."""
        return self.frames / self.rate


@dataclass(frozen=True, slots=True)
class Request:
    """How a stretch is to sound.

    `bars_in` bars of count-in, or with `short_in` two beats instead; `click` on the beats, or with `off_beats` between
    them (the count-in always clicks on its beats); `melody` off leaves the notes and the basses out; `ornaments` off
    plays the plain notes; `shift` in semitones; `lift` is the dance's.

    By index in the round: `figures`, how a hand plays a note's ornaments; `left`, what the left hand can sound there.
    """

    bars_in: int = 0
    click: bool = True
    melody: bool = True
    ornaments: bool = True
    shift: int = 0
    short_in: bool = False
    off_beats: bool = False
    lift: DanceLift | None = None
    figures: Mapping[int, Figures] = field(default_factory=dict)
    left: Mapping[int, BassPressed] = field(default_factory=dict)


def passage(
    stretch: Stretch,
    timeline: Timeline,
    meter: Meter,
    settings: ScoreSettings,
    request: Request | None = None,
    *,
    rate: int = 44100,
) -> Passage:
    """A stretch at a tempo. Of `timeline`, only the tempo counts: place 0 falls on the frame `start` of the passage."""
    asked = request or Request()
    lead, counted = short_count(stretch) if asked.short_in else count_in(stretch, asked.bars_in, meter)
    start = round(float(lead) * timeline.whole * rate)
    tempo = replace(timeline, origin_at=Fraction(0), origin=start / rate)
    beats = (*counted, *(_clicked(stretch, asked) if asked.click else ()))
    tones = [_click(beat, tempo, settings) for beat in beats]
    if asked.melody:
        tones += _melody(stretch, tempo, settings, asked)
        tones += _left(stretch, tempo, settings, asked)
    tones.sort(key=lambda tone: tone.start)
    frames = start + round(float(stretch.length) * timeline.whole * rate)
    return Passage(tuple(tones), frames, start, rate)


def short_count(stretch: Stretch) -> tuple[Fraction, tuple[Beat, ...]]:
    """The shortest count that gives a tempo: two beats before a pick-up begins, or before the bar without one."""
    beat = stretch.beat
    count = 2 + stretch.pickup // beat
    lead = count * beat - stretch.pickup
    return lead, tuple(Beat(number * beat - lead, False) for number in range(count) if number * beat < lead)


def _clicked(stretch: Stretch, asked: Request) -> Iterable[Beat]:
    """Where it clicks: on the beats, or between them."""
    if not asked.off_beats:
        return stretch.beats
    between = off_beat(stretch.beat)
    return (Beat(beat.at + between, False) for beat in stretch.beats if beat.at + between < stretch.length)


def _click(beat: Beat, tempo: Timeline, settings: ScoreSettings) -> Tone:
    pitch, velocity = (CLICK_FIRST, settings.accent) if beat.first else (CLICK_OTHER, settings.beat)
    # Rounding may lose a hair before the first beat of a count-in.
    return Tone(max(0.0, tempo.seconds(beat.at)), 0.1, pitch, velocity, SoundVoice.CLICK)


def _melody(stretch: Stretch, tempo: Timeline, settings: ScoreSettings, asked: Request) -> Iterable[Tone]:
    tones: list[Tone] = []
    for sounded in stretch.notes:
        note = sounded.note if asked.ornaments else replace(sounded.note, ornaments=(), grace=())
        onset = tempo.seconds(_place(sounded.at, stretch, asked))
        seconds = tempo.seconds(_place(sounded.at + note.length, stretch, asked)) - onset
        parts = parts_of(note, seconds, settings, asked.figures.get(sounded.index) if asked.ornaments else None)
        early = -min(0.0, min(part.start for part in parts))
        # With no room before the note (the first one, or after a very short one), graces push the note itself.
        room = onset - (tones[-1].start + 0.5 * tones[-1].length if tones else 0.0)
        moved = max(0.0, early - room)
        if tones and early:
            tones[-1] = _ending_by(tones[-1], onset - early + moved)
        for part in parts:
            at = onset + part.start + moved
            end = min(at + part.length, onset + seconds) if not part.before else at + part.length
            tones.append(
                Tone(
                    at,
                    max(end - at, 0.0),
                    part.pitch + asked.shift,
                    settings.velocity,
                    SoundVoice.MELODY,
                    sounded.index,
                )
            )
        if "staccato" in note.ornaments:
            tones[-1] = replace(tones[-1], length=tones[-1].length * settings.staccato)
    return _parted(tones, stretch, tempo, settings)


def _place(at: Fraction, stretch: Stretch, asked: Request) -> float:
    return float(at) if asked.lift is None else asked.lift.place(at, stretch.pickup)


def _left(stretch: Stretch, tempo: Timeline, settings: ScoreSettings, asked: Request) -> Iterable[Tone]:
    for touch in touches(stretch, asked.left, settings.left_share):
        onset = tempo.seconds(_place(touch.at, stretch, asked))
        length = tempo.seconds(_place(touch.at + touch.length, stretch, asked)) - onset
        voice = SoundVoice.CHORD if touch.chord else SoundVoice.BASS
        for pitch in touch.pitches:
            yield Tone(onset, length, pitch + asked.shift, settings.left, voice)


def _ending_by(tone: Tone, end: float) -> Tone:
    return replace(tone, length=min(tone.length, max(0.0, end - tone.start)))


def _parted(tones: list[Tone], stretch: Stretch, tempo: Timeline, settings: ScoreSettings) -> list[Tone]:
    """Each tone ends a little before the next, more before the same pitch: the last before the first of the next
    round.
    """
    if not tones:
        return []
    again = replace(tones[0], start=tones[0].start + float(stretch.length) * tempo.whole)
    parted = []
    for tone, following in zip(tones, [*tones[1:], again], strict=True):
        gap = settings.repeat_gap_s if following.pitch == tone.pitch else settings.gap_s
        free = following.start - (tone.start + tone.length)
        cut = min(max(0.0, gap - free), settings.gap_share * tone.length)
        parted.append(replace(tone, length=tone.length - cut))
    return parted
