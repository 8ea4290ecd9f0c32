"""Why a note went wrong: what in the box, the hand or the tune explains it.

Every explanation that fits a wrong pitch exactly is weighed (`[cause]` in `config/marks.toml`, more where the notes
round it bear it out). The best is the cause; those about as good are said with it, joined by "+", in the order of
`CAUSES`.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from companion.box.box_values import Bellows, Box, Fingered, Fingering, Press
from companion.marking.mark_values import Asked, NoteMark, Verdict
from companion.marking.marking_rules import MarkingRules
from companion.marking.out_of_time import out_of_time
from companion.timeline import Timeline

CAUSES: dict[str, str] = {
    "other-direction": "the right button, with the bellows going the other way",
    "button-below": "the next button down the row (towards the chin)",
    "button-above": "the next button up the row",
    "other-row": "the button beside it in the other row",
    "next-note": "the right note too early: the next written note",
    "note-before": "the note before, again",
    "bar-before": "the note at this place in the bar before: the place was lost",
    "hand-below": "the whole hand one button too low, for a run of notes",
    "hand-above": "the whole hand one button too high, for a run of notes",
    "late-turn": "the right note, late where the bellows turn",
    "hesitation": "the right note, after a wait where the hand moves or a part begins",
    "rushed-bar": "right notes that come sooner and sooner through a bar",
    "dragged-bar": "right notes that come later and later through a bar",
}
"""Every cause that a mark can carry, and what it means. Two equally good ones are joined by "+"."""

# What the notes round a wrong one add to a cause that they bear out.
_BORNE_OUT = 0.6


@dataclass(frozen=True, slots=True)
class _WrongNote:
    """A wrong note, with what surrounds it in what was asked."""

    mark: NoteMark
    position: int
    press: Press | None


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
    box = fingering.box if fingering is not None else None
    position = {note.index: k for k, note in enumerate(asked)}
    by_note: dict[int, NoteMark] = {n.written: n for n in notes if n.written is not None}
    weighed: dict[int, dict[str, float]] = {}
    for note in by_note.values():
        if note.verdict is Verdict.WRONG and note.written is not None:
            fingered = held.get(note.written)
            place = _WrongNote(note, position[note.written], fingered.press if fingered is not None else None)
            weighed[place.position] = _weigh(place, asked, by_note, held, box, rules)
    right = {position[at] for at, note in by_note.items() if note.verdict is Verdict.RIGHT}
    # Who plays the bar before has a note right where the two bars are alike; with the hand off by one, none is.
    alike = {
        k for k in right if k - 1 in weighed and k + 1 in weighed and _bar_before(asked, k, held) == asked[k].pitch
    }
    _runs(weighed, {"bar-before": right - alike, "button-below": right, "button-above": right}, rules)
    in_time = out_of_time(asked, by_note, held, timeline, rules, onsets)
    explained = []
    for note in notes:
        cause = None
        if note.written is not None:
            at = position[note.written]
            cause = _said(weighed[at], rules.cause.equal) if at in weighed else in_time.get(at)
        explained.append(replace(note, cause=cause))
    return explained


def slips(box: Box, press: Press) -> dict[str, list[Press]]:
    """The presses that one slip makes of the right one, by cause."""
    other = Bellows.PULL if press.bellows is Bellows.PUSH else Bellows.PUSH
    found: dict[str, list[Press]] = {
        "other-direction": [Press(press.row, press.button, other)],
        "button-below": [Press(press.row, press.button - 1, press.bellows)],
        "button-above": [Press(press.row, press.button + 1, press.bellows)],
        "other-row": [],
    }
    column = next((row.offset + press.button for row in box.rows if row.name == press.row), None)
    for row in box.rows:
        if row.name != press.row and column is not None:
            for button in range(1, len(row.push) + 1):
                if abs(row.offset + button - column) <= 0.5:
                    found["other-row"].append(Press(row.name, button, press.bellows))
    return found


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
    place: _WrongNote,
    asked: Sequence[Asked],
    by_note: dict[int, NoteMark],
    held: dict[int, Fingered],
    box: Box | None,
    rules: MarkingRules,
) -> dict[str, float]:
    """The weight of each cause that explains the pitch of a wrong note."""
    came = place.mark.heard_pitch
    weights = rules.cause
    found: dict[str, float] = {}
    if box is not None and place.press is not None:
        for cause, presses in slips(box, place.press).items():
            if any(box.pitch(press) == came for press in presses):
                found[cause] = float(getattr(weights, cause.replace("-", "_")))
    k = place.position
    if k + 1 < len(asked) and asked[k + 1].pitch == came:
        follows = by_note.get(asked[k + 1].index)
        borne_out = follows is not None and follows.verdict is Verdict.MISSED
        found["next-note"] = weights.next_note + (_BORNE_OUT if borne_out else 0.0)
    if k > 0 and asked[k - 1].pitch == came:
        found["note-before"] = weights.note_before
    if _bar_before(asked, k, held) == came:
        found["bar-before"] = weights.bar_before
    return found


def _bar_before(asked: Sequence[Asked], k: int, held: dict[int, Fingered]) -> int | None:
    """The pitch asked at the same place in the bar before, None where there is none or the bars are not known."""
    starts: dict[tuple[str, int, int], Fraction] = {}
    keys = []
    for note in asked:
        fingered = held.get(note.index)
        if fingered is None:
            return None
        played = fingered.note
        key = (played.part, played.turn, played.bar)
        keys.append(key)
        starts.setdefault(key, note.at)
    bars = list(starts)
    here = bars.index(keys[k])
    if here == 0:
        return None
    # The bar before ends where this one starts: the same distance from its own start (a pick-up has none).
    wanted = starts[bars[here - 1]] + asked[k].at - starts[keys[k]]
    for note, key in zip(asked, keys, strict=True):
        if key == bars[here - 1] and note.at == wanted:
            return note.pitch
    return None


def _runs(weighed: dict[int, dict[str, float]], against: dict[str, set[int]], rules: MarkingRules) -> None:
    """Where a run of wrong notes shares a cause that only a run can show, that cause takes the lead.

    One note in between may be another, but none that speaks `against` the cause.
    """
    for cause, whole in (("bar-before", "bar-before"), ("button-below", "hand-below"), ("button-above", "hand-above")):
        run: list[int] = []
        for k in [*sorted(weighed), None]:
            goes_on = k is not None and (
                not run or k == run[-1] + 1 or (k == run[-1] + 2 and k - 1 not in against[cause])
            )
            if k is not None and goes_on and cause in weighed[k]:
                run.append(k)
                continue
            if len(run) >= rules.cause.run:
                for note in run:
                    weighed[note][whole] = weighed[note].get(whole, 0.0) + 2.0 * _BORNE_OUT + 1.0
            run = [k] if k is not None and cause in weighed[k] else []


def _said(weights: dict[str, float], equal: float) -> str | None:
    """The best cause and those about as good, None where there is none."""
    if not weights:
        return None
    best = max(weights.values())
    return "+".join(cause for cause in CAUSES if weights.get(cause, 0.0) >= equal * best)
