"""The order in which the pieces of a tune are learnt.

Common practice: a bar on its own, the next bar, the two together, the next phrase, the join of the two, the half, the
part; then the next part; then the joins of the parts; then the whole round. What is the same as something learnt
already is not taught twice.
"""

from __future__ import annotations

from collections.abc import Iterable

from companion.lesson.model import Piece


def course(pieces: Iterable[Piece]) -> tuple[Piece, ...]:
    """The pieces to learn, first things first, each stretch of notes once."""
    learnt: set[tuple[int, int]] = set()
    steps: list[Piece] = []
    for piece in pieces:
        if piece.same_as is None and (piece.first, piece.last) not in learnt:
            learnt.add((piece.first, piece.last))
            steps.append(piece)
    return tuple(steps)
