"""What the page between two pieces says: how far you are, what got better, what comes next."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

from companion.lesson.lesson_rules import LessonRules
from companion.lesson.lesson_values import Piece
from companion.marking.mark_values import NoteMark, Verdict
from companion.pages.bars_known import tune_map
from companion.pages.practice_page import piece_words
from companion.practice.player_state import IN_ORDER, PlayerState, task
from companion.practice.round_plan import TuneInHand
from companion.screen.page_values import BreakPage
from companion.screen.words import Say
from companion.store.record import RoundKept
from companion.tune.beat_names import beat_name

NEARER = 10.0  # milliseconds by which the notes must have come nearer to the click for it to be said


def break_page(
    course: TuneInHand, piece: Piece, after: PlayerState, rounds: Sequence[RoundKept], rules: LessonRules, words: Say
) -> BreakPage:
    """The page after a piece.

    Parameters
    ----------
    piece : the piece that was practised; `after` is the standing that came of it.
    rounds : the rounds of this sitting by whoever plays; those of the piece are picked out.
    """
    asked = task(after, rules)
    timed = asked.step != IN_ORDER
    of_the_piece = [one for one in rounds if one.piece == piece.name]
    return BreakPage(
        title=course.title,
        piece=piece_words(piece, course.bars, words),
        gained=gained(of_the_piece, course, rules, words),
        tune_map=tune_map(course, after, after.piece, None, rules),
        next_piece=piece_words(after.piece, course.bars, words),
        next_step=words("step_by_heart" if asked.by_heart else "step_" + asked.step.replace(" ", "_")),
        bpm=course.target * asked.share if timed else 0.0,
        beat_name=beat_name(course.beat),
    )


def sitting_gains(
    course: TuneInHand, before: PlayerState, after: PlayerState, rounds: Sequence[RoundKept], words: Say
) -> tuple[str, ...]:
    """What a whole sitting has brought, first things first, three sentences at most.

    Parameters
    ----------
    before, after : the standing at its beginning and at its end.
    rounds : its rounds by whoever played.
    """
    said = []
    names = [
        piece.name
        for piece, was, now in zip(after.course, before.standings, after.standings, strict=True)
        if now.done and not was.done
    ]
    if names:
        said.append(words("gained_pieces", n=len(names), names=_shortened(names)))
    clean = [one for one in rounds if one.bpm is not None and one.marks.clean]
    sizes = {piece.name: len(piece.notes(after.lesson.count)) * piece.times for piece in after.course}
    best = max(clean, key=lambda one: (sizes.get(one.piece, 0), one.bpm or 0.0), default=None)
    if best is not None:
        said.append(words("gained_best", piece=best.piece, bpm=round(best.bpm or 0.0), beat=beat_name(course.beat)))
    if rounds:
        well = sum(one.marks.clean for one in rounds)
        said.append(
            words("gained_rounds", n=len(rounds), clean=well) if well else words("gained_played", n=len(rounds))
        )
    return tuple(said)


def _shortened(names: Sequence[str]) -> str:
    """Names in a row, the largest pieces (which come last) rather than all."""
    shown = list(names)[-3:]
    return ", ".join(shown) + (" …" if len(names) > len(shown) else "")


def gained(rounds: Sequence[RoundKept], course: TuneInHand, rules: LessonRules, words: Say) -> tuple[str, ...]:
    """What the rounds of a piece have brought, first things first, three sentences at most."""
    timed = [one for one in rounds if one.bpm is not None]
    said: list[str] = []
    if timed:
        first, last = timed[0].bpm or 0.0, timed[-1].bpm or 0.0
        beat = beat_name(course.beat)
        if round(last) > round(first):
            said.append(words("gained_tempo", first=round(first), last=round(last), beat=beat))
        else:
            said.append(words("gained_clean", n=_clean_at_the_end(timed), bpm=round(last), beat=beat))
    elif rounds and rounds[-1].marks.clean:
        said.append(words("gained_notes"))
    said += _mended(rounds, course, rules, words)
    said += _nearer(timed, words)
    return tuple(said[:3])


def _clean_at_the_end(rounds: Sequence[RoundKept]) -> int:
    count = 0
    for one in reversed(rounds):
        if not one.marks.clean:
            break
        count += 1
    return count


def _mended(rounds: Sequence[RoundKept], course: TuneInHand, rules: LessonRules, words: Say) -> list[str]:
    """The note that went wrong most often and is right in every one of the last rounds."""
    last = rounds[-rules.clean_needed :]
    wrong: dict[int, int] = {}
    for one in rounds[: -rules.clean_needed]:
        for note in one.marks.notes:
            if note.written is not None and note.verdict in (Verdict.WRONG, Verdict.MISSED):
                wrong[note.written] = wrong.get(note.written, 0) + 1
    right = {written: n for written, n in wrong.items() if all(_right(one.marks.notes, written) for one in last)}
    if not right:
        return []
    most = max(right, key=lambda written: (right[written], -written))
    bar, name = course.place(most)
    return [words("gained_note", n=right[most], bar=bar, note=name)]


def _right(notes: Sequence[NoteMark], written: int) -> bool:
    return any(note.written == written and note.verdict is Verdict.RIGHT for note in notes)


def _nearer(timed: Sequence[RoundKept], words: Say) -> list[str]:
    """How much nearer to the click the notes have come."""
    offs = []
    for one in timed:
        late = [abs(note.late_ms) for note in one.marks.notes if note.late_ms is not None]
        if late:
            offs.append(median(late))
    if len(offs) < 2 or offs[0] - offs[-1] < NEARER:
        return []
    return [words("gained_time", first=round(offs[0]), last=round(offs[-1]))]
