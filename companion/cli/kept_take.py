"""A take on file, to be heard beside the tune: what it is of, and where its notes lie in the tune."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from companion.cli.takes import HowToHear, read_any_take
from companion.errors import Place, UserError
from companion.lesson.lesson_values import Kind, Piece
from companion.marking.asking import asked_of
from companion.marking.mark_values import Asked, Heard, Marks
from companion.marking.take_in_tune import TakeNote, again, is_of_the_tune, keeps_time, share_right
from companion.marking.take_marks import TakeMarks, mark_rounds
from companion.practice.round_plan import TuneInHand
from companion.screen.words import spoken_piece
from companion.session.read_session import beat_of, rounds_left
from companion.session.session_folders import MARKS, TAKE

# A take of the piece is told from one of the whole tune by the share that is right; the piece's may be less (ours).
_AS_WELL = 0.85


@dataclass(frozen=True, slots=True)
class KeptTake:
    """A take as it lies in the tune, by its rounds, and what is to be said of it."""

    rounds: tuple[tuple[TakeNote, ...], ...]
    said: str


def kept_take(
    path: Path,
    course: TuneInHand,
    pieces: Sequence[Piece],
    piece: Piece,
    *,
    clock: bool = True,
    how: HowToHear | None = None,
) -> KeptTake:
    """Read a take, find out what it is of, and place its notes in the tune.

    A take is of the piece that is to sound or of the whole tune; where it is neither, of the piece that it fits best.
    Beside the take that a session left lie its marks, which say what each of its rounds was.

    Parameters
    ----------
    pieces : all of the tune's. `piece` : the one that is to sound.
    clock : False where each note is to lie beside its own.
    how : how a recording is heard.

    Raises
    ------
    UserError
        Where the take cannot be read (:func:`read_any_take`), or has next to nothing to do with the tune.
    """
    path = path / TAKE if path.is_dir() and (path / TAKE).is_file() else path
    whole = next(one for one in pieces if one.kind is Kind.ROUND)
    heard = read_any_take(path, asked_of(course.laid(whole)), how or HowToHear()).notes
    sitting = _of_a_session(path, heard, course, pieces, piece, clock)
    if sitting is not None:
        return sitting

    def tried(one: Piece) -> _TakeGuess:
        asked = asked_of(course.laid(one))
        ordered = tuple(mark_rounds(asked, heard, beat=course.beat, rules=course.marking, clock=False))
        return _TakeGuess(one, asked, ordered, share_right(ordered))

    best, other = tried(piece), tried(whole)
    if best.share < _AS_WELL * other.share:
        best = other
    if not is_of_the_tune(best.ordered):
        others = (one for one in pieces if one.kind is not Kind.JOIN and one.same_as is None)
        best = max((tried(one) for one in others), key=lambda one: one.share)
    if not is_of_the_tune(best.ordered):
        raise UserError("this take is of another tune: hardly a note of it is in this one", Place(path))
    timed = tuple(mark_rounds(best.asked, heard, beat=course.beat, rules=course.marking)) if clock else best.ordered
    rounds = [one if keeps_time(one, ordered) else ordered for one, ordered in zip(timed, best.ordered, strict=True)]
    kept = tuple(again(best.asked, heard, one.marks, one.timeline, shift=one.shift) for one in rounds)
    tempi = tuple(one.timeline.bpm if one.timeline is not None else None for one in rounds)
    return KeptTake(kept, _said(path, f"{len(kept)} rounds of " if len(kept) > 1 else "", best.piece, tempi))


def _of_a_session(
    path: Path, heard: Sequence[Heard], course: TuneInHand, pieces: Sequence[Piece], piece: Piece, clock: bool
) -> KeptTake | None:
    """The rounds of a session's take, as they were marked there; None where no marks lie beside it that fit it."""
    beside = path.with_name(MARKS)
    if not beside.is_file():
        return None
    left = rounds_left(beside, course.title, heard)
    mine = [one for one in left if not one.standin] or left
    wanted = {note.index for note in course.laid(piece).notes}
    named = {one.name: one for one in pieces}
    kept: list[tuple[TakeNote, ...]] = []
    tempi: list[float | None] = []
    for one in mine:
        if one.piece not in named:
            continue  # the session was on another box, whose pieces were others
        asked = asked_of(course.laid(named[one.piece]))
        timeline = beat_of(one, asked, heard, course.beat) if clock else None
        marks = one.marks
        if _alike(named[one.piece], piece):
            asked, marks = _as_twin(asked, asked_of(course.laid(piece)), marks)
        kept.append(again(asked, heard, marks, timeline))
        if any(note.near in wanted for note in kept[-1]):
            tempi.append(timeline.bpm if timeline is not None else None)
    return (
        KeptTake(tuple(kept), _said(path, f"{len(tempi)} of a session's rounds in ", piece, tempi)) if tempi else None
    )


def _alike(one: Piece, other: Piece) -> bool:
    """Whether two pieces are the very same notes at two places of the tune: of these, a session asks for the first."""
    return one.name != other.name and (one.same_as or one.name) == (other.same_as or other.name)


def _as_twin(asked: Sequence[Asked], twin: Sequence[Asked], marks: Marks) -> tuple[tuple[Asked, ...], Marks]:
    """A round of a piece as one of its twin: what is asked, and its marks."""
    moved = {here.index: there.index for here, there in zip(asked, twin, strict=True)}
    notes = (n if n.written is None else replace(n, written=moved[n.written]) for n in marks.notes)
    return tuple(twin), replace(marks, notes=tuple(notes))


def _said(path: Path, of: str, piece: Piece, tempi: Sequence[float | None]) -> str:
    what = "the tune" if piece.kind is Kind.ROUND else f"“{spoken_piece(piece.name)}”"
    timed = [bpm for bpm in tempi if bpm is not None]
    tempo = f"at {timed[0]:.0f} beats a minute" if timed else "with no beat"
    return f"{path.name} holds {of}{what}, {tempo}. The tune is on the left, you are on the right."


@dataclass(frozen=True, slots=True)
class _TakeGuess:
    """A take marked as one of a piece, in order, and the share of it that is right."""

    piece: Piece
    asked: tuple[Asked, ...]
    ordered: tuple[TakeMarks, ...]
    share: float
