"""The state of a practice session, and what a round does to it.

Pure: a value in, a value out; no clock and no device. A session of any length is `state = after_round(state, …)` once
a round. Nothing raises the tempo or leaves a piece but the clean rounds that the rules ask for, or the player's own
wish (`go_on`, `go_back`, `faster`, `slower`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from companion.errors import UserError
from companion.lesson.model import Piece
from companion.lesson.rules import Rules

LISTEN, IN_ORDER, IN_TIME = "listen", "in order", "in time"


@dataclass(frozen=True, slots=True)
class Standing:
    """How far one piece has come.

    `step` and `rung` are indices into the rules' steps and rungs; `clean` and `failed` count rounds in a row since
    either last changed; `done` says that the piece was good enough once.
    """

    step: int = 0
    rung: int = 0
    clean: int = 0
    failed: int = 0
    done: bool = False


@dataclass(frozen=True, slots=True)
class State:
    """Where a player is in a tune: the pieces in the order of learning, the one in hand, and how far each has come."""

    course: tuple[Piece, ...]
    current: int
    standings: tuple[Standing, ...]

    @property
    def piece(self) -> Piece:
        """The piece in hand."""
        return self.course[self.current]

    @property
    def standing(self) -> Standing:
        """How far the piece in hand has come."""
        return self.standings[self.current]

    @property
    def following(self) -> Piece | None:
        """The piece that comes next, None at the end of the course."""
        return self.course[self.current + 1] if self.current + 1 < len(self.course) else None


@dataclass(frozen=True, slots=True)
class Task:
    """What one round asks: the piece, the step, and the tempo as a share of the target."""

    piece: Piece
    step: str
    share: float


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a round: the task it was played for, whether anything was heard, and whether it was clean."""

    task: Task
    heard: bool
    clean: bool


def start(course: Sequence[Piece]) -> State:
    """The state of a player who has not begun. Raises `UserError` where there is nothing to learn."""
    if not course:
        raise UserError("this tune has no notes, so there is nothing to practise; choose another tune")
    return State(tuple(course), 0, (Standing(),) * len(course))


def task(state: State, rules: Rules) -> Task:
    """What the next round asks."""
    standing = state.standing
    return Task(state.piece, rules.steps[standing.step], rules.rungs[standing.rung])


def after_round(state: State, outcome: Outcome, rules: Rules) -> tuple[State, str]:
    """The state after a round, and what changed, as a code: "", "step", "faster", "slower" or "next".

    A round that was played for another task than the one in hand changes nothing here (its marks are kept all the
    same); nor does a silent one, except in the step in which the player only listens.
    """
    asked = task(state, rules)
    if outcome.task != asked:
        return state, ""
    if asked.step == LISTEN:
        return _after_listening(state, rules)
    if not outcome.heard:
        return state, ""
    standing = state.standing
    standing = replace(
        standing,
        clean=standing.clean + 1 if outcome.clean else 0,
        failed=0 if outcome.clean else standing.failed + 1,
    )
    if asked.step == IN_ORDER:
        if standing.clean >= rules.in_order_needed:
            return _with(state, Standing(step=standing.step + 1, done=standing.done)), "step"
        return _with(state, standing), ""
    return _on_the_ladder(state, standing, rules)


def _after_listening(state: State, rules: Rules) -> tuple[State, str]:
    standing = replace(state.standing, clean=state.standing.clean + 1)
    if standing.clean >= rules.listen_rounds:
        return _with(state, Standing(step=standing.step + 1, done=standing.done)), "step"
    return _with(state, standing), ""


def _on_the_ladder(state: State, standing: Standing, rules: Rules) -> tuple[State, str]:
    top = rules.top_rung(state.piece.kind)
    if standing.clean >= rules.clean_needed:
        if standing.rung < top:
            return _with(state, replace(standing, rung=standing.rung + 1, clean=0, failed=0)), "faster"
        done = _with(state, replace(standing, clean=0, failed=0, done=True))
        if done.following is not None:
            return replace(done, current=_next_open(done)), "next"
        return done, "next"
    if standing.failed >= rules.failed_lower:
        if standing.rung > 0:
            return _with(state, replace(standing, rung=standing.rung - 1, clean=0, failed=0)), "slower"
        return _with(state, replace(standing, failed=0)), ""
    return _with(state, standing), ""


def _next_open(state: State) -> int:
    """The next piece of the course that is not done; the last one where all are."""
    later = range(state.current + 1, len(state.course))
    return next((i for i in later if not state.standings[i].done), len(state.course) - 1)


def _with(state: State, standing: Standing) -> State:
    standings = (*state.standings[: state.current], standing, *state.standings[state.current + 1 :])
    return replace(state, standings=standings)


def go_on(state: State) -> State:
    """On to the next piece, as the player wishes; the last piece stays."""
    return replace(state, current=min(state.current + 1, len(state.course) - 1))


def go_back(state: State) -> State:
    """Back to the piece before, as the player wishes; the first piece stays."""
    return replace(state, current=max(state.current - 1, 0))


def faster(state: State, rules: Rules) -> State:
    """A rung up, as the player wishes."""
    standing = state.standing
    return _with(state, replace(standing, rung=min(standing.rung + 1, len(rules.rungs) - 1), clean=0, failed=0))


def slower(state: State, rules: Rules) -> State:  # noqa: ARG001 - the same form as `faster`
    """A rung down, as the player wishes."""
    standing = state.standing
    return _with(state, replace(standing, rung=max(standing.rung - 1, 0), clean=0, failed=0))


def to_plain(state: State) -> dict[str, Any]:
    """The state as plain values for the record: standings by the name of the piece."""
    return {
        "current": state.piece.name,
        "standings": {
            piece.name: {
                "step": standing.step,
                "rung": standing.rung,
                "clean": standing.clean,
                "failed": standing.failed,
                "done": standing.done,
            }
            for piece, standing in zip(state.course, state.standings, strict=True)
            if standing != Standing()
        },
    }


def from_plain(course: Sequence[Piece], plain: Mapping[str, Any], rules: Rules) -> State:
    """The state that `to_plain` wrote, on a course that may have changed since: pieces that are gone are forgotten,
    new ones begin at the beginning, and steps and rungs that the rules no longer have are brought within them."""
    fresh = start(course)
    saved = plain.get("standings", {})
    standings = tuple(_standing(saved.get(piece.name), rules) for piece in fresh.course)
    names = [piece.name for piece in fresh.course]
    current = names.index(plain["current"]) if plain.get("current") in names else 0
    return State(fresh.course, current, standings)


def _standing(saved: Mapping[str, Any] | None, rules: Rules) -> Standing:
    if saved is None:
        return Standing()
    return Standing(
        step=min(max(int(saved.get("step", 0)), 0), len(rules.steps) - 1),
        rung=min(max(int(saved.get("rung", 0)), 0), len(rules.rungs) - 1),
        clean=max(int(saved.get("clean", 0)), 0),
        failed=max(int(saved.get("failed", 0)), 0),
        done=bool(saved.get("done", False)),
    )
