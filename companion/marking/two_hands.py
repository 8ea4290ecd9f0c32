"""Both hands on one channel, marked: what the left hand plays has no mark.

At the end of a round, :func:`mark_melody` marks what is the melody's. While the round is played, :class:`TwoHands`
hands each note on to the live marks as soon as it is known to be the melody's: at once where the tune waits for it or
the left hand has no such note, else with the next note of the stroke or after a few milliseconds.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import replace
from fractions import Fraction

from companion.box.box_values import Fingering
from companion.marking.left_hand import CHORD_TOP, MOST_AT_ONCE, TOGETHER, shared_out
from companion.marking.live import LiveMarker
from companion.marking.mark_values import Asked, Heard, Marks, NoteMark, Verdict
from companion.marking.marking_rules import MarkingRules
from companion.marking.marks import mark
from companion.marking.melody import Hands, hands
from companion.timeline import Timeline

# For so many seconds a low note that the tune does not wait for may turn out to be a chord's (ours: three messages take
# 3 ms on a MIDI cable, and the session looks every 2 ms).
HOLD = 0.008


def mark_melody(
    asked: Sequence[Asked],
    heard: Sequence[Heard],
    found: Hands | None = None,
    *,
    timeline: Timeline | None,
    fingering: Fingering | None = None,
    rules: MarkingRules,
    beat: Fraction | None = None,
    lowest: int | None = None,
    waits: bool = False,
) -> Marks:
    """Mark one round in which the left hand may play too; as :func:`companion.marking.marks.mark`.

    A note of a chord that could be the tune's counts where the tune would lack a note without it.

    Parameters
    ----------
    found : whose each note is, None to find out.
    lowest : the lowest note of the whole tune, as the box sounds it; None to find it out from `asked` and `heard`.

    Returns
    -------
    Marks
        `NoteMark.heard` counts in `heard` in order of onset; notes of the left hand have no mark.
    """
    heard = sorted(heard, key=lambda note: note.seconds)
    found = hands(heard, asked, lowest) if found is None else found

    def marked(places: Sequence[int]) -> Marks:
        notes = [heard[j] for j in places]
        marks = mark(asked, notes, timeline=timeline, fingering=fingering, rules=rules, beat=beat, waits=waits)
        return replace(marks, notes=tuple(counted_in(note, places) for note in marks.notes))

    without = marked(found.melody)
    if not found.doubtful or all(_came(n) for n in without.notes if n.written is not None):
        return without
    claimed = _claimed(without, marked(sorted((*found.melody, *found.doubtful))), found.doubtful)
    return marked(sorted((*found.melody, *claimed))) if claimed else without


def counted_in(note: NoteMark, places: Sequence[int]) -> NoteMark:
    """A mark with its heard notes, which were counted in a part of what was heard, counted in all of it: `places` has
    the place of each."""
    heard = None if note.heard is None else places[note.heard]
    return replace(note, heard=heard, tries=tuple(places[j] for j in note.tries))


def _claimed(without: Marks, with_all: Marks, doubtful: Sequence[int]) -> list[int]:
    """The notes in doubt without which the tune would lack a note: each is right where none was, or moves the notes
    that were right on until one is."""
    stood = {n.written: n.heard for n in without.notes if _came(n)}
    right = {n.heard: n.written for n in with_all.notes if _came(n)}
    found = []
    for j in doubtful:
        now = right.get(j)
        moved: set[int | None] = {j}
        while now in stood and stood[now] not in moved:
            moved.add(stood[now])
            now = right.get(stood[now])
        if now is not None and now not in stood:
            found.append(j)
    return found


def _came(note: NoteMark) -> bool:
    """Whether the right note came, at once or after others were tried."""
    return note.verdict is Verdict.RIGHT or bool(note.tries)


class TwoHands:
    """What a player plays in one round, on its way to the live marks.

    Parameters
    ----------
    live : takes the melody's notes. `asked` : what it asks for.
    lowest : the lowest note of the whole tune, where `asked` is a piece of it.
    """

    def __init__(self, live: LiveMarker, asked: Sequence[Asked], lowest: int | None = None) -> None:
        self.live = live
        self._lowest = min((note.pitch for note in asked), default=0) if lowest is None else lowest
        self._stroke: list[Heard] = []
        self._open: list[int] = []  # the notes of the stroke that are not decided on yet, by place in it
        self._passed: set[int] = set()  # the pitches of the stroke that were handed on
        self._claimed: list[int] = []  # the pitches of notes in doubt that were taken for the tune's

    def copy(self) -> TwoHands:
        """One that goes its own way from here on, with live marks of its own."""
        other = copy(self)
        other.live = self.live.copy()
        other._stroke, other._open = self._stroke.copy(), self._open.copy()
        other._passed, other._claimed = self._passed.copy(), self._claimed.copy()
        return other

    def hear(self, note: Heard) -> None:
        """Take one heard note."""
        if self._stroke and note.seconds - self._stroke[0].seconds > TOGETHER:
            self._let_go()
            self._stroke, self._passed = [], set()
        self._stroke.append(note)
        self._open.append(len(self._stroke) - 1)
        if len(self._stroke) > MOST_AT_ONCE:  # a flood is no stroke
            self._let_go()
            self._stroke, self._passed = [], set()
            return
        shares = shared_out(tuple(one.pitch for one in self._stroke), self._lowest)
        doubtful = {self._stroke[k].pitch for k in shares.doubtful}
        for k in tuple(self._open):
            one = self._stroke[k]
            if k in shares.left:
                self._open.remove(k)
            elif one.pitch in doubtful:
                self._open.remove(k)
                self._claim(one)
            elif one.pitch > CHORD_TOP or self.live.waits_for(one):
                self._open.remove(k)
                self._pass_on(one)

    def _claim(self, note: Heard) -> None:
        """A chord's note is the tune's where that waits for it, once in a stroke."""
        if note.pitch in self._passed:
            if note.pitch in self._claimed:
                self._claimed.remove(note.pitch)
        elif self.live.waits_for(note):
            self._claimed.append(note.pitch)
            self._passed.add(note.pitch)
            self.live.hear(note)

    def due(self, seconds: float) -> bool:
        """Whether a note has waited long enough, now that it is `seconds`."""
        return bool(self._open) and seconds - self._stroke[self._open[0]].seconds > HOLD

    def until(self, seconds: float) -> None:
        """Decide on what has waited long enough."""
        if self.due(seconds):
            self._let_go()

    def _let_go(self) -> None:
        """What is still open is the melody's."""
        held, self._open = self._open, []
        for k in held:
            self._pass_on(self._stroke[k])

    def _pass_on(self, note: Heard) -> None:
        """A note of the melody. Where a chord's has stood for it already, that is enough."""
        if note.pitch not in self._claimed:
            self._claimed.clear()
        elif not self.live.waits_for(note):
            self._claimed.remove(note.pitch)
            return
        self._passed.add(note.pitch)
        self.live.hear(note)
