"""What is being played, block by block: the same ear and likelihoods, and a path that is followed as it grows.

A note that is expected is told the moment it is the likeliest thing; another once it has sounded for long enough to be
sure of, with the moment at which it began.

Conventions: as in `companion.hearing.spectra`; seconds from the beginning of the stream.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from companion.hearing import weigh
from companion.hearing.again import AROUND, MOST, levels, partials, pitch_hz
from companion.hearing.chosen import sure
from companion.hearing.ear import LEFT, NOISE, Ear, Sound
from companion.hearing.fit import as_shares, misfit, shares
from companion.hearing.notes import CHANGE, LAG, likely
from companion.hearing.odds import again_odds, part_odds
from companion.hearing.spectra import HOP, LONG, RATE, SHORT, Floats, Spectra

_ROUNDS = 4  # of the fit, which begins where the frame before it ended
_LEANING = 3.0  # by how much less a change to the note that is expected costs (nats)
_EXPECTED, _OTHER = 0.0, 4.5  # log odds at which an expected note is told, and another
_INTO = 8  # frames into a note from which on it is steady
# What is played is strange where so many times, and so much, more of it is left over than when the box was learnt.
# Ours: up to 1.44 times for the same box and place, 1.55 to 3.4 times for another box.
_STRANGE, _STRANGE_BY = 1.5, 0.12
_FITS_EVERY, _FITS_SEEN = 8, 60  # frames between two looks, and looks that tell
_FORESEEN = 0.97  # how sure a note is that was expected and leads; ours: more of them were right in every trial
_EXPECTED_AGAIN, _OTHER_AGAIN = -2.0, 8.0
_AHEAD, _BACK = 6, 8  # notes of the round after and before the next one among which the place is looked for
_LOOKED_AT = 4  # notes that came, by which
_LEAST = 0.12  # of the usual note: less is no beginning
_KEPT = 10 * 60 * RATE // HOP  # frames whose holdings are kept
_RISES, _NOTHING = 1.0001, 1e-4  # how fast silence may grow louder, a frame, and what is less than any
_OVER_SILENCE = 5.0  # times: what is louder is a sound
_SLOW = 0.004  # how fast the usual loudness follows
_LEAST_DIP = 2.0  # dB
_EVERY = 2  # frames between two looks for the same note again
_GAP = 14  # frames of silence within which the same note may only have dipped


@dataclass(frozen=True, slots=True)
class LiveNote:
    """A note that began (`ends` false) or ended, at `seconds` from the beginning of the stream.

    A note that was expected is told the moment it is likely; another once it is sure, with the moment it began.
    """

    seconds: float
    pitch: int
    ends: bool
    sure: float = 1.0
    velocity: int = 64


@dataclass(slots=True)
class _Sounding:
    """A pitch that leads, since frame `first`: how likely it was in each frame, and how loud; `told`: it is a note."""

    number: int
    first: int
    told: bool = False
    likely: float = 0.0
    loud: float = 0.0
    peak: float = 0.0
    left: float = 0.0
    frames: int = 0
    foreseen: bool = False

    def take(self, share: float, loud: float, left: float) -> None:
        self.frames += 1
        self.likely += share
        self.loud += loud
        self.left += left
        self.peak = max(self.peak, loud)

    def odds(self) -> float:
        n = self.frames
        return part_odds(n, self.likely / n, self.peak, self.loud / n, self.left / n, between=False)


class LiveHearing:
    """Hears one stream. Not for several threads; every block costs the same, whatever came before.

    Raises
    ------
    ValueError : a stream at another rate than `RATE`.
    """

    def __init__(self, ear: Ear, rate: int = RATE) -> None:
        if rate != RATE:
            raise ValueError(f"a stream is heard at {RATE} frames a second, not at {rate}")
        self.ear = ear
        self._count = len(ear.pitches)
        self._long, self._short = Spectra(LONG), Spectra(SHORT, 0.5)
        owners = [ear.owners == k for k in range(self._count)] + [ear.owners == LEFT, ear.owners == NOISE]
        self._own = np.array(owners).T.astype(np.float32)
        self._steady = [
            partials(self._short, pitch_hz(pitch, float(cents)), steady, ear.short_quiet)
            for pitch, cents, steady in zip(ear.pitches, ear.cents, ear.short, strict=True)
        ]
        self._unit = as_shares(ear.templates)
        self._samples = np.zeros(LONG, np.float32)  # of the last window
        self._echo: Floats | None = None  # of what the program plays, where it has played
        self._rest = self._rest_beside = np.zeros(0, np.float32)  # of a frame that has not come in whole
        self._start: Floats = np.zeros(0, np.float32)  # what the frame before held
        self._usual = float(ear.loud.mean()) if not ear.guessed else 0.0
        self._silence = float(ear.quiet.sum()) if not ear.guessed else 1.0
        self._kept = np.zeros((_KEPT, self._count), np.float16)
        self._before = deque[Floats]([np.zeros((1, self._count), np.float32)] * LAG, LAG)  # what the last frames held
        self._frame = 0
        self._best: Floats = np.zeros(self._count + 1)
        self._best[: self._count] = -CHANGE
        self._changed: Floats = np.full(self._count + 1, -CHANGE)  # where a change of note leads
        self._leads: _Sounding | None = None
        self._note: _Sounding | None = None  # the note that was told and has not ended
        self._last = (-1, -_GAP)  # the pitch that ended last, and the frame
        self._partials = np.zeros((0, 1), np.float32)  # of the note, in the last frames, and how loud they lately were
        self._highest = self._partials
        self._asked: tuple[int, ...] = ()
        self._next = 0
        self._came: tuple[int, ...] = ()
        self._seen: Floats = np.zeros(self._long.bands, np.float32)  # of the last frame
        self._learnt = np.zeros(self._count, int)  # frames that a guessed ear has taken in of each pitch
        self._fits, self._fits_seen = 0.0, 0  # how badly what is played fits, over the last frames looked at
        self._taken_for = (-1, -1)  # a pitch that leads, and the one it stands for

    def expect(self, pitches: Sequence[int]) -> None:
        """The notes of the round, in order, from now on; () where anything may come."""
        self._asked, self._next, self._came = tuple(pitches), 0, ()

    def take(self, block: Sound, playback: Sound | None = None) -> list[LiveNote]:
        """Take the next frames, of any number, and what the program's own playing sounded in them (None: nothing).

        Returns what has become known, in the order in which it did.
        """
        self._rest = np.concatenate([self._rest, block]) if len(self._rest) else block
        if playback is not None or len(self._rest_beside):
            before = np.zeros(len(self._rest) - len(self._rest_beside) - len(block), np.float32)
            beside = playback if playback is not None else np.zeros(len(block), np.float32)
            self._rest_beside = np.concatenate([self._rest_beside, before, beside])
        told: list[LiveNote] = []
        whole = len(self._rest) // HOP * HOP
        for first in range(0, whole, HOP):
            told += self._hop(self._rest[first : first + HOP], self._rest_beside[first : first + HOP])
        self._rest, self._rest_beside = self._rest[whole:].copy(), self._rest_beside[whole:]
        return told

    def sounded(self, pitch: int, first: float, last: float) -> tuple[float, float]:
        """As `companion.hearing.weigh.sounded`, between two moments of the stream, of the last ten minutes."""
        begin, end = (round((at + self.ear.late) * RATE / HOP) for at in (first, last))
        begin = max(begin, self._frame - _KEPT, 0)
        rows = np.arange(begin, max(begin, min(end, self._frame))) % _KEPT
        return weigh.sounded(self._kept[rows].astype(np.float32), self.ear, pitch)

    @property
    def strange(self) -> bool:
        """Whether what is played sounds like another box, or another room, than the one that was learnt."""
        learnt = self.ear.misfit
        return self._fits_seen > _FITS_SEEN and self._fits > max(_STRANGE * learnt, learnt + _STRANGE_BY)

    # One frame

    def _hop(self, new: Floats, beside: Floats) -> list[LiveNote]:
        self._samples = np.concatenate([self._samples[HOP:], new])
        if len(beside) or self._echo is not None:
            echo = self._echo if self._echo is not None else np.zeros(LONG, np.float32)
            self._echo = np.concatenate([echo[HOP:], beside, np.zeros(HOP - len(beside), np.float32)])
        seen = self._long.one(self._samples)[None]
        moving = self._long.one(self._echo)[None] if self._echo is not None and self._echo.any() else None
        fitted = shares(seen, self._unit, _ROUNDS, start=self._start if len(self._start) else None, moving=moving)[
            :, : len(self._own)
        ]
        self._start, self._seen = fitted[0], seen[0]
        held = (fitted @ self._own)[0]
        self._follow_loudness(float(held[: self._count].max()))
        held = held / max(self._usual, 2 * _OVER_SILENCE * self._silence if self.ear.guessed else 1e-9)
        self._kept[self._frame % _KEPT] = np.minimum(held[: self._count], 100)
        score = likely(held[None, : self._count], self._before[0])[0]
        self._before.append(held[None, : self._count])
        told = self._lead(score, held[: self._count], float(held[self._count]))
        if self._frame % _EVERY == 0:
            told += self._begun_again(float(held[self._count]))
        self._frame += 1
        return told

    def _follow_loudness(self, most: float) -> None:
        if self.ear.guessed:
            # Silence is what is never much undercut; it may rise again, slowly.
            self._silence = max(min(most, self._silence * _RISES), _NOTHING)
        if most > 0.25 * self._usual and most > (_OVER_SILENCE if self.ear.guessed else 2) * self._silence:
            speed = _SLOW if self._usual and not self.ear.guessed else 0.05
            self._usual += (speed if self._usual else 1.0) * (most - self._usual)

    def _lead(self, score: Floats, held: Floats, left: float) -> list[LiveNote]:
        """One step of the path; a note begins or ends where another pitch, or silence, takes the lead."""
        changed = self._changed  # the likeliest lies at nought, all others below it
        for number in self._expected():
            changed = changed.copy()
            changed[number] += _LEANING
        self._best = np.maximum(self._best, changed) + score
        raw = int(self._best.argmax())  # what it is taken for
        self._best -= self._best[raw]
        number = self._meant(raw)
        told: list[LiveNote] = []
        if self._leads is None or number != self._leads.number:
            told += self._over()
            self._leads = _Sounding(number, self._frame)
        leads = self._leads
        if number < self._count:
            leads.take(float(np.exp(score[raw])), float(held[raw]), left)
            told += self._told(leads, float(held[raw]))
            if self.ear.guessed:
                self._gather(leads)
            elif self._frame % _FITS_EVERY == 0 and leads.frames > _INTO and self._echo is None:
                off = float(misfit(self._seen[None], self._start[None, : len(self._unit)], self._unit)[0])
                self._fits_seen += 1
                self._fits += max(1 / self._fits_seen, 1 / _FITS_SEEN) * (off - self._fits)
        elif self._note is not None and self._frame - leads.first >= 3:
            told += self._end(leads.first)
        return told

    # A box that nobody has learnt is learnt as it is played

    def _meant(self, number: int) -> int:
        """What a pitch stands for that a guessed ear leads with: the note expected, where it is an octave off."""
        if not self.ear.guessed or number == self._count:
            return number
        leads = self._leads
        if leads is not None and self._taken_for == (number, leads.number):
            return leads.number
        for expected in self._expected():
            if number != expected and (number - expected) % 12 == 0 and self._learnt[expected] == 0:
                self._taken_for = (number, expected)
                return expected
        return number

    def _gather(self, leads: _Sounding) -> None:
        """Take the steady part of a note that was told, and expected, into its template."""
        if not leads.foreseen or leads.frames < _INTO:
            return
        seen = self._seen
        rows = np.flatnonzero(self.ear.owners == leads.number)
        times = self._learnt[leads.number] = self._learnt[leads.number] + 1
        share = max(1.0 / (times + 2), 0.02)
        kept = seen / (seen.sum() + 1e-9)
        self._unit[rows[0]] += share * (kept - self._unit[rows[0]])
        if times == 1:
            self._unit[rows[1:]] = 0.5 * (self._unit[rows[1:]] + kept)

    def _expected(self) -> set[int]:
        if self._next >= len(self._asked) or self._asked[self._next] not in self.ear.pitches:
            return set()
        return {self.ear.pitches.index(self._asked[self._next])}

    def _told(self, leads: _Sounding, loud: float) -> list[LiveNote]:
        """The note that leads, if it is time to tell of it."""
        if leads.told or loud < _LEAST:
            return []
        note = self._note
        if note is not None and note.number == leads.number:  # it went on under something that was none
            leads.told = True
            return []
        expected = leads.number in self._expected()
        same = self._last[0] == leads.number and leads.first - self._last[1] < _GAP
        odds = leads.odds()
        if not expected and (odds < _OTHER or same):
            return []
        leads.foreseen = expected
        return self._tell(leads, leads.first, _FORESEEN if expected else sure(odds - _OTHER / 2))

    def _over(self) -> list[LiveNote]:
        """Another takes the lead: what led before, and was too short to be sure of, may be clear by now."""
        leads = self._leads
        if leads is None or leads.told or not leads.frames or leads.frames < 4:
            return []
        if leads.odds() < _OTHER or (self._note is not None and self._note.number == leads.number):
            return []
        return self._tell(leads, leads.first, sure(leads.odds() - _OTHER / 2))

    def _tell(self, leads: _Sounding, first: float, chance: float) -> list[LiveNote]:
        told = self._end(leads.first) if self._note is not None else []
        leads.told = True
        self._note = leads
        self._partials = self._highest = np.zeros((0, self._partials.shape[1]), np.float32)
        pitch = self.ear.pitches[leads.number]
        self._count_on(pitch)
        velocity = round(min(max(64 * leads.peak**0.5, 1), 127))
        return [*told, LiveNote(self._seconds(first), pitch, False, round(chance, 4), velocity)]

    def _end(self, frame: int) -> list[LiveNote]:
        note, self._note = self._note, None
        if note is None:
            return []
        self._last = (note.number, frame)
        return [LiveNote(self._seconds(frame), self.ear.pitches[note.number], True)]

    def _count_on(self, pitch: int) -> None:
        """The next note that is expected, once one has come: after the place that the last ones fit best."""
        self._came = (*self._came, pitch)[-_LOOKED_AT:]
        asked, here = self._asked, self._next

        def fits(place: int) -> tuple[int, int]:
            back = zip(reversed(asked[: place + 1]), reversed(self._came), strict=False)
            return sum(one == other for one, other in back), -abs(place - here)

        places = [n for n in range(max(0, here - _BACK), min(len(asked), here + 1 + _AHEAD)) if asked[n] == pitch]
        if places:
            self._next = max(places, key=fits) + 1

    def _seconds(self, frame: float) -> float:
        return max(0.0, (frame + 1) * HOP / RATE - self.ear.late)

    # The same note again

    def _begun_again(self, left: float) -> list[LiveNote]:
        note = self._note
        if note is None:
            return []
        soon = self._short.one(self._samples[-SHORT:])
        level = levels(soon[None], self._steady[note.number], self.ear.short_quiet)
        if self._partials.shape[1] != level.shape[1]:
            self._partials = self._highest = np.zeros((0, level.shape[1]), np.float32)
        self._partials = np.concatenate([self._partials[-AROUND // _EVERY :], level])
        self._highest = np.concatenate([self._highest[-AROUND // _EVERY :], self._partials.max(0, keepdims=True)])
        after = np.maximum.accumulate(self._partials[::-1])[::-1]
        below = np.minimum(np.minimum(self._highest, after) - self._partials, MOST).mean(1)
        at = int(below.argmax())
        depth, until = float(below[at]), (len(below) - at) * _EVERY
        if until < 2 * _EVERY or depth < _LEAST_DIP:
            return []
        odds = again_odds(depth, float(self.ear.beats[note.number]), self._frame - note.first - until, 20, left)
        expected = note.number in self._expected()
        if odds < (_EXPECTED_AGAIN if expected else _OTHER_AGAIN):
            return []
        again = _Sounding(note.number, self._frame - until + 1, told=True, peak=note.peak)
        told = self._tell(again, again.first, sure(odds + 3.0 if expected else odds - 4.0))
        if self._leads is not None and self._leads.number == note.number:
            self._leads = again
            again.take(1.0, note.peak, left)
        return told
