"""The lesson of a tune: the order in which its pieces are learnt, and the moves of which they are made.

Common practice: a bar on its own, the next bar, the two together, the next phrase, the join of the two, the half, the
part; then the next part; then the joins of the parts; then the whole round; then several rounds. What is the same as
something learnt already is not taught twice.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from companion.box.box_values import Fingered
from companion.lesson.lesson_values import Kind, Lesson, Piece
from companion.lesson.tutor import Tutor, in_order, sentences
from companion.tune.sets import number_in_set
from companion.tune.tune_values import OnceThrough

AROUND = ", around note "  # "A bar 1, around note 3": the few notes round a single one
BEFORE, AFTER = 2, 1  # notes before and after the one that a move leads to (common practice: run into it, and out)


def course(pieces: Iterable[Piece]) -> tuple[Piece, ...]:
    """The pieces to learn, first things first, each stretch of notes once: as the larger thing that it is (where a tune
    has one part that is played once, the part is the round)."""
    steps: dict[tuple[int, int, int], Piece] = {}
    for piece in pieces:
        if piece.same_as is None:
            steps[piece.first, piece.last, piece.times] = piece  # keeps the place of the first
    return tuple(steps.values())


def lesson_of(
    round_: OnceThrough, fingered: Sequence[Fingered], pieces: Sequence[Piece], tutor: Tutor | None = None
) -> Lesson:
    """The lesson of a round that has been cut into `pieces`; `fingered` is empty where the box lacks notes.

    Raises
    ------
    UserError : the tutor names a piece that is not there.
    """
    tutor = tutor or Tutor()
    steps = in_order(tutor, pieces) if tutor.order else course(pieces)
    return Lesson(
        steps,
        _moves(round_, fingered),
        _all_around(round_, pieces),
        sentences(tutor, pieces),
        tutor.target,
        bool(tutor.order),
    )


def set_lesson(round_: OnceThrough, fingered: Sequence[Fingered], pieces: Sequence[Piece]) -> Lesson:
    """The lesson of a set whose tunes are known: from the end of each into the next, then the whole of it.

    Common practice: a set falls apart where the tunes change, and nowhere else.
    """
    inside = [p for p in pieces if p.kind is Kind.JOIN and _changes(round_, p)]
    whole = [p for p in pieces if p.kind in (Kind.ROUND, Kind.ROUNDS)]
    return Lesson((*inside, *whole), _moves(round_, fingered), _all_around(round_, pieces), fixed=True)


def _changes(round_: OnceThrough, piece: Piece) -> bool:
    """Whether a join leads from one tune of a set into another."""
    return number_in_set(round_.notes[piece.first]) != number_in_set(round_.notes[piece.last])


def _moves(round_: OnceThrough, fingered: Sequence[Fingered]) -> tuple[int, ...]:
    """For each note, the first note with the same move to it: the same two notes and presses, in the same time."""
    first: dict[tuple[object, ...], int] = {}
    notes = round_.notes
    moves = []
    for index, note in enumerate(notes):
        before = notes[index - 1]
        key: tuple[object, ...] = (before.pitch, before.length, note.pitch)
        if fingered:
            here, there = fingered[index], fingered[index - 1]
            key += (there.press, there.finger, here.press, here.finger)
        moves.append(first.setdefault(key, index))
    return tuple(moves)


def _all_around(round_: OnceThrough, pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """For each note the few notes round it, named by where they stand in the tune for the first time."""
    first: dict[int, int] = {}
    bars = [piece for piece in pieces if piece.kind is Kind.BAR]
    last = len(round_.notes) - 1
    around = []
    for index, note in enumerate(round_.notes):
        at = first.setdefault(note.written, index)
        bar = next((piece for piece in bars if piece.first <= at <= piece.last), None)
        name = f"note {at + 1}" if bar is None else f"{bar.name}{AROUND}{at - bar.first + 1}"
        around.append(Piece(name, Kind.MOVE, max(0, index - BEFORE), min(last, index + AFTER), None, 0.0))
    return tuple(around)
