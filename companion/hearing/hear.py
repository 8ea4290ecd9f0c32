"""What was played in a sound, with the whole of it at hand.

Conventions: as in `companion.hearing.spectra`; seconds from the beginning of the sound.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from companion.hearing.again import comes_back, dips, levels, partials, peaks, pitch_hz
from companion.hearing.chosen import Begun, choose
from companion.hearing.ear import Ear, Sound
from companion.hearing.echo import without
from companion.hearing.guess import GOOD, OFFSETS, of_the_tune, own_ear, put_right
from companion.hearing.notes import Fitted, Part, begins, fitted, parts_heard
from companion.hearing.odds import again_odds, part_odds
from companion.hearing.spectra import HOP, RATE, SHORT, Spectra
from companion.hearing.weigh import sounded, weighed
from companion.marking.mark_values import Asked, Heard
from companion.marking.marking_rules import MarkingRules
from companion.marking.shift import shift_of
from companion.marking.take_marks import TakeMarks
from companion.sound.rates import at_rate

_LEAST_DIP = 2.0  # dB
_AGAIN_LATE = 0.012  # seconds by which a note begun again is seen later than another, beside the ear's own
_GAP, _NO_NOTE = 14, 0.5  # frames; log odds


def hear(
    sound: Sound, rate: int, ear: Ear, asked: Sequence[Asked] = (), *, playback: Sound | None = None
) -> SoundHeard:
    """Hear the notes of a take.

    Parameters
    ----------
    asked : the notes of one round, which may come several times or in part; () where nothing is known of them.
    playback : (frames,) what the program played meanwhile, from the same moment on, at `rate`; None for nothing.
    """
    sound = at_rate(sound, rate, RATE)
    moving = None
    if playback is not None:
        sound, moving = without(sound, at_rate(playback, rate, RATE))
    if ear.guessed:
        ear = _guessed(sound, [note.pitch for note in asked], moving)
    held = fitted(sound, ear, moving)
    parts = parts_heard(held)
    begun = beginnings(sound, ear, held, parts)
    free = [Heard(one.frame * HOP / RATE, one.pitch) for one in begun if one.odds > 0]
    shift = shift_of(asked, free) if asked and free else 0
    chosen = choose(begun, [note.pitch + shift for note in asked])
    notes = []
    for one in chosen:
        here = begun[one.number]
        notes.append(Heard(max(0.0, (here.frame + 1) * HOP / RATE - ear.late), here.pitch, sure=round(one.sure, 4)))
    ends = _ends(held, ear, notes)
    notes = [replace(note, end=end) for note, end in zip(notes, ends, strict=True)]
    return SoundHeard(tuple(notes), held, ear)


def _guessed(sound: Sound, asked: Sequence[int], moving: Sound | None) -> Ear:
    """An ear made up, tuned as the tune fits best, and put right twice by what the take itself sounds."""
    tried: list[tuple[float, Ear, list[tuple[Part, float]]]] = []
    for cents in OFFSETS if asked else OFFSETS[:1]:
        ear = own_ear(cents)
        held = fitted(sound, ear, moving)
        parts = _joined(held, parts_heard(held))
        tried.append((of_the_tune(ear, parts, asked) if asked else 1.0, ear, parts))
        if tried[-1][0] > GOOD:
            break
    _, ear, parts = max(tried, key=lambda one: one[0])
    ear = put_right(ear, sound, parts, asked)
    held = fitted(sound, ear, moving)
    return put_right(ear, sound, _joined(held, parts_heard(held)), asked)


@dataclass(frozen=True, slots=True, eq=False)
class SoundHeard:
    """The melody's notes in order of onset, each with how sure it is, and what weighs the marks made of them."""

    notes: tuple[Heard, ...]
    held: Fitted
    ear: Ear

    def weighed(self, found: TakeMarks, rules: MarkingRules) -> TakeMarks:
        """The marks with how sure each is; what is not sure enough to fault anyone is unsure."""
        marks = weighed(found.marks, self.notes, self.sounded, rules=rules, timeline=found.timeline, shift=found.shift)
        return replace(found, marks=marks)

    def sounded(self, pitch: int, first: float, last: float) -> tuple[float, float]:
        """The greatest chance that a pitch sounded in a frame between two moments, and the share of the time it did."""
        begin, end = (max(0, round((at + self.ear.late) * RATE / HOP)) for at in (first, last))
        return sounded(self.held.pitches[begin:end], self.ear, pitch)


def beginnings(sound: Sound, ear: Ear, held: Fitted, parts: Sequence[Part]) -> list[Begun]:
    """Every beginning that may be a note, in order of time: of a part, or of the same note again within one."""
    short = Spectra(SHORT, 0.5)
    found = []
    for part, odds in _joined(held, parts):
        found.append(Begun(begins(held.pitches, part), ear.pitches[part.number], odds, False))
        found += _again(sound, ear, held, part, short)
    return sorted(found, key=lambda one: one.frame)


def _joined(held: Fitted, parts: Sequence[Part]) -> list[tuple[Part, float]]:
    """The parts with their odds; those of one pitch with no more than a short gap between them, or with what is no note
    there, are one: whether it was begun again, its dip says."""
    found: list[tuple[Part, float]] = []
    for number, part in enumerate(parts):
        before = parts[number - 1].number if number else -1
        after = parts[number + 1].number if number + 1 < len(parts) else -1
        odds = _odds(held, part, between=before == after and before >= 0 and part.last - part.first < 20)
        keep = len(found)
        while keep and found[keep - 1][1] < _NO_NOTE and found[keep - 1][0].last > part.first - _GAP:
            keep -= 1
        if keep and found[keep - 1][0].number == part.number and part.first - found[keep - 1][0].last < _GAP:
            one, other = found[keep - 1]
            joined = Part(one.first, part.last, one.number, max(one.strength, part.strength), max(one.peak, part.peak))
            found[keep - 1 :] = [(joined, max(odds, other))]
        else:
            found.append((part, odds))
    return found


def _odds(held: Fitted, part: Part, between: bool) -> float:
    here = slice(part.first, part.last)
    mean, left = float(held.pitches[here, part.number].mean()), float(held.left[here].mean())
    return part_odds(part.last - part.first, part.strength, part.peak, mean, left, between)


def _again(sound: Sound, ear: Ear, held: Fitted, part: Part, short: Spectra) -> list[Begun]:
    """Where the note of a part may have been begun again."""
    number = part.number
    first, last = part.first, part.last + 4
    before = sound[max(0, (first + 1) * HOP - SHORT) : first * HOP]
    before = np.concatenate([np.zeros(SHORT - HOP - len(before), np.float32), before])
    seen = short.after(before, sound[first * HOP : last * HOP])
    hertz = pitch_hz(ear.pitches[number], float(ear.cents[number]))
    level = levels(seen, partials(short, hertz, ear.short[number], ear.short_quiet), ear.short_quiet)
    depth = dips(level)
    left = float(held.left[part.first : part.last].mean())
    found = []
    for at in peaks(depth, _LEAST_DIP):
        odds = again_odds(float(depth[at]), float(ear.beats[number]), at, part.last - part.first - at, left)
        back = first + comes_back(level, at) - _AGAIN_LATE * RATE / HOP
        found.append(Begun(back, ear.pitches[number], odds, True))
    return found


def _ends(held: Fitted, ear: Ear, notes: Sequence[Heard]) -> list[float | None]:
    """When each note ends: where its pitch has fallen to a third of what it was, or the next one begins."""
    ends: list[float | None] = []
    numbers = {pitch: number for number, pitch in enumerate(ear.pitches)}
    for k, note in enumerate(notes):
        following = notes[k + 1].seconds if k + 1 < len(notes) else len(held.pitches) * HOP / RATE
        first, last = round(note.seconds * RATE / HOP) + 8, round((following + ear.late) * RATE / HOP)
        own = held.pitches[first:last, numbers[note.pitch]]
        low = np.flatnonzero(own < 0.33 * np.median(own)) if len(own) > 4 else np.zeros(0, int)
        ends.append((first + int(low[0])) * HOP / RATE - ear.late if len(low) else following)
    return ends
