"""A take on file, to be heard beside the tune: what it is of, and where its notes lie in the tune."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from companion.errors import Place, UserError
from companion.hearing.again import Kept, again, is_of_the_tune, keeps_time, share_right
from companion.hearing.asking import asked_of
from companion.hearing.model import Asked
from companion.hearing.take import read_take
from companion.hearing.take_marks import TakeMarks, mark_rounds
from companion.lesson.model import Kind, Piece
from companion.session.going import Course

# A take of the piece is told from one of the whole tune by the share that is right; the piece's may be less (ours).
_AS_WELL = 0.85


@dataclass(frozen=True, slots=True)
class KeptTake:
    """A take as it lies in the tune: what it is of, its rounds, and the tempo of each (None: with no clock)."""

    name: str
    piece: Piece
    rounds: tuple[tuple[Kept, ...], ...]
    tempi: tuple[float | None, ...]

    @property
    def what(self) -> str:
        """What it is of."""
        return "the tune" if self.piece.kind is Kind.ROUND else f"“{self.piece.name}”"

    def said(self) -> str:
        """What is to be said of it."""
        count = len(self.rounds)
        of = f"{count} rounds of " if count > 1 else ""
        timed = [bpm for bpm in self.tempi if bpm is not None]
        tempo = f"at {timed[0]:.0f} beats a minute" if timed else "with no clock"
        return f"{self.name} holds {of}{self.what}, {tempo}; the tune is to the left, your take to the right"


def kept_take(path: Path, course: Course, pieces: Sequence[Piece], piece: Piece, *, clock: bool = True) -> KeptTake:
    """Read a take, find out what it is of, and place its notes in the tune.

    A take is of the piece that is to sound or of the whole tune; where it is neither, of the piece that it fits best.

    Parameters
    ----------
    pieces : all of the tune's. `piece` : the one that is to sound.
    clock : False where each note is to lie beside its own.

    Raises
    ------
    UserError
        Where the take cannot be read (:func:`read_take`), or has next to nothing to do with the tune.
    """
    heard = read_take(path)

    def tried(one: Piece) -> _Try:
        asked = asked_of(course.laid(one))
        ordered = mark_rounds(asked, heard, beat=course.beat, clock=False)
        return _Try(one, asked, ordered, share_right(ordered))

    whole = next(one for one in pieces if one.kind is Kind.ROUND)
    best, other = tried(piece), tried(whole)
    if best.share < _AS_WELL * other.share:
        best = other
    if not is_of_the_tune(best.ordered):
        others = (one for one in pieces if one.kind is not Kind.JOIN and one.same_as is None)
        best = max((tried(one) for one in others), key=lambda one: one.share)
    if not is_of_the_tune(best.ordered):
        raise UserError("this take is of another tune: next to nothing that was played is in this one", Place(path))
    timed = mark_rounds(best.asked, heard, beat=course.beat) if clock else best.ordered
    rounds = [one if keeps_time(one, ordered) else ordered for one, ordered in zip(timed, best.ordered, strict=True)]
    kept = tuple(again(best.asked, heard, one.marks, one.timeline, shift=one.shift) for one in rounds)
    tempi = tuple(one.timeline.bpm if one.timeline is not None else None for one in rounds)
    return KeptTake(path.name, best.piece, kept, tempi)


@dataclass(frozen=True, slots=True)
class _Try:
    """A take marked as one of a piece, in order, and the share of it that is right."""

    piece: Piece
    asked: tuple[Asked, ...]
    ordered: tuple[TakeMarks, ...]
    share: float
