"""What was played in a sound, with the whole of it at hand.

Conventions: as in `companion.hearing.spectra`; seconds from the beginning of the sound.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import log

import numpy as np

from companion.hearing.again import comes_back, dips, levels, partials, peaks, pitch_hz
from companion.hearing.chosen import Begun, choose
from companion.hearing.ear import Ear, Sound
from companion.hearing.echo import without
from companion.hearing.guess import put_right
from companion.hearing.notes import SILENT, Fitted, Part, begins, fitted, parts_heard
from companion.hearing.spectra import HOP, RATE, SHORT, Spectra, at_rate
from companion.hearing.weigh import weighed
from companion.marking.mark_values import Asked, Heard
from companion.marking.shift import shift_of
from companion.marking.take_marks import TakeMarks

# Log odds that a part is a note, from its sound: a logistic regression on the sounds of `tests/hearing/sounds.py`.
_PART = {"strength": 5.1, "length": 2.9, "peak": 12.1, "mean": -4.4, "between": -2.7, "left": -0.6, "one": 5.95}
_AGAIN = {"depth": 1.82, "beats": -0.76, "since": 2.44, "left": 1.03, "until": 2.78, "one": -13.2}
_LEAST_DIP = 2.0  # dB
_AGAIN_LATE = 0.012  # seconds by which a note begun again is seen later than another, beside the ear's own
_TURN, _CLEAR = 3, 0.6  # frames in which one note gives way to another; a share that leaves no doubt
_GAP, _NO_NOTE = 14, 0.5  # frames; log odds
_USUAL = 9.0  # log odds beyond which a sound says no more


def hear(
    sound: Sound, rate: int, ear: Ear, asked: Sequence[Asked] = (), *, playback: Sound | None = None
) -> SoundHeard:
    """Hear the notes of a take.

    Parameters
    ----------
    asked : the notes of one round, which may come several times or in part; () where nothing is known of them.
    playback : (frames,) what the program played meanwhile, from the same moment on, at `rate`; None for nothing.
    """
    sound = at_rate(sound, rate)
    moving = None
    if playback is not None:
        sound, moving = without(sound, at_rate(playback, rate))
    held = fitted(sound, ear, moving)
    if ear.guessed:
        ear = put_right(ear, sound, _joined(held, parts_heard(held)))
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


@dataclass(frozen=True, slots=True, eq=False)
class SoundHeard:
    """The melody's notes in order of onset, each with how sure it is, and what weighs the marks made of them."""

    notes: tuple[Heard, ...]
    held: Fitted
    ear: Ear

    def weighed(self, found: TakeMarks) -> TakeMarks:
        """The marks with how sure each is; what is not sure enough to fault anyone is unsure."""
        return weighed(found, self.notes, self.sounded)

    def sounded(self, pitch: int, first: float, last: float) -> tuple[float, float]:
        """The greatest chance that a pitch sounded in a frame between two moments, and the share of the time it did."""
        if pitch not in self.ear.pitches:
            return 0.0, 0.0
        late = self.ear.late
        begin, end = (max(0, round((at + late) * RATE / HOP)) for at in (first, last))
        frames = slice(begin + _TURN, max(begin + _TURN, end - 1))
        own = self.held.pitches[frames, self.ear.pitches.index(pitch)]
        if not len(own):
            return 0.0, 0.0
        every = self.held.pitches[frames].sum(1) + SILENT
        share = own / every
        # What dies away in the room is no playing: only what rises counts.
        rises = np.maximum(share - share[0], 0) if len(share) > 1 else share
        steady = np.convolve(rises, np.ones(4) / 4, "same") if len(rises) >= 4 else rises
        return float(min(1.0, steady.max() / _CLEAR)), float((share > 0.4).mean())


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
        odds = _part_odds(held, part, between=before == after and before >= 0 and part.last - part.first < 20)
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


def _part_odds(held: Fitted, part: Part, between: bool) -> float:
    own = held.pitches[part.first : part.last, part.number]
    w = _PART
    odds = (
        w["strength"] * log(part.strength + 0.02)
        + w["length"] * min(log((part.last - part.first) / 10), 1.2)
        + w["peak"] * log(min(part.peak, 1.5) + 0.02)
        + w["mean"] * log(min(float(own.mean()), 1.5) + 0.02)
        + w["between"] * between
        + w["left"] * float(held.left[part.first : part.last].mean())
        + w["one"]
    )
    return min(odds, _USUAL)


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
    w = _AGAIN
    found = []
    for at in peaks(depth, _LEAST_DIP):
        odds = (
            w["depth"] * float(depth[at])
            + w["beats"] * min(float(ear.beats[number]), 6.0)
            + w["since"] * min(at, 20) / 20
            + w["until"] * min(part.last - part.first - at, 20) / 20
            + w["left"] * left
            + w["one"]
        )
        back = first + comes_back(level, at) - _AGAIN_LATE * RATE / HOP
        found.append(Begun(back, ear.pitches[number], min(odds, _USUAL), True))
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
