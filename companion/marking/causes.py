"""Why a note went wrong: what in the box, the hand or the tune explains it.

Every explanation that fits a wrong pitch exactly is weighed (`[cause]` in `config/marks.toml`, more where the notes
round it bear it out). The best is the cause; those about as good are said with it, joined by "+", in the order of
`cause_table.py`.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace

from companion.box.box_values import Bellows, Box, Fingering, Press
from companion.marking.cause_table import CAUSES, Cause
from companion.marking.mark_values import Asked, NoteMark, Verdict
from companion.marking.marking_rules import CauseRules, MarkingRules
from companion.marking.out_of_time import TimedRound
from companion.marking.wrong_pitches import AskedRound
from companion.timeline import Timeline

# What the notes round a wrong one add to a cause that they bear out.
_BORNE_OUT = 0.6


def explain(
    asked: Sequence[Asked],
    notes: Sequence[NoteMark],
    fingering: Fingering | None,
    timeline: Timeline | None,
    rules: MarkingRules,
    onsets: Sequence[float] = (),
) -> list[NoteMark]:
    """Give the marks their causes; those of notes that nothing explains stay without.

    `onsets` are the seconds at which the heard notes came, for hesitations.
    """
    held = dict(enumerate(fingering.notes)) if fingering is not None else {}
    position = {note.index: k for k, note in enumerate(asked)}
    by_note = {n.written: n for n in notes if n.written is not None}
    given = AskedRound(asked, by_note, held)
    weighed: dict[int, dict[str, float]] = {}
    for index, note in by_note.items():
        if note.verdict is Verdict.WRONG:
            weighed[position[index]] = _weigh(given, position[index], note.heard_pitch, fingering, rules.cause)
    _runs(weighed, given, rules.cause.run)
    in_time = out_of_time(given, timeline, rules, onsets)
    explained = []
    for note in notes:
        cause = None
        if note.written is not None:
            at = position[note.written]
            cause = _said(weighed[at], rules.cause.equal) if at in weighed else in_time.get(at)
        explained.append(replace(note, cause=cause))
    return explained


def cause_now(
    asked: Sequence[Asked], marks: Mapping[int, NoteMark], k: int, pitch: int, fingering: Fingering, rules: MarkingRules
) -> str | None:
    """Why a wrong note has just come in place of the asked note at position `k`; None where nothing explains it.

    `marks` are those so far, by index into the round. What only a run of notes can show is not said yet.
    """
    given = AskedRound(asked, marks, dict(enumerate(fingering.notes)))
    return _said(_weigh(given, k, pitch, fingering, rules.cause), rules.cause.equal)


def pressed(asked: Sequence[Asked], k: int, pitch: int, cause: str | None, fingering: Fingering) -> tuple[Press, ...]:
    """The presses that may have given a wrong note: those of its cause, else all that sound it on the box."""
    box = fingering.box
    found: list[Press] = []
    for name in (cause or "").split("+"):
        slip = CAUSES[name].slip if name else None
        if slip is not None:
            found += slip(box, fingering.notes[asked[k].index].press)
        elif name:
            found += [fingering.notes[one.index].press for one in asked[max(0, k - 1) : k + 2] if one.pitch == pitch]
    if not found:
        found = [
            Press(row.name, button, bellows)
            for row in box.rows
            for bellows in Bellows
            for button in range(1, len(row.push) + 1)
        ]
    return tuple(dict.fromkeys(press for press in found if box.pitch(press) == pitch))


def slips(box: Box, press: Press) -> dict[str, list[Press]]:
    """The presses that one slip makes of the right one, by cause."""
    return {cause.name: list(cause.slip(box, press)) for cause in CAUSES.values() if cause.slip is not None}


def slip_pitches(asked: Sequence[Asked], fingering: Fingering) -> tuple[frozenset[int], ...]:
    """For each asked note, the wrong pitches that one slip gives in its place: on the box, or to the note beside it."""
    held = dict(enumerate(fingering.notes))
    found = []
    for k, note in enumerate(asked):
        fingered = held.get(note.index)
        presses = [] if fingered is None else itertools.chain(*slips(fingering.box, fingered.press).values())
        beside = {one.pitch for one in (*asked[max(0, k - 1) : k], *asked[k + 1 : k + 2])}
        pitches = ({fingering.box.pitch(press) for press in presses} | beside) - {None, note.pitch}
        found.append(frozenset(pitch for pitch in pitches if pitch is not None))
    return tuple(found)


def _weigh(
    given: AskedRound, k: int, came: int | None, fingering: Fingering | None, rules: CauseRules
) -> dict[str, float]:
    """The weight of each cause that explains the pitch of the wrong note at position `k`."""
    fingered = given.held.get(given.asked[k].index)
    found: dict[str, float] = {}
    for cause in CAUSES.values():
        if cause.weight is None:
            continue
        fits = cause.instead is not None and cause.instead(given, k) == came
        if cause.slip is not None and fingering is not None and fingered is not None:
            fits = any(fingering.box.pitch(press) == came for press in cause.slip(fingering.box, fingered.press))
        if fits:
            borne_out = cause.borne_out is not None and cause.borne_out(given, k)
            found[cause.name] = rules.weights[cause.weight] + (_BORNE_OUT if borne_out else 0.0)
    return found


def _runs(weighed: dict[int, dict[str, float]], given: AskedRound, least: int) -> None:
    """Where a run of wrong notes shares a cause that only a run can show, that cause takes the lead.

    One note in between may be another, but none that speaks against the cause.
    """
    for whole in CAUSES.values():
        if whole.run_of is None:
            continue
        shared, run = CAUSES[whole.run_of], list[int]()
        for k in [*sorted(weighed), None]:
            goes_on = k is not None and (
                not run or k == run[-1] + 1 or (k == run[-1] + 2 and not _speaks_against(shared, given, k - 1))
            )
            if k is not None and goes_on and shared.name in weighed[k]:
                run.append(k)
                continue
            if len(run) >= least:
                for note in run:
                    weighed[note][whole.name] = weighed[note].get(whole.name, 0.0) + 2.0 * _BORNE_OUT + 1.0
            run = [k] if k is not None and shared.name in weighed[k] else []


def _speaks_against(cause: Cause, given: AskedRound, k: int) -> bool:
    """Whether the note at `k` was right, and could not have been by this mistake.

    Who plays the bar before has a note right where the two bars are alike; with the hand off by one, none is.
    """
    note = given.asked[k]
    mark = given.marks.get(note.index)
    if mark is None or mark.verdict is not Verdict.RIGHT:
        return False
    return cause.instead is None or cause.instead(given, k) != note.pitch


def out_of_time(
    given: AskedRound, timeline: Timeline | None, rules: MarkingRules, onsets: Sequence[float]
) -> dict[int, str]:
    """The causes of right notes that came at the wrong time, by position; several that fit are joined by "+"."""
    if not given.held:
        return {}
    bound = rules.clean.tolerance_ms(60.0 / timeline.bpm) if timeline is not None else 0.0
    timed = TimedRound(
        given.asked, given.marks, given.held, timeline, bound, rules.cause.wait, rules.cause.rush, onsets
    )
    found: dict[int, list[str]] = defaultdict(list)
    for cause in CAUSES.values():
        for k in cause.late(timed) if cause.late is not None else ():
            found[k].append(cause.name)
    return {k: "+".join(names) for k, names in found.items()}


def _said(weights: dict[str, float], equal: float) -> str | None:
    """The best cause and those about as good, None where there is none."""
    if not weights:
        return None
    best = max(weights.values())
    return "+".join(cause for cause in CAUSES if weights.get(cause, 0.0) >= equal * best)
