"""A round under way, and what is known of it so far."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from companion.hearing.weigh import Sounded, weighed
from companion.marking.left_hand import TOGETHER
from companion.marking.live import LiveMarker
from companion.marking.mark_values import Asked, Heard, Marks, Verdict
from companion.marking.marks import faults, unsure
from companion.marking.two_hands import TwoHands, mark_melody
from companion.practice.player_state import LISTEN, Outcome
from companion.practice.round_plan import RoundPlan, TuneInHand
from companion.screen.words import Say
from companion.session.round_sentences import sentence

AT_EASE = 0.8  # seconds of quiet after which the demonstration's round with no clock is over
MOST = 40  # notes a second over a whole round: more than both hands of anyone play


@dataclass(frozen=True, slots=True)
class RoundInPlay:
    """A round in play. `hands` is not changed once it is here: what is heard goes into a copy.

    `judged` has the verdicts of a round that is marked, by index in the tune (None: not marked yet); `own` says that
    the player had chosen it, and not the lesson.
    """

    plan: RoundPlan
    hands: TwoHands
    demonstration: bool
    judged: Mapping[int, Verdict] | None = None
    last_heard: float = 0.0
    own: bool = False

    @property
    def marked(self) -> bool:
        """Whether it has been marked."""
        return self.judged is not None

    @property
    def live(self) -> LiveMarker:
        """The marks so far."""
        return self.hands.live

    @property
    def verdicts(self) -> Mapping[int, Verdict]:
        """What became of its notes, by index in the tune: the last word where it is marked, else the first."""
        return self.live.verdicts if self.judged is None else self.judged

    def hear(self, note: Heard, now: float) -> RoundInPlay:
        """The round with one more note heard."""
        hands = self.hands.copy()
        hands.hear(note)
        return replace(self, hands=hands, last_heard=now)

    def going_on(self, plan: RoundPlan) -> RoundInPlay:
        """The round as it goes on at another tempo."""
        hands = self.hands.copy()
        hands.live.retime(plan.timeline)
        return replace(self, plan=plan, hands=hands)

    def until(self, now: float) -> RoundInPlay:
        """The round now that it is `now`: a note that has waited long enough is decided on."""
        if not self.hands.due(now):
            return self
        hands = self.hands.copy()
        hands.until(now)
        return replace(self, hands=hands)

    def played_out(self, now: float) -> bool:
        """Whether a round with no clock is over: all of it was played, or the demonstration has fallen quiet."""
        if self.live.done and now > self.last_heard + TOGETHER:
            return True
        return self.demonstration and bool(self.last_heard) and now > self.last_heard + self._patience

    @property
    def _patience(self) -> float:
        longest = max(float(asked.length) for asked in self.plan.asked)
        return longest * self.plan.timeline.whole + AT_EASE

    def seconds(self, now: float) -> float:
        """How long it has taken, its count-in with it."""
        return self.plan.ends - self.plan.begins if self.plan.clocked else now - self.plan.begins


def in_play(plan: RoundPlan, tune: TuneInHand, *, demonstration: bool, own: bool = False) -> RoundInPlay:
    """A round of a tune that begins."""
    live = LiveMarker(plan.asked, plan.timeline if plan.clocked else None, tune.marking)
    return RoundInPlay(plan, TwoHands(live, plan.asked, tune.lowest), demonstration, own=own)


@dataclass(frozen=True, slots=True)
class JudgedRound:
    """What came of a round: its marks by the notes of one round (None: nothing to be marked), and what is said."""

    marks: Marks | None
    said: str
    verdicts: dict[int, Verdict] = field(default_factory=dict)
    outcome: Outcome | None = None


def judged(
    one: RoundInPlay,
    heard: Sequence[Heard],
    seconds: float,
    course: TuneInHand,
    words: Say,
    sounded: Sounded | None = None,
) -> JudgedRound:
    """Mark a round that is over, from what was heard in it; `sounded` weighs what was heard through a microphone."""
    plan = one.plan
    if len(heard) > MOST * (seconds + 1.0):
        return JudgedRound(None, words("said_flood"))
    marks = _marks(plan, heard, course)
    stray = before_it_began(plan, heard, marks)
    if stray:
        heard = [note for n, note in enumerate(heard) if n not in stray]
        marks = _marks(plan, heard, course)
    if all(note.heard is None for note in marks.notes):
        return JudgedRound(None, words("said_silent"))
    if sounded is not None:
        timeline = plan.timeline if plan.clocked else None
        marks = weighed(marks, heard, sounded, rules=course.marking, timeline=timeline)
    verdicts = {note.written: note.verdict for note in marks.notes if note.written is not None}
    marks = course.in_round(marks)
    outcome = Outcome(plan.task, marks.clean, faults(marks, course.marking), unsure(marks))
    return JudgedRound(marks, sentence(marks, course, words), verdicts, outcome)


def before_it_began(plan: RoundPlan, heard: Sequence[Heard], marks: Marks) -> set[int]:
    """The indices of extra notes that came before a round in time began: they are no mistake of this round.

    A note shortly before the seam may be its first note, played early; where that came as well, it was not.
    """
    if not plan.clocked:
        return set()
    starts = plan.timeline.seconds(plan.asked[0].at)
    extra = {note.heard for note in marks.notes if note.verdict is Verdict.EXTRA and note.heard is not None}
    return {index for index in extra if heard[index].seconds < starts}


def _marks(plan: RoundPlan, heard: Sequence[Heard], course: TuneInHand) -> Marks:
    return mark_melody(
        plan.asked,
        heard,
        timeline=plan.timeline if plan.clocked else None,
        fingering=course.hand(plan.task.piece),
        beat=course.beat,
        lowest=course.lowest,
        rules=course.marking,
        waits=not plan.clocked,
    )


def round_of(rounds: Iterable[RoundInPlay], heard: Heard) -> RoundInPlay | None:
    """The round under way that a note belongs to."""
    return next((one for one in rounds if one.plan.within(heard)), None)


def longest(rounds: Iterable[RoundInPlay], pitch: int) -> float:
    """How many seconds the rounds under way ask of a pitch at most."""
    lengths = (
        float(asked.length) * one.plan.timeline.whole
        for one in rounds
        for asked in one.plan.asked
        if asked.pitch == pitch
    )
    return max(lengths, default=0.0)


def note_now(one: RoundInPlay, now: float) -> int:
    """The note of the tune that is played now, or with no clock waited for, by index in it."""
    asked = one.plan.asked
    if one.plan.clocked:
        begun = bisect_right(asked, one.plan.timeline.at(now), key=lambda note: float(note.at))
        return asked[max(0, begun - 1)].index
    return asked[min(one.live.cursor, len(asked) - 1)].index


def seen_round(rounds: Sequence[RoundInPlay], now: float) -> RoundInPlay | None:
    """The round to show: the last one that has begun."""
    begun = [one for one in rounds if one.plan.begins <= now]
    return begun[-1] if begun else (rounds[0] if rounds else None)


def playing(rounds: Iterable[RoundInPlay]) -> tuple[RoundInPlay, ...]:
    """The rounds that the player is to play, the one under way in front."""
    return tuple(one for one in rounds if not one.demonstration and not one.marked and one.plan.task.step != LISTEN)


def still_asked(one: RoundInPlay) -> Sequence[Asked]:
    """The notes of a round that are still to come."""
    return one.plan.asked[one.live.cursor :]


def due(rounds: Sequence[RoundInPlay], now: float) -> bool:
    """Whether a note has waited long enough to be decided on."""
    return any(one.hands.due(now) for one in rounds)
