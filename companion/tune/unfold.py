"""From what is written to what is played: the tune once through, with all its repeats."""

from __future__ import annotations

from dataclasses import replace
from itertools import takewhile

from companion.errors import Place, UserError
from companion.tune.fast_values import twin
from companion.tune.ticks import Ticks, whole
from companion.tune.tune import Tune
from companion.tune.tune_values import BarSpan, OnceThrough, Played

_PlayedTwin = twin(Played)
_SpanTwin = twin(BarSpan)


def unfold(tune: Tune) -> OnceThrough:
    """The tune in the order in which it is played.

    Ties are joined as they fall in the order of play: a note tied into a first ending is tied into the second one too.
    Each `BarSpan` is what stands between two bar lines or signs, with its own length: where a part ends on a short
    bar and the next begins with a pick-up, these are two spans (with the same bar number where they share one bar).

    Raises
    ------
    UserError
        Where the tune has an error among its problems: no notes, or something that cannot be played.
    """
    for problem in tune.problems:
        if problem.severity == "error":
            name = f"“{tune.title}”" if tune.title else f"Tune {tune.name}"
            raise UserError(f"{name} cannot be played: {problem.message}", Place(None, problem.line, problem.column))
    spans: list[BarSpan] = []
    notes = _walk(tune, spans)
    pickup = sum((span.length for span in takewhile(lambda span: span.bar == 0, spans)), start=whole(0))
    return OnceThrough(
        tuple(notes), tuple(spans), spans[-1].at + spans[-1].length, pickup, tune.form, tune.key.signature
    )


def _walk(tune: Tune, spans: list[BarSpan]) -> list[Played]:
    """The played notes; appends the played bars to `spans`."""
    course, written = tune.course, tune.notes
    atoms, course_spans = course.atoms, course.spans
    played: list[Played] = []
    now: Ticks = 0
    tied: int | None = None  # the pitch that sounds on into the next atom
    end: Ticks = -1  # where the last atom ends
    start: Ticks = 0  # where the last note begins
    for index, part, turn in course.steps:
        first, last, onset, length, bar, _, _, _ = course_spans[index]
        span = _SpanTwin(bar, part, turn, whole(now), whole(length))
        span.__class__ = BarSpan
        spans.append(span)
        shift = now - onset
        for note, atom_onset, atom_length, pitch, on in atoms[first:last]:
            at = atom_onset + shift
            if tied == pitch and at == end:
                end = at + atom_length
                played[-1] = replace(played[-1], length=whole(end - start))
            else:
                n = written[note]
                made = _PlayedTwin(
                    note, part, turn, bar, whole(at), whole(atom_length), pitch,
                    n.ornaments, n.grace, n.chord, n.finger,
                )  # fmt: skip
                made.__class__ = Played
                played.append(made)
                start, end = at, at + atom_length
            tied = pitch if on else None
        now += length
    return played
