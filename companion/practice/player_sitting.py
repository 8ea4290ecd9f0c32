"""Where one player stands in a tune while a sitting lasts: what rounds and minutes do to it. Pure.

The player and the demonstration each have one; what is kept of it is the session's business.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from companion.lesson.lesson_rules import LessonRules
from companion.lesson.lesson_values import Piece
from companion.practice import machine, sitting
from companion.practice.player_state import Outcome, PlayerState, RoundTask
from companion.practice.sitting import Change, Sitting


@dataclass(frozen=True, slots=True)
class PlayerSitting:
    """`state` is where the player stands, `first` where they stood when the program took up the tune.

    `sitting` is None until they begin to play; `following` is the piece that comes after the one in hand if it goes
    well (None: none).
    """

    state: PlayerState
    first: PlayerState
    sitting: Sitting | None = None
    following: Piece | None = None

    @property
    def over(self) -> bool:
        """Whether the minutes of the sitting are over."""
        return self.sitting is not None and self.sitting.over

    @property
    def practised(self) -> float:
        """Seconds practised in it."""
        return self.sitting.practised if self.sitting is not None else 0.0


def begin(player: PlayerSitting, length: float | None, rules: LessonRules, *, review: bool) -> PlayerSitting:
    """A sitting begun, `length` seconds long (None: open); `review`: the tune only comes back to be kept in memory."""
    start = sitting.begin_review if review else sitting.begin
    begun, state = start(player.state, length, rules)
    return _at(replace(player, sitting=begun), state, rules)


def wished(player: PlayerSitting, state: PlayerState, rules: LessonRules) -> PlayerSitting:
    """The player where they wish to be."""
    return _at(player, state, rules)


def broken_off(player: PlayerSitting, seconds: float) -> PlayerSitting:
    """After a round that was broken off: its seconds count towards the minutes of the sitting."""
    assert player.sitting is not None
    return replace(player, sitting=sitting.broken_off(player.sitting, seconds))


def silent(player: PlayerSitting, asked: RoundTask, seconds: float, rules: LessonRules) -> tuple[PlayerSitting, Change]:
    """After a round in which nothing could be marked: its seconds count, and nothing else."""
    return _spent(player, player.state, "", asked, seconds, rules)


def played(player: PlayerSitting, outcome: Outcome, seconds: float, rules: LessonRules) -> tuple[PlayerSitting, Change]:
    """After a round that was marked, or only listened to."""
    state, news = machine.after_round(player.state, outcome, rules)
    return _spent(player, state, news, outcome.task, seconds, rules)


def _spent(
    player: PlayerSitting, state: PlayerState, news: str, asked: RoundTask, seconds: float, rules: LessonRules
) -> tuple[PlayerSitting, Change]:
    assert player.sitting is not None
    notes = len(asked.piece.notes(player.state.lesson.count)) * asked.piece.times
    now, state, what = sitting.after(player.sitting, state, seconds, news, rules, notes)
    return _at(replace(player, sitting=now), state, rules), Change(player.state, state, news, what)


def _at(player: PlayerSitting, state: PlayerState, rules: LessonRules) -> PlayerSitting:
    if state is player.state and player.following is not None:
        return player
    return replace(player, state=state, following=machine.following(state, rules))
