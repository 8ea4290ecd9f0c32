"""The one sentence after a round: what a tutor beside the player would say first."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from statistics import median

from companion.box.model import Fingered, Fingering
from companion.box.pitch_names import name_of
from companion.hearing.model import Marks, NoteMark, Verdict
from companion.hearing.summary import Trouble, bar_name, practised_by
from companion.lesson.model import Piece

Words = Callable[..., str]
BEATS = {
    "1/8": "quaver",
    "1/4": "crotchet",
    "3/8": "dotted crotchet",
    "1/2": "minim",
    "3/4": "dotted minim",
    "1": "semibreve",
}


def sentence(marks: Marks, fingered: Sequence[Fingered], words: Words) -> str:
    """The first thing to say about a round. `fingered` is the fingering of the tune's whole round."""
    if marks.clean:
        return words("said_clean")
    for note in marks.notes:
        if note.verdict is Verdict.WRONG:
            return _about(_key(note), note, fingered, words)
    for note in marks.notes:
        if note.verdict is Verdict.MISSED:
            return _about("said_missed", note, fingered, words)
    if any(note.verdict is Verdict.EXTRA for note in marks.notes):
        return words("said_extra")
    for note in marks.notes:
        if note.cause:
            return _about(_key(note), note, fingered, words)
    return words(_timing(marks))


def to_work_on(
    troubles: Sequence[Trouble], fingering: Fingering, pieces: Sequence[Piece], words: Words
) -> tuple[str, ...]:
    """What is most worth working on, a sentence each, with the piece that practises it."""
    said = []
    for trouble in troubles:
        if trouble.rounds > 1:
            often = words("work_in_rounds", n=trouble.in_rounds, rounds=trouble.rounds)
        else:
            often = words("work_times", n=trouble.times)
        key = "work_" + (trouble.cause or "wrong").replace("-", "_")
        place = bar_name(trouble.part, trouble.bar, fingering, pieces)
        said.append(words(key, place=place, often=often, piece=practised_by(trouble, pieces).name))
    return tuple(said)


def _key(note: NoteMark) -> str:
    """The words for a wrong note's cause: the likeliest where two are said."""
    return "said_" + note.cause.split("+")[0].replace("-", "_") if note.cause else "said_wrong"


def _about(key: str, note: NoteMark, fingered: Sequence[Fingered], words: Words) -> str:
    if note.written is None:
        return words("said_extra")
    one = fingered[note.written]
    return words(
        key,
        bar=one.note.bar,
        note=name_of(one.note.pitch, octave=False),
        row=one.press.row,
        button=one.press.button,
        bellows=words(one.press.bellows.value),
    )


def _timing(marks: Marks) -> str:
    """What is wrong with the time of a round whose notes are right."""
    late = [note.late_ms for note in marks.notes if note.late_ms is not None]
    if not late:
        return "said_silent"
    middle = median(late)
    spread = median(abs(ms - middle) for ms in late)
    if abs(middle) > 2 * spread:
        return "said_early" if middle < 0 else "said_late"
    return "said_uneven"


def beat_name(beat: object) -> str:
    """What a beat of this length (whole notes) is called."""
    return BEATS.get(str(beat), f"{beat} note")
