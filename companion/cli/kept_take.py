"""A take on file, to be heard beside the tune: what it is of, and where its notes lie in the tune."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from companion.errors import Place, UserError
from companion.hearing.again import Kept, again, is_of_the_tune, keeps_time, share_right
from companion.hearing.asking import asked_of
from companion.hearing.model import Asked, Heard
from companion.hearing.take import read_take
from companion.hearing.take_marks import TakeMarks, mark_rounds, mark_take
from companion.lesson.stretch import Stretch, stretch_of
from companion.tune.model import Meter, Round

# A take of the piece is told from one of the whole tune by how much of it is met; the piece may be this much worse.
_AS_WELL = 0.85


@dataclass(frozen=True, slots=True)
class KeptTake:
    """A take as it lies in the tune, by its rounds, and the tempo that each was played at (None: with no clock)."""

    name: str
    rounds: tuple[tuple[Kept, ...], ...]
    tempi: tuple[float | None, ...]

    def said(self) -> str:
        """What is to be said of it."""
        count = len(self.rounds)
        several = "" if count == 1 else f", {count} rounds"
        timed = [bpm for bpm in self.tempi if bpm is not None]
        tempo = f", played at {timed[0]:.0f} beats a minute" if timed else ", played with no clock"
        return f"{self.name}{several}{tempo}: the tune is to the left, your take to the right"


def kept_take(
    path: Path, round_: Round, piece: Stretch, meter: Meter, beat: Fraction, *, clock: bool = True
) -> KeptTake:
    """Read a take, find out whether it is of the whole tune or of the piece, and place its notes in the tune.

    Parameters
    ----------
    piece : the piece that is to sound. `clock` : False where each note is to lie beside its own.

    Raises
    ------
    UserError
        Where the take cannot be read (:func:`read_take`), or has next to nothing to do with the tune.
    """
    heard = read_take(path)
    whole = stretch_of(round_, 0, len(round_.notes) - 1, meter, beat)
    tries = [(asked, mark_take(asked, heard, beat=beat, clock=False)) for asked in (asked_of(piece), asked_of(whole))]
    of_piece, of_whole = (share_right(found) for _, found in tries)
    asked, ordered = tries[0] if of_piece >= _AS_WELL * of_whole else tries[1]
    if not is_of_the_tune(ordered):
        raise UserError("this take is of another tune: next to nothing that was played is in this one", Place(path))
    rounds = _marked(asked, heard, beat, clock)
    kept = tuple(again(asked, heard, one.marks, one.timeline, shift=one.shift) for one in rounds)
    return KeptTake(path.name, kept, tuple(one.timeline.bpm if one.timeline is not None else None for one in rounds))


def _marked(asked: Sequence[Asked], heard: Sequence[Heard], beat: Fraction, clock: bool) -> tuple[TakeMarks, ...]:
    """Every round marked in time where it keeps time, else in order."""
    ordered = mark_rounds(asked, heard, beat=beat, clock=False)
    if not clock:
        return ordered
    timed = mark_rounds(asked, heard, beat=beat)
    return tuple(one if keeps_time(one, other) else other for one, other in zip(timed, ordered, strict=True))
