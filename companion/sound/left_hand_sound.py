"""The left hand as it sounds: bass and chord by turns, from what the box's buttons give.

Which button is pressed is the box's business; here come in only the pitches that it sounds.

The turns are common practice (no source found): the bass on the beat and the chord half-way to the next (on the last
third in compound time); where a bar has three beats or more of a crotchet, the bass on its first beat (and on the third
of four) and the chord on the others.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from companion.lesson.stretch import Stretch

BASSES = (36, 59)  # what the reeds of the bass sound, `config/sound.toml`; others are taken by octaves into it


@dataclass(frozen=True, slots=True)
class BassPressed:
    """What the left hand can sound while a note of the round sounds: MIDI pitches, empty where there is nothing."""

    bass: tuple[int, ...]
    chord: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class BassTouch:
    """One press of the left hand: place and length in whole notes of the stretch, and what sounds."""

    at: Fraction
    length: Fraction
    pitches: tuple[int, ...]
    chord: bool


def touches(stretch: Stretch, pressed: Mapping[int, BassPressed], share: float) -> Iterator[BassTouch]:
    """The presses of a stretch; `pressed` by index in the round, `share` how much of its time a press lasts."""
    places = [note.at for note in stretch.notes]
    turns = list(_turns(stretch))
    for number, (at, is_chord) in enumerate(turns):
        until = turns[number + 1][0] if number + 1 < len(turns) else stretch.length
        sounding = bisect_right(places, at) - 1
        if sounding < 0 or until <= at:
            continue
        hand = pressed.get(stretch.notes[sounding].index)
        pitches = () if hand is None else hand.chord if is_chord else _in_reach(hand.bass)
        if pitches:
            yield BassTouch(at, (until - at) * Fraction(share).limit_denominator(1000), pitches, is_chord)


def _turns(stretch: Stretch) -> Iterator[tuple[Fraction, bool]]:
    """Places and whether the chord is due there."""
    beats = stretch.bar / stretch.beat
    by_beats = stretch.beat == Fraction(1, 4) and beats >= 3
    number = 0
    for beat in stretch.beats:
        number = 0 if beat.first else number + 1
        if by_beats:
            yield beat.at, number != 0 and not (beats == 4 and number == 2)
        else:
            yield beat.at, False
            yield beat.at + off_beat(stretch.beat), True


def off_beat(beat: Fraction) -> Fraction:
    """How far the off-beat lies behind its beat."""
    return beat * Fraction(2, 3) if beat.numerator == 3 else beat / 2


def _in_reach(pitches: tuple[int, ...]) -> tuple[int, ...]:
    """The lowest pitch of a bass button, since its reeds sound the octave as well."""
    if not pitches:
        return ()
    low, high = BASSES
    pitch = min(pitches)
    while pitch < low:
        pitch += 12
    while pitch > high:
        pitch -= 12
    return (pitch,)
