"""The marks of a round: what became of each note, how early or late, why, and whether the round was clean."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from statistics import median

from companion.box.box_values import Fingering
from companion.marking.causes import explain, slip_pitches
from companion.marking.chances import Pairs
from companion.marking.in_order import last_attempts, visits
from companion.marking.mark_values import Asked, Heard, Marks, NoteMark, Verdict
from companion.marking.marking_rules import Clean, Length, MarkingRules
from companion.marking.match import match_in_time
from companion.marking.ornament_marks import ornaments
from companion.marking.place import played_bpm
from companion.marking.tries import tries
from companion.timeline import Timeline


def mark(
    asked: Sequence[Asked],
    heard: Sequence[Heard],
    *,
    timeline: Timeline | None,
    fingering: Fingering | None = None,
    rules: MarkingRules,
    beat: Fraction | None = None,
    waits: bool = False,
) -> Marks:
    """Mark one round.

    Parameters
    ----------
    asked : the notes asked for, in order of place.
    heard : the melody notes that came in; taken in order of onset, and counted so in the marks.
    timeline : where the beat lies; None for right notes in the right order, with no clock.
    fingering : the round's fingering, for the causes that lie in the box; its notes are found by `Asked.index`.
    beat : the beat in which to give the tempo played, where there is no timeline.
    waits : the round waited for each right note, so that what came before one was meant for it.

    Returns
    -------
    Marks
        Every asked note once, in order, and every heard note once, the extra ones and the ornaments where they came.
        What was played in place of a note before it came are its tries, where a slip explains them; all of it where the
        round waited. With no clock, of a phrase begun again the last attempt is marked and the notes of the one given
        up are extra.
    """
    heard = sorted(heard, key=lambda note: note.seconds)
    slips = slip_pitches(asked, fingering) if fingering is not None else None
    if timeline is not None:
        way = pairs = match_in_time(asked, heard, timeline, rules, slips)
    else:
        way = visits(asked, heard, rules, slips)
        pairs = last_attempts(way)
    meant = None if waits else slips or (frozenset[int](),) * len(asked)
    tried = tries(asked, heard, pairs, visited={j: i for i, j in way}, timeline=timeline, slips=meant)
    notes = _note_marks(asked, heard, pairs, timeline, rules, tried)
    notes = explain(asked, notes, fingering, timeline, rules, [note.seconds for note in heard])
    beat = timeline.beat if timeline is not None else beat
    return Marks(
        clean=is_clean(notes, timeline, rules),
        asked_bpm=timeline.bpm if timeline is not None else None,
        played_bpm=played_bpm(asked, heard, pairs, beat) if beat is not None else None,
        notes=tuple(notes),
    )


def is_clean(notes: Sequence[NoteMark], timeline: Timeline | None, rules: MarkingRules) -> bool:
    """Whether a round is clean, by the rule in `config/marks.toml`. A round in which nothing was played is not."""
    rule = rules.clean
    counts = {verdict: sum(note.verdict is verdict for note in notes) for verdict in Verdict}
    if not counts[Verdict.RIGHT]:
        return False
    if counts[Verdict.WRONG] > rule.wrong or counts[Verdict.MISSED] > rule.missed or counts[Verdict.EXTRA] > rule.extra:
        return False
    if too_unsure(notes, rules):
        return False
    if timeline is None:
        return True
    late = [note.late_ms for note in notes if note.verdict is Verdict.RIGHT and note.late_ms is not None]
    return _in_time(late, timeline.bpm, rule)


def too_unsure(notes: Sequence[NoteMark], rules: MarkingRules) -> bool:
    """Whether so many of the written notes are unsure that nobody can say whether the round was clean."""
    written = [note.verdict for note in notes if note.written is not None]
    return written.count(Verdict.UNSURE) > rules.clean.unsure_share * len(written)


def unheard(marks: Marks, rules: MarkingRules) -> bool:
    """Whether nobody can say if a round was clean: nothing went wrong for sure, but too much was not heard well."""
    surely = any(note.verdict in (Verdict.WRONG, Verdict.MISSED, Verdict.EXTRA) for note in marks.notes)
    return not marks.clean and not surely and too_unsure(marks.notes, rules)


def unsure(marks: Marks) -> frozenset[int]:
    """The notes, as asked for, that were not heard well enough: they went neither right nor wrong."""
    return frozenset(n.written for n in marks.notes if n.verdict is Verdict.UNSURE and n.written is not None)


def faults(marks: Marks, rules: MarkingRules) -> frozenset[int]:
    """The notes, as asked for, at which a round went wrong: wrong or left out, too many before them, or out of time
    where that is why the round is not clean."""
    found: set[int] = set()
    last: int | None = None
    loose = False  # an extra note waits for the written note before which it came
    for note in marks.notes:
        if note.verdict is Verdict.EXTRA:
            loose = True
        if note.written is None:
            continue
        if loose or note.verdict in (Verdict.WRONG, Verdict.MISSED):
            found.add(note.written)
        last, loose = note.written, False
    if loose and last is not None:
        found.add(last)
    if not found and not marks.clean and marks.asked_bpm is not None:
        found.update(_out_of_time(marks, rules.clean))
    return frozenset(found)


def _out_of_time(marks: Marks, rule: Clean) -> Iterator[int]:
    """The notes that lie outside the bounds of lateness."""
    late = {n.written: n.late_ms for n in marks.notes if n.verdict is Verdict.RIGHT and n.late_ms is not None}
    if not late or marks.asked_bpm is None or _in_time(list(late.values()), marks.asked_bpm, rule):
        return
    bound, forgiven = rule.tolerance_ms(60.0 / marks.asked_bpm), _forgiven(list(late.values()), rule)
    yield from (at for at, ms in late.items() if at is not None and abs(ms - forgiven) > bound)


def _in_time(late: Sequence[float], bpm: float, rule: Clean) -> bool:
    """Whether few enough notes lie outside the bounds of lateness."""
    forgiven, bound = _forgiven(late, rule), rule.tolerance_ms(60.0 / bpm)
    return sum(abs(ms - forgiven) > bound for ms in late) <= rule.outside_share * len(late)


def _forgiven(late: Sequence[float], rule: Clean) -> float:
    """The part of the middle lateness that is not held against the player."""
    return min(max(median(late), -rule.forgiven_ms), rule.forgiven_ms)


def _note_marks(
    asked: Sequence[Asked],
    heard: Sequence[Heard],
    pairs: Pairs,
    timeline: Timeline | None,
    rules: MarkingRules,
    tried: Mapping[int, Sequence[int]],
) -> list[NoteMark]:
    """One mark a note, in the order in which the notes were due or came."""
    added = ornaments(asked, heard, pairs, rules.ornament)
    partner = dict(pairs)
    notes: list[NoteMark] = []
    told = 0

    def tell(until: int, but: Sequence[int] = ()) -> None:
        """The notes before heard note `until` that belong to no written one."""
        for j in (j for j in range(told, until) if j not in but):
            verdict = Verdict.ORNAMENT if j in added else Verdict.EXTRA
            notes.append(NoteMark(None, j, verdict, None, heard[j].pitch, None))

    for i, note in enumerate(asked):
        j = partner.get(i)
        if j is None:
            notes.append(NoteMark(note.index, None, Verdict.MISSED, note.pitch, None, None))
            continue
        came = tried.get(i, (j,))
        before, last = tuple(k for k in came[:-1] if k not in added), came[-1]
        tell(last, but=before)
        told = last + 1
        mark = _paired(note, heard[last], last, timeline, rules.length)
        if before:
            mark = replace(mark, verdict=Verdict.WRONG, heard_pitch=heard[before[0]].pitch, held=None, tries=before)
        notes.append(mark)
    tell(len(heard))
    return notes


def _paired(note: Asked, came: Heard, j: int, timeline: Timeline | None, length: Length) -> NoteMark:
    """The mark of a written note and the heard one that stands for it."""
    right = note.pitch == came.pitch
    late = came.seconds - timeline.seconds(note.at) if timeline is not None else None
    return NoteMark(
        written=note.index,
        heard=j,
        verdict=Verdict.RIGHT if right else Verdict.WRONG,
        pitch=note.pitch,
        heard_pitch=came.pitch,
        late_ms=round(late * 1000.0, 3) if late is not None else None,
        late_share=round(late * timeline.bpm / 60.0, 4) if late is not None and timeline is not None else None,
        held=_held(note, came, timeline, length) if right and not note.ornaments else None,
    )


def _held(note: Asked, came: Heard, timeline: Timeline | None, rule: Length) -> str | None:
    """Whether a note sounded too short or too long, None where it did not or where that cannot be told."""
    if timeline is None or came.end is None:
        return None
    share = (came.end - came.seconds) / (float(note.length) * timeline.whole)
    if share < rule.short:
        return "short"
    return "long" if share > rule.long else None
