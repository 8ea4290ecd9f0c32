"""A box taken in note by note, so that it can be learnt: the room first, then each note, then the left hand.

Pure: blocks in, where it has come to out. It goes on by itself once a note was steady for long enough, and knows
another note from the one that is wanted; whatever is not steady is left away. What comes of it is one sound, made as
`learn_ear` wants it.

Conventions: sound is float32 of shape (frames,); levels in dBFS.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from statistics import median

import numpy as np

from companion.hearing.ear import Sound
from companion.hearing.level import decibels

ROOM = 2.0  # seconds of quiet at the beginning
LOUDEST_ROOM = -35.0  # no quiet yet
ABOVE = 12.0  # dB over the room: something sounds
FALL, FORGOTTEN = 18.0, 6.0  # dB below what was loudest: between two notes; how fast that is forgotten, dB a second
STEADY = 0.8  # seconds for which a note is to sound
BEFORE = 0.06  # seconds kept from before it began
LONGEST = 2.5  # seconds of a note that are kept
STILL = 0.5  # seconds of the room between two notes
EDGE = 0.01  # seconds in which a cut falls to silence
STEP = 0.04  # seconds between two looks
WINDOW = 0.5  # seconds looked at: enough to tell a low note from the next
PARTIALS = 14
LOWEST, HIGHEST = 80.0, 6000.0  # Hz: what is looked at
FAINT = 0.02  # of the strongest: not looked at
LEAST = 0.015  # of the whole: a first partial is there
NEAR = 25.0  # cents: a partial is where it should be
TUNED, LIKE = 70, 45  # cents by which a box may be off, and a reed from what the box is off
OURS, OTHER = 0.5, 0.35  # shares of the sound in a note's partials: it is that note; it is not
PATIENT = 1.5  # seconds before anything is said of a note that is not right
QUIET = 5.0  # seconds after which it is said that nothing is heard
FALLEN = 0.12  # seconds of quiet that part two basses


class Stage(Enum):
    """What is listened for."""

    ROOM = "room"
    NOTES = "notes"
    LEFT = "left"
    DONE = "done"


class TakeIn:
    """One pass through a box.

    Parameters
    ----------
    pitches : the right hand's notes, in the order in which they are asked for, each once.
    left : how many basses and chords there are, 0 for none.

    Attributes
    ----------
    stage : what is listened for. `at` : which note, by its place in `pitches`; of the left hand how many were heard.
    share : how much of what is asked for now has been heard, 0 to 1.
    other : the pitch that sounds in place of the one that is wanted; None where it is right or nothing sounds.
    silent : nothing has been heard for long. `loud` : the room is not quiet.
    """

    def __init__(self, rate: int, pitches: Sequence[int], left: int = 0) -> None:
        self.rate, self.pitches, self.left = rate, tuple(pitches), left
        self.stage, self.at, self.share = Stage.ROOM, 0, 0.0
        self.other: int | None = None
        self.silent = self.loud = False
        self._step, self._window = round(STEP * rate), round(WINDOW * rate)
        self._spare: Sound = np.zeros(0, np.float32)
        self._past: Sound = np.zeros(0, np.float32)  # the last seconds
        self._room: Sound = np.zeros(0, np.float32)
        self._noise = LOUDEST_ROOM
        self._loudest = LOUDEST_ROOM  # of late
        self._since_quiet, self._only = 0, True  # looks since it was last quiet; whether only one note sounded in them
        self._took: list[tuple[int | None, Sound]] = []  # pitch and sound; None of the left hand
        self._tuning: list[float] = []  # cents, of the notes taken in
        self._began()

    @property
    def done(self) -> bool:
        """Whether there is nothing more to be taken in."""
        return self.stage is Stage.DONE

    @property
    def learnt(self) -> tuple[int, ...]:
        """The right hand's notes that were taken in, in order."""
        return tuple(pitch for pitch, _ in self._took if pitch is not None)

    @property
    def sound(self) -> Sound:
        """All that was taken in: each note once, the room's quiet before, between and after them."""
        parts = [self._quiet(0)]
        for n, (_, one) in enumerate(self._took):
            parts += [_eased(one, round(EDGE * self.rate)), self._quiet(n + 1)]
        return np.concatenate(parts)

    def take(self, block: Sound) -> None:
        """Take the next frames, of any number."""
        sound = np.concatenate((self._spare, block))
        for at in range(0, len(sound) - self._step + 1, self._step):
            self._look(sound[at : at + self._step])
        self._spare = sound[len(sound) // self._step * self._step :].copy()

    def skip(self) -> None:
        """Leave out what is asked for now: a note that the box has not; the whole of the left hand."""
        if self.stage is Stage.NOTES:
            self._on()
        elif self.stage is Stage.LEFT:
            self.stage = Stage.DONE

    def again(self) -> None:
        """Back to the note before."""
        if self.stage is Stage.NOTES and self.at:
            self.at -= 1
            if self._took and self._took[-1][0] == self.pitches[self.at]:
                self._took.pop()
                self._tuning.pop()
            self._began()

    def _began(self) -> None:
        """Something else is listened for from now on."""
        self._heard, self._waited, self._wrong_for, self._quiet_for = 0.0, 0.0, 0.0, 0.0
        self._off: list[float] = []
        self._free = self.stage is not Stage.LEFT  # of what sounded before
        self.share, self.other, self.silent = 0.0, None, False

    def _look(self, part: Sound) -> None:
        self._past = np.concatenate((self._past, part))[-round(LONGEST * self.rate) :]
        level = decibels(float(np.sqrt(np.mean(part**2))))
        self._since_quiet += 1
        self._loudest = max(level, self._loudest - FORGOTTEN * STEP)
        if level <= max(self._noise + ABOVE, self._loudest - FALL):
            self._since_quiet, self._only = 0, True
        if self.stage is Stage.ROOM:
            self._take_room(part, level)
        elif self.stage is Stage.NOTES:
            self._take_note(level)
        elif self.stage is Stage.LEFT:
            self._take_bass(level)

    def _take_room(self, part: Sound, level: float) -> None:
        self.loud = level > LOUDEST_ROOM
        self._room = np.zeros(0, np.float32) if self.loud else np.concatenate((self._room, part))
        self.share = min(1.0, len(self._room) / (ROOM * self.rate))
        if self.share < 1.0:
            return
        levels = [
            decibels(float(np.sqrt(np.mean(one**2))))
            for one in np.array_split(self._room, max(1, len(self._room) // self._step))
        ]
        self._noise = max(-75.0, max(levels))
        self.stage = Stage.NOTES if self.pitches else Stage.LEFT if self.left else Stage.DONE
        self._began()

    def _take_note(self, level: float) -> None:
        self._waited += STEP
        sounds = level > self._noise + ABOVE
        self._quiet_for = 0.0 if sounds else self._quiet_for + STEP
        self.silent = self._quiet_for > QUIET
        if not sounds or len(self._past) < self._window:
            self._missed(None)
            return
        spectrum = _Spectrum(self._past[-self._window :], self.rate)
        wanted = self.pitches[self.at]
        share, off = spectrum.best(wanted, self._near_tuning())
        other = spectrum.likeliest(self._near_tuning()) if share < OTHER else None
        if other is not None and (other - wanted) % 12:
            self._missed(other)
        else:  # a reed that is badly out of tune is taken in too, but it has to sound for longer
            self._heard += 1.0 if share >= OURS else 0.5
            self._wrong_for, self.other = 0.0, None
            self._off.append(off)
        self.share = min(1.0, self._heard * STEP / STEADY)
        if self._heard * STEP >= STEADY:
            self._tuning.append(median(self._off))
            self._keep(wanted)
            self._on()

    def _missed(self, other: int | None) -> None:
        """The note that is wanted does not sound now."""
        self._heard, self._off = 0.0, []
        if self._since_quiet * STEP > WINDOW:  # before, what is looked at has the note before in it
            self._only = self._only and other is None
        self.share = 0.0
        self._wrong_for = self._wrong_for + STEP if other is not None else 0.0
        if other is None or (self._wrong_for > WINDOW and self._waited > PATIENT):
            self.other = other

    def _near_tuning(self) -> tuple[int, int]:
        """How far off the box may be, in cents: anything at first, then near what it has been."""
        if not self._tuning:
            return -TUNED, TUNED
        middle = round(median(self._tuning))
        return middle - LIKE, middle + LIKE

    def _take_bass(self, level: float) -> None:
        sounds = level > self._noise + ABOVE
        self._quiet_for = 0.0 if sounds else self._quiet_for + STEP
        self.silent = self._quiet_for > QUIET
        if not sounds:
            self._heard = 0
            self._free = self._free or self._quiet_for >= FALLEN
        elif self._free:
            self._heard += 1
        self.share = min(1.0, self._heard * STEP / STEADY)
        if self._heard * STEP >= STEADY:
            self._keep(None)
            self.at += 1
            if self.at >= self.left:
                self.stage = Stage.DONE
            self._began()

    def _keep(self, pitch: int | None) -> None:
        """Keep what was steady; how the note began, too, where it did so out of a silence."""
        seconds = STEADY
        if self._only and (self._since_quiet + 1) * STEP + BEFORE < LONGEST:
            seconds = max(seconds, (self._since_quiet + 1) * STEP + BEFORE)
        self._took.append((pitch, self._past[-round(seconds * self.rate) :].copy()))
        self._only = False  # of what sounds on

    def _on(self) -> None:
        self.at += 1
        if self.at >= len(self.pitches):
            self.stage, self.at = (Stage.LEFT if self.left else Stage.DONE), 0
        self._began()

    def _quiet(self, number: int) -> Sound:
        """Half a second of the room, from another place each time."""
        frames = round(STILL * self.rate)
        spare = max(1, len(self._room) - frames)
        first = number * 7919 % spare
        return _eased(self._room[first : first + frames], round(EDGE * self.rate))


class _Spectrum:
    """The spectrum of a moment, which is asked how much of it lies in a note's partials."""

    def __init__(self, sound: Sound, rate: int) -> None:
        size = 1 << (len(sound) - 1).bit_length()
        # Amplitudes, not powers: a reed's weak partials tell as much as its strong ones.
        amplitude = np.abs(np.fft.rfft(sound * np.hanning(len(sound)), size))
        self._each = rate / size
        amplitude[: round(LOWEST / self._each)] = 0.0
        amplitude[round(HIGHEST / self._each) :] = 0.0
        amplitude[amplitude < FAINT * amplitude.max()] = 0.0
        self._sums = np.concatenate(([0.0], np.cumsum(amplitude)))
        self._all = max(float(self._sums[-1]), 1e-12)

    def best(self, pitch: int, tuned: tuple[int, int]) -> tuple[float, float]:
        """The largest share that lies in a note's partials, and how far the note is off then, in cents; none where its
        first partial is missing, as in a note whose partials are a few of this one's."""
        off = np.arange(tuned[0], tuned[1] + 1, 15)
        first = 440.0 * 2 ** ((pitch - 69 + off / 100) / 12)
        at = first[:, None] * np.arange(1, PARTIALS + 1)
        wide, reach = 2 ** (NEAR / 1200), 2.0 / WINDOW  # the latter is the window's own width
        low = np.floor(np.minimum(at / wide, at - reach) / self._each).astype(int)
        high = np.ceil(np.maximum(at * wide, at + reach) / self._each).astype(int) + 1
        low[:, 1:] = np.maximum(low[:, 1:], high[:, :-1])  # low notes' partials lie so near that they touch
        low, high = np.clip(low, 0, len(self._sums) - 1), np.clip(high, 0, len(self._sums) - 1)
        each = self._sums[np.maximum(low, high)] - self._sums[low]
        shares = np.where(each[:, 0] > LEAST * self._all, each.sum(axis=1), 0.0) / self._all
        n = int(np.lexsort((np.abs(off), -shares))[0])
        return float(shares[n]), float(off[n])

    def likeliest(self, tuned: tuple[int, int]) -> int | None:
        """The note that it is likeliest to be: the highest of those with nearly as much of it as any."""
        shares = {pitch: self.best(pitch, tuned)[0] for pitch in range(48, 97)}
        most = max(shares.values())
        return max(pitch for pitch, share in shares.items() if share >= 0.9 * most) if most >= OURS else None


def _eased(sound: Sound, frames: int) -> Sound:
    """A sound that begins and ends softly."""
    eased = sound.copy()
    ramp = np.linspace(0, 1, min(frames, len(sound) // 2), dtype=np.float32)
    if len(ramp):
        eased[: len(ramp)] *= ramp
        eased[-len(ramp) :] *= ramp[::-1]
    return eased
