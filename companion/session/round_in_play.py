"""A round under way, and what is known of it so far."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from companion.marking.left_hand import TOGETHER
from companion.marking.live import LiveMarker
from companion.marking.mark_values import Heard, Marks, Verdict
from companion.marking.marks import faults
from companion.marking.two_hands import TwoHands, mark_melody
from companion.practice.player_state import Outcome
from companion.practice.round_plan import RoundPlan, TuneInHand
from companion.screen.words import Say
from companion.session.round_sentences import sentence

AT_EASE = 0.8  # seconds of quiet after which the stand-in's round with no clock is over
MOST = 40  # notes a second over a whole round: more than both hands of anyone play


@dataclass(slots=True)
class RoundInPlay:
    """A round under way. `first` is what was heard of it, as far as the instrument is told by it."""

    going: RoundPlan
    live: LiveMarker
    hands: TwoHands
    standin: bool
    verdicts: dict[int, Verdict] = field(default_factory=dict)
    marked: bool = False
    last_heard: float = 0.0
    first: list[Heard] = field(default_factory=list)

    def played_out(self, now: float) -> bool:
        """Whether a round with no clock is over: all of it has been played, or the stand-in has fallen quiet."""
        if self.live.done and now > self.last_heard + TOGETHER:
            return True
        return self.standin and bool(self.last_heard) and now > self.last_heard + self._patience

    @property
    def _patience(self) -> float:
        longest = max(float(asked.length) for asked in self.going.asked)
        return longest * self.going.timeline.whole + AT_EASE

    def seconds(self, now: float) -> float:
        """How long it has taken, its count-in with it."""
        return self.going.ends - self.going.begins if self.going.clocked else now - self.going.begins


@dataclass(frozen=True, slots=True)
class JudgedRound:
    """What came of a round: its marks by the notes of one round (None: nothing to be marked), and what is said."""

    marks: Marks | None
    said: str
    verdicts: dict[int, Verdict] = field(default_factory=dict)
    outcome: Outcome | None = None


def judged(one: RoundInPlay, heard: Sequence[Heard], seconds: float, course: TuneInHand, words: Say) -> JudgedRound:
    """Mark a round that is over, from what was heard in it."""
    going = one.going
    if len(heard) > MOST * (seconds + 1.0):
        return JudgedRound(None, words("said_flood"))
    marks = _marks(going, heard, course)
    stray = before_it_began(going, heard, marks)
    if stray:
        marks = _marks(going, [note for n, note in enumerate(heard) if n not in stray], course)
    if all(note.heard is None for note in marks.notes):
        return JudgedRound(None, words("said_silent"))
    verdicts = {note.written: note.verdict for note in marks.notes if note.written is not None}
    marks = course.in_round(marks)
    outcome = Outcome(going.task, marks.clean, faults(marks, course.marking))
    return JudgedRound(marks, sentence(marks, course, words), verdicts, outcome)


def before_it_began(going: RoundPlan, heard: Sequence[Heard], marks: Marks) -> set[int]:
    """The indices of extra notes that came before a round in time began: they are no mistake of this round.

    A note shortly before the seam may be its first note, played early; where that came as well, it was not.
    """
    if not going.clocked:
        return set()
    starts = going.timeline.seconds(going.asked[0].at)
    extra = {note.heard for note in marks.notes if note.verdict is Verdict.EXTRA and note.heard is not None}
    return {index for index in extra if heard[index].seconds < starts}


def _marks(going: RoundPlan, heard: Sequence[Heard], course: TuneInHand) -> Marks:
    return mark_melody(
        going.asked,
        heard,
        timeline=going.timeline if going.clocked else None,
        fingering=course.hand(going.task.piece),
        beat=course.beat,
        lowest=course.lowest,
        rules=course.marking,
    )


def round_of(rounds: Iterable[RoundInPlay], heard: Heard) -> RoundInPlay | None:
    """The round under way that a note belongs to."""
    return next((one for one in rounds if one.going.within(heard)), None)


def longest(rounds: Iterable[RoundInPlay], pitch: int) -> float:
    """How many seconds the rounds under way ask of a pitch at most."""
    lengths = (
        float(asked.length) * one.going.timeline.whole
        for one in rounds
        for asked in one.going.asked
        if asked.pitch == pitch
    )
    return max(lengths, default=0.0)
