"""What has been heard of each move: what makes a piece known before it is taken up, and what a place that fails."""

from __future__ import annotations

from dataclasses import replace

from companion.lesson.lesson_rules import LessonRules
from companion.lesson.lesson_values import Kind, Piece
from companion.practice.player_state import FRESH, IN_TIME, MoveKnown, Outcome, PlayerState


def moves_in(state: PlayerState, piece: Piece) -> list[int]:
    """The moves that a piece is made of, by the first note that has each. The first note is come to from nowhere."""
    moves = state.lesson.moves
    return [moves[index] for index in piece.notes(len(moves))[1:]]


def learnt(state: PlayerState, outcome: Outcome, rules: LessonRules) -> PlayerState:
    """The state with what a round says of the moves in it."""
    moves = state.lesson.moves
    rung = rules.rungs.index(outcome.task.share) if outcome.task.step == IN_TIME else FRESH
    known = list(state.known)
    wrong = {moves[index] for index in outcome.faults if index < len(moves)}
    unsure = {moves[index] for index in outcome.unsure if index < len(moves)}
    right = set(moves_in(state, outcome.task.piece)) - wrong - unsure
    for move in right:
        one = known[move]
        again = one.right + 1
        missed = 0 if again >= rules.forgotten_after else one.wrong
        spots = 0 if again >= rules.settled_after else one.spots
        known[move] = MoveKnown(again, max(one.rung, rung), missed, spots)
    for move in wrong:
        one = known[move]
        known[move] = MoveKnown(0, one.rung if rung == FRESH else min(one.rung, rung - 1), one.wrong + 1, one.spots)
    return replace(state, known=tuple(known))


def rung_known(state: PlayerState, piece: Piece, rules: LessonRules, lacking: int = 0) -> int | None:
    """The fastest rung at which all of a piece has been right, but for `lacking` moves; `FRESH` where that was without
    a clock only; None where more of it has not been right, of late, as often in a row as the rules ask."""
    found = len(rules.rungs) - 1
    for move in moves_in(state, piece):
        one = state.known[move]
        if one.right >= rules.known_needed:
            found = min(found, one.rung)
        elif lacking:
            lacking -= 1
        else:
            return None
    return found


def is_known(state: PlayerState, index: int, rules: LessonRules) -> bool:
    """Whether a piece of the course has been played well enough within others, so that it need not be taken up.

    The round itself is always taken up: that it holds together is more than that each of its moves does.
    """
    piece = state.course[index]
    if piece.kind in (Kind.ROUND, Kind.ROUNDS) or piece.last == piece.first:
        return False
    rung = rung_known(state, piece, rules)
    return rung is not None and rung >= rules.top_rung(piece.kind)
