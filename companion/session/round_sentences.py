"""The one sentence after a round: what a tutor beside the player would say first."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

from companion.box.box_values import Bellows, Press
from companion.lesson.lesson_values import Piece
from companion.marking.cause_table import CAUSES
from companion.marking.mark_values import Marks, NoteMark, Verdict
from companion.marking.marks import too_unsure
from companion.marking.summary import Trouble, practised_by
from companion.practice.round_plan import TuneInHand
from companion.screen.words import Say


def sentence(marks: Marks, course: TuneInHand, words: Say) -> str:
    """The first thing to say about a round, whose marks count the notes of one round of the tune."""
    if marks.clean:
        return words("said_clean")
    for note in marks.notes:
        if note.verdict is Verdict.WRONG:
            return _about(_key(note), note, course, words)
    for note in marks.notes:
        if note.verdict is Verdict.MISSED:
            return _about("said_missed", note, course, words)
    if any(note.verdict is Verdict.EXTRA for note in marks.notes):
        return words("said_extra")
    if too_unsure(marks.notes, course.marking):
        return words("said_unsure")
    for note in marks.notes:
        if note.cause:
            return _about(_key(note), note, course, words)
    return words(_timing(marks))


def sentence_now(asked: Press, cause: str | None, tried: Sequence[Press], words: Say) -> str:
    """What to say at once of a wrong note: `tried` may have given it in place of the press that was `asked`."""
    key = CAUSES[cause.split("+")[0]].now if cause else ""
    other = Bellows.PULL if asked.bellows is Bellows.PUSH else Bellows.PUSH
    return words(
        key or "now_wrong",
        row=asked.row,
        button=asked.button,
        bellows=words(asked.bellows.value).lower(),
        other=words(other.value).lower(),
        played=tried[0].button if tried else "",
    )


def to_work_on(troubles: Sequence[Trouble], pieces: Sequence[Piece], words: Say) -> tuple[str, ...]:
    """What is most worth working on, a sentence each, with the piece that practises it."""
    said = []
    for trouble in troubles:
        if trouble.rounds > 1:
            often = words("work_in_rounds", n=trouble.in_rounds, rounds=trouble.rounds)
        else:
            often = words("work_times", n=trouble.times)
        key = CAUSES[trouble.cause].work if trouble.cause else "work_wrong"
        said.append(words(key, place=trouble.bar.name, often=often, piece=practised_by(trouble, pieces).name))
    return tuple(said)


def _key(note: NoteMark) -> str:
    """The words for a wrong note's cause: the likeliest where two are said."""
    return CAUSES[note.cause.split("+")[0]].said if note.cause else "said_wrong"


def _about(key: str, note: NoteMark, course: TuneInHand, words: Say) -> str:
    if note.written is None:
        return words("said_extra")
    press = course.fingering.notes[note.written].press
    bar, name = course.place(note.written)
    way = words(press.bellows.value).lower()
    return words(key, bar=bar, note=name, row=press.row, button=press.button, bellows=way)


def _timing(marks: Marks) -> str:
    """What is wrong with the time of a round whose notes are right."""
    late = [note.late_ms for note in marks.notes if note.late_ms is not None and note.verdict is not Verdict.UNSURE]
    if not late:
        return "said_silent"
    middle = median(late)
    spread = median(abs(ms - middle) for ms in late)
    if abs(middle) > 2 * spread:
        return "said_early" if middle < 0 else "said_late"
    return "said_uneven"
