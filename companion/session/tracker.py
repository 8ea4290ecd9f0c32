"""Where the player and the stand-in player stand in a tune: what rounds and minutes do to it, kept in the record."""

from __future__ import annotations

from companion.lesson.lesson_rules import LessonRules
from companion.lesson.lesson_values import Piece
from companion.practice import machine, sitting
from companion.practice.player_state import Outcome, PlayerState, RoundTask
from companion.practice.sitting import Change, Sitting
from companion.practice.state_json import to_plain
from companion.store.record import Record, RoundKept


class Tracker:
    """Both players' standings.

    Parameters
    ----------
    states : the player's own (False) and the stand-in's (True), as the record has them.
    number : of the sitting in the record.
    length : how long the sitting is to be, in seconds; None: open.
    review : the tune only comes back to be kept in memory: the whole round, and no more.
    """

    def __init__(
        self,
        rules: LessonRules,
        states: dict[bool, PlayerState],
        record: Record,
        number: int,
        length: float | None,
        *,
        review: bool = False,
    ) -> None:
        self.rules = rules
        self.first = dict(states)  # where they stood when the sitting began
        self._states = states
        self._record, self._number, self._length = record, number, length
        self._review = review
        self._foreseen: tuple[PlayerState, Piece | None] | None = None
        self._sittings: dict[bool, Sitting] = {}

    def state(self, standin: bool) -> PlayerState:
        """Where one of them stands; the sitting begins with the first time that this is asked."""
        if standin not in self._sittings:
            start = sitting.begin_review if self._review else sitting.begin
            self._sittings[standin], self._states[standin] = start(self._states[standin], self._length, self.rules)
        return self._states[standin]

    def following(self, standin: bool) -> Piece | None:
        """What comes after the piece in hand if it goes well; worked out once a change."""
        state = self.state(standin)
        if self._foreseen is None or self._foreseen[0] is not state:
            self._foreseen = (state, machine.following(state, self.rules))
        return self._foreseen[1]

    @property
    def practised(self) -> float:
        """Seconds practised, by either."""
        return sum(one.practised for one in self._sittings.values())

    def over(self, standin: bool) -> bool:
        """Whether the minutes of the sitting are over."""
        return standin in self._sittings and self._sittings[standin].over

    def longer(self, standin: bool) -> None:
        """Another sitting as long, because the player goes on."""
        self._sittings.pop(standin, None)
        self.state(standin)

    def wish(self, standin: bool, state: PlayerState) -> None:
        """Take on what the player wishes."""
        self._states[standin] = state
        self._put(standin)

    def listened(self, standin: bool, outcome: Outcome, seconds: float) -> Change:
        """After a round that was only listened to."""
        change = self._after(standin, outcome, seconds)
        if change.what:
            self._put(standin)
        return change

    def silent(self, standin: bool, asked: RoundTask, seconds: float) -> Change:
        """After a round in which nothing could be marked: its seconds count, and nothing else."""
        return self._spent(standin, self.state(standin), "", asked, seconds)

    def broken_off(self, standin: bool, seconds: float) -> None:
        """After a round that was broken off: its seconds count towards the minutes of the sitting."""
        self.state(standin)
        self._sittings[standin] = sitting.broken_off(self._sittings[standin], seconds)

    def played(self, standin: bool, outcome: Outcome, kept: RoundKept, seconds: float) -> Change:
        """After a round that was marked; it is kept together with where it leads."""
        change = self._after(standin, outcome, seconds)
        self._record.keep(self._number, kept, to_plain(change.after, self.rules))
        return change

    def _after(self, standin: bool, outcome: Outcome, seconds: float) -> Change:
        state, news = machine.after_round(self.state(standin), outcome, self.rules)
        return self._spent(standin, state, news, outcome.task, seconds)

    def _spent(self, standin: bool, state: PlayerState, news: str, asked: RoundTask, seconds: float) -> Change:
        before = self.state(standin)
        notes = len(asked.piece.notes(before.lesson.count)) * asked.piece.times
        now, state, what = sitting.after(self._sittings[standin], state, seconds, news, self.rules, notes)
        self._sittings[standin], self._states[standin] = now, state
        return Change(before, state, news, what)

    def _put(self, standin: bool) -> None:
        self._record.put_state(self._number, standin, to_plain(self._states[standin], self.rules))
