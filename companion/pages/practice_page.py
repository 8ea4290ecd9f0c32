"""What the window shows at a moment of a round: a pure function of the round, the standing, and the time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import floor

from companion.box.box_values import Box, Press
from companion.engraving.staff_tune import StaffPiece
from companion.lesson.lesson_values import Kind, Piece
from companion.marking.mark_values import Verdict
from companion.practice.round_plan import RoundPlan, TuneInHand
from companion.screen.page_values import LineNote, PracticePage, RoundChoice, Shown, TuneMap
from companion.screen.words import Say, spoken_piece
from companion.tune.beat_names import beat_name
from companion.tune.part_bars import Bar

NOWHERE = (-1, -1)  # on the map: no bar is played


@dataclass(frozen=True, slots=True)
class RoundContext:
    """What is shown besides the round itself."""

    box: Box
    clean: int
    needed: int
    following: Piece | None = None
    sentence: str = ""
    standin: bool = False
    paused: bool = False
    notices: tuple[str, ...] = ()
    caution: str = ""
    tried: tuple[Press, ...] = ()
    tune_map: TuneMap | None = None
    choices: tuple[RoundChoice, ...] = ()
    shown: Shown = Shown.ALL
    own: bool = False
    notices_old: bool = False


def free_page(course: TuneInHand, around: RoundContext, words: Say) -> PracticePage:
    """A moment in which no tune is asked for: what was pressed last."""
    return PracticePage(
        title=course.title,
        piece=words("free"),
        step="",
        box=around.box,
        notes=(),
        now=0.0,
        current=None,
        bars=(),
        length=0.0,
        bpm=course.target,
        target_bpm=course.target,
        beat_name=beat_name(course.beat),
        clean=0,
        clean_needed=0,
        round_number=0,
        sentence=around.sentence,
        standin=around.standin,
        paused=around.paused,
        notices=around.notices,
        notices_old=around.notices_old,
        caution=around.caution,
        clocked=False,
        pressed=around.tried,
        free=True,
        tune_map=None if around.tune_map is None else replace(around.tune_map, here=NOWHERE),
        choices=around.choices,
        own=True,
    )


def practice_page(
    course: TuneInHand,
    going: RoundPlan,
    now: float,
    verdicts: Mapping[int, Verdict],
    cursor: int | None,
    around: RoundContext,
    words: Say,
) -> PracticePage:
    """One moment.

    Parameters
    ----------
    now : seconds on the session's clock.
    verdicts : what became of the notes so far, by index in the round.
    cursor : with no clock, the index in `going.asked` of the note that is waited for, None after the last; None with a
        clock.
    """
    at = going.timeline.at(now) if going.clocked else _waiting_at(going, cursor)
    following = around.following
    return PracticePage(
        title=course.title,
        piece=piece_words(going.task.piece, course.bars, words),
        step=going.task.step,
        box=around.box,
        notes=_line_notes(course, going, verdicts),
        staff=StaffPiece(going.laid, course.meter, course.keys),
        now=at,
        current=_current(going, at) if going.clocked else cursor,
        bars=tuple(float(bar) for bar in going.laid.bars),
        length=float(going.laid.length),
        bpm=going.timeline.bpm,
        target_bpm=course.target,
        beat_name=beat_name(course.beat),
        clean=around.clean,
        clean_needed=around.needed,
        round_number=going.number,
        count=_count(course, going, at),
        sentence=around.sentence,
        following=piece_words(following, course.bars, words) if following is not None else "",
        standin=around.standin,
        paused=around.paused,
        notices=around.notices,
        notices_old=around.notices_old,
        caution=around.caution,
        clocked=going.clocked,
        phrases=going.phrases,
        air=going.air,
        tried=around.tried,
        tune_map=around.tune_map,
        shown=around.shown,
        own=around.own,
        choices=around.choices,
        beat=float(course.beat),
    )


def _line_notes(course: TuneInHand, going: RoundPlan, verdicts: Mapping[int, Verdict]) -> tuple[LineNote, ...]:
    """The notes of the round, each with what became of it."""
    count = len(course.round.notes)
    found = []
    for fingered, asked in zip(going.fingered, going.asked, strict=True):
        index = asked.index % count
        became = verdicts.get(asked.index)
        found.append(LineNote(fingered, float(asked.at), float(asked.length), became, index, course.names[index]))
    return tuple(found)


def piece_words(piece: Piece, bars: Sequence[Bar], words: Say) -> str:
    """A piece's name with the bars of the part that it covers, where the name does not say them."""
    if piece.kind not in (Kind.PHRASE, Kind.HALF, Kind.PART):
        name = spoken_piece(piece.name)
        return name[:1].upper() + name[1:]
    first, last = bars[piece.first].number, bars[piece.last].number
    return words("piece_bars", n=last - first + 1, piece=piece.name, first=first, last=last)


def _waiting_at(going: RoundPlan, cursor: int | None) -> float:
    return float(going.laid.length) if cursor is None else float(going.asked[cursor].at)


def _current(going: RoundPlan, at: float) -> int | None:
    """The note that sounds, until it is over; in a rest, and before the first, the one that comes; None at the end."""
    if at >= float(going.laid.length):
        return None
    for index, asked in enumerate(going.asked):
        if float(asked.at + asked.length) > at:
            return index
    return 0  # the rest before it begins again


def _count(course: TuneInHand, going: RoundPlan, at: float) -> str:
    """What the count-in says: the beats of the bar, so that its last one leads into the first full bar."""
    if not going.clocked or at >= 0:
        return ""
    beat = float(course.beat)
    bar = float(going.laid.bar)
    from_downbeat = at - float(going.laid.pickup)
    return str(floor((from_downbeat % bar) / beat + 1e-9) + 1)
