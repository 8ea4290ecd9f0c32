"""Tunes that come back before you forget them: which come first in a sitting, and how they went."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from companion.lesson.lesson_rules import LessonRules
from companion.lesson.review import WholeRound
from companion.marking.marking_rules import MarkingRules
from companion.marking.marks import unheard
from companion.pages.choosing import NextTune
from companion.pages.shelf import Shelf, TunePlace
from companion.store.practice_history import Due
from companion.store.record import RoundKept

WHOLE = "round"  # pieces that are the whole tune, once or several times


def tries(rounds: Iterable[RoundKept], target: float, rules: MarkingRules) -> tuple[WholeRound, ...]:
    """The player's own rounds of the whole tune in time, in the order of playing; `target` in beats a minute.

    A round of which too much was not heard well is left out.
    """
    return tuple(
        WholeRound(one.bpm / target, one.marks.clean)
        for one in rounds
        if not one.standin
        and one.bpm is not None
        and one.piece.split(",")[0] == WHOLE
        and not unheard(one.marks, rules)
    )


def due_first(due: Sequence[Due], shelf: Shelf, wanted: NextTune, seconds: float, rules: LessonRules) -> list[NextTune]:
    """The tunes that are due and can be had, as many as fit into their share of a sitting of so many seconds.

    Only those that lie in a book at hand can come; the tune that is wanted anyway is not among them.
    """
    most = int(seconds * rules.due_share / (60 * rules.due_minutes))
    found = []
    for one in due:
        place = shelf.placed(one.print) if one.days <= 0 else None
        if place is not None and not _same(place, wanted):
            found.append(NextTune(place.book, place.tune, shelf.box, review=True))
    return found[:most]


def _same(place: TunePlace, wanted: NextTune) -> bool:
    return place.book.resolve() == wanted.book.resolve() and wanted.tune in (None, place.tune)
