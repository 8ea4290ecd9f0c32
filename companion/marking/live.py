"""Marks while the round is played: each heard note gets a verdict at once, to be shown in the next frame.

These are first opinions: the alignment over the whole round (`companion.marking.marks`) decides at its end. Every note
costs the same, however long the tune is.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from copy import copy
from dataclasses import replace

from companion.marking.mark_values import Asked, Heard, NoteMark, Verdict
from companion.marking.marking_rules import MarkingRules
from companion.timeline import Timeline

# Going back: so many notes must be those of an earlier place, at most so far behind (about two bars of a jig or reel).
_SAME, _BACK = 3, 24
# How fast the player's own lead or lag is learnt, a right note; and its bound in seconds.
_LEARN, _MOST_BIAS = 0.15, 0.12


class LiveMarker:
    """Follows one round.

    Parameters
    ----------
    asked : the notes in order of place.
    timeline : where the beat lies; None for right notes in order, at any speed: the cursor waits for the right note.

    `marks` holds the latest mark of each asked note by position, `verdicts` its verdict by index in the round, `cursor`
    the position of the next note that is waited for. `wrong` is the last wrong note (None: the last one was right, or
    none came): the position of what was asked, what came, and which heard note it was.
    """

    def __init__(self, asked: Sequence[Asked], timeline: Timeline | None, rules: MarkingRules) -> None:
        self.rules = rules
        self.marks: list[NoteMark | None] = [None] * len(asked)
        self.verdicts: dict[int, Verdict] = {}
        self.cursor = 0
        self.wrong: tuple[int, int, int] | None = None
        self._asked = asked
        self._timeline = timeline
        self._due = [timeline.seconds(note.at) for note in asked] if timeline is not None else []
        self._came: list[float] = [0.0] * len(asked)
        self._heard = 0
        self._bias = 0.0
        self._wrong_since: deque[tuple[int, int]] = deque(maxlen=_SAME)

    def retime(self, timeline: Timeline) -> None:
        """Go on with notes that are due at other times from here on."""
        self._timeline = timeline
        self._due = [timeline.seconds(note.at) for note in self._asked]

    def copy(self) -> LiveMarker:
        """One that goes its own way from here on."""
        other = copy(self)
        other.marks, other.verdicts, other._came = self.marks.copy(), self.verdicts.copy(), self._came.copy()
        other._wrong_since = self._wrong_since.copy()
        return other

    @property
    def done(self) -> bool:
        """Whether no note is waited for any more."""
        return self.cursor >= len(self._asked)

    def hear(self, note: Heard) -> tuple[NoteMark, ...]:
        """Take one heard note; the marks that it makes or changes (an earlier wrong one may become an ornament)."""
        number = self._heard
        self._heard += 1
        if self._timeline is None:
            return self._in_order(note, number)
        return self._in_time(note, number)

    def waits_for(self, note: Heard) -> bool:
        """Whether a note would be right now."""
        if self._timeline is None:
            return not self.done and self._asked[self.cursor].pitch == note.pitch
        k = self._place(note)
        return k is not None and self._asked[k].pitch == note.pitch

    def until(self, seconds: float) -> tuple[NoteMark, ...]:
        """Say which notes are missed, now that it is `seconds`; with no clock none ever is."""
        missed = []
        while self._timeline is not None and self.cursor < len(self._asked):
            k = self.cursor
            if seconds <= self._due[k] + self._bias + self._window(k):
                break
            if self.marks[k] is None:
                missed.append(
                    self._set(k, NoteMark(self._asked[k].index, None, Verdict.MISSED, self._asked[k].pitch, None, None))
                )
            self.cursor += 1
        return tuple(missed)

    def _window(self, k: int) -> float:
        """How far from its place note `k` is still looked for, in seconds: not beyond half way to the next."""
        step = (
            self._due[k + 1] - self._due[k] if k + 1 < len(self._due) else self._due[k] - self._due[k - 1] if k else 0.5
        )
        return min(max(0.6 * step, 0.09), 0.35)

    def _in_time(self, note: Heard, number: int) -> tuple[NoteMark, ...]:
        missed = self.until(note.seconds)
        k = self._place(note)
        if k is None:
            return (*missed, NoteMark(None, number, self._added(note), None, note.pitch, None))
        return (*missed, *self._fill(k, note, number))

    def _place(self, note: Heard) -> int | None:
        """The asked note that a heard one is likeliest to be meant for, by its time; None where it fits nowhere."""
        best: tuple[float, int] | None = None
        nearest: tuple[float, int] | None = None  # of the notes that nothing stands for yet
        k = max(0, self.cursor - 1)
        while k < len(self._asked) and self._due[k] + self._bias - self._window(k) <= note.seconds:
            away = abs(note.seconds - self._due[k] - self._bias)
            mark = self.marks[k]
            right = self._asked[k].pitch == note.pitch
            open_ = mark is None or (right and mark.verdict in (Verdict.WRONG, Verdict.MISSED))
            if open_ and away <= 1.5 * self._window(k):
                # A right pitch is worth being further away; not where it would pass over a note that is due just now.
                passes = nearest is not None and nearest[0] < away / 2 and nearest[1] < k
                cost = away / self._window(k) + (0.0 if right and not passes else 1.0)
                if best is None or cost < best[0]:
                    best = (cost, k)
                if mark is None and (nearest is None or away < nearest[0]):
                    nearest = (away, k)
            k += 1
        return best[1] if best is not None else None

    def _fill(self, k: int, note: Heard, number: int) -> tuple[NoteMark, ...]:
        """Note `k` has come, right or wrong."""
        asked, before = self._asked[k], self.marks[k]
        right = asked.pitch == note.pitch
        late = note.seconds - self._due[k]
        if right:
            self._bias += _LEARN * (late - self._bias)
            self._bias = min(max(self._bias, -_MOST_BIAS), _MOST_BIAS)
        verdict = Verdict.RIGHT if right else Verdict.WRONG
        self.wrong = None if right else (k, note.pitch, number)
        now = self._set(k, NoteMark(asked.index, number, verdict, asked.pitch, note.pitch, round(late * 1000.0, 3)))
        changed = []
        if before is not None and before.heard is not None:
            # What came in its place before the right note did: a cut if it was quick.
            quick = (note.seconds - self._came[k]) * 1000.0 <= self.rules.ornament.longest_ms
            verdict = Verdict.ORNAMENT if quick else Verdict.EXTRA
            changed.append(NoteMark(None, before.heard, verdict, None, before.heard_pitch, None))
        self._came[k] = note.seconds
        return (*changed, now)

    def _added(self, note: Heard) -> Verdict:
        """An extra note or an ornament: near in pitch to the note that just came, and in its time."""
        rule = self.rules.ornament
        for k in (self.cursor, self.cursor - 1):
            mark = self.marks[k] if 0 <= k < len(self.marks) else None
            if mark is not None and mark.verdict is Verdict.RIGHT and mark.pitch is not None:
                near = -rule.below <= note.pitch - mark.pitch <= rule.above
                if near and (note.seconds - self._came[k]) * 1000.0 <= rule.triplet_ms:
                    return Verdict.ORNAMENT
        return Verdict.EXTRA

    def _in_order(self, note: Heard, number: int) -> tuple[NoteMark, ...]:
        if self.done:
            return (NoteMark(None, number, Verdict.EXTRA, None, note.pitch, None),)
        asked = self._asked[self.cursor]
        if note.pitch == asked.pitch:
            self._wrong_since.clear()
            mark = NoteMark(asked.index, number, Verdict.RIGHT, asked.pitch, note.pitch, None)
            before = self.marks[self.cursor]
            if before is not None and before.verdict is Verdict.WRONG:  # it was tried: wrong at first is wrong
                mark = replace(mark, verdict=Verdict.WRONG, heard_pitch=before.heard_pitch, tries=before.tries)
            self._set(self.cursor, mark)
            self.wrong = None
            self.cursor += 1
            return (mark,)
        self._wrong_since.append((number, note.pitch))
        back = self._gone_back()
        if back is None:
            before = self.marks[self.cursor]
            first = note.pitch if before is None or before.heard_pitch is None else before.heard_pitch
            tries = (*(() if before is None else before.tries), number)
            mark = NoteMark(asked.index, None, Verdict.WRONG, asked.pitch, first, None, tries=tries)
            self.wrong = (self.cursor, note.pitch, number)
            return (self._set(self.cursor, mark),)
        # The notes since then were no mistakes, and what is to come is asked again.
        for k in range(back, min(self.cursor + 1, len(self.marks))):
            self.marks[k] = None
            self.verdicts.pop(self._asked[k].index, None)
        again = []
        self.wrong = None
        for k, (heard, pitch) in zip(range(back, back + _SAME), self._wrong_since, strict=True):
            index = self._asked[k].index
            again.append(self._set(k, NoteMark(index, heard, Verdict.RIGHT, pitch, pitch, None)))
        self.cursor = back + _SAME
        self._wrong_since.clear()
        return tuple(again)

    def _gone_back(self) -> int | None:
        """Where the last notes begin again, None where they fit nowhere behind the cursor; the nearest such place."""
        if len(self._wrong_since) < _SAME:
            return None
        pitches = [pitch for _, pitch in self._wrong_since]
        for k in range(self.cursor - _SAME, max(-1, self.cursor - _SAME - _BACK), -1):
            if k >= 0 and all(self._asked[k + d].pitch == pitches[d] for d in range(_SAME)):
                return k
        return None

    def _set(self, k: int, mark: NoteMark) -> NoteMark:
        self.marks[k] = mark
        self.verdicts[self._asked[k].index] = mark.verdict
        return mark
