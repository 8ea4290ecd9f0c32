"""From a melody as it was read (`companion.tune.draft`) to a `Tune`: ties joined, bars numbered, the way through."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from companion.tune.bars import check_lengths, number_bars
from companion.tune.draft import REST, Complaints, Draft, Joint, Melody
from companion.tune.fast_values import twin
from companion.tune.play_order import form_of, plan
from companion.tune.ticks import Ticks, whole
from companion.tune.tune import Atom, OtherVoice, Span, Tune, WayThrough
from companion.tune.tune_values import Key, Meter, Note, Tempo

_NoteTwin = twin(Note)


@dataclass(slots=True)
class Heading:
    """What stands over a tune. `order` is the order of its parts, with the place where it is written."""

    number: int
    titles: tuple[str, ...]
    rhythm: str
    meter: Meter
    key: Key
    tempo: Tempo | None
    unit: Fraction
    fields: tuple[tuple[str, str], ...] = ()
    order: str = ""
    order_place: tuple[int, int] = (0, 0)
    line: int = 0


def build(heading: Heading, melody: Melody, voices: tuple[Melody, ...], complaints: Complaints) -> Tune:
    """The tune of a melody. The order of play is found here, so that its problems are known when it is read."""
    bars = number_bars(melody.spans)
    check_lengths(melody.spans, complaints)
    atoms: list[Atom] = []
    notes = join(melody, atoms, complaints)
    steps = plan(melody, heading.order, complaints, heading.order_place)
    if not notes:
        complaints.error(heading.line, 1, "The tune has no notes.")
    spans = _spans(melody)
    unplayable = any(problem.severity == "error" for problem in complaints.problems)  # and it is said why
    if notes and not unplayable and not any(spans[index].first < spans[index].last for index, _, _ in steps):
        complaints.error(heading.line, 1, "No note of the tune is ever played; look at its endings.")
    others = tuple(OtherVoice(v.name, tuple(_voice_notes(v))) for v in voices)
    problems = complaints.problems
    problems.sort(key=lambda p: (p.line, p.column))
    return Tune(
        heading.number,
        heading.titles[0] if heading.titles else "",
        heading.titles,
        heading.rhythm,
        heading.meter,
        heading.key,
        heading.tempo,
        heading.unit,
        tuple(notes),
        bars,
        form_of(steps),
        tuple(problems),
        heading.fields,
        others,
        WayThrough(tuple(atoms), spans, tuple(steps), tuple(melody.items), tuple(melody.jumps), heading.order),
    )


def _voice_notes(voice: Melody) -> list[Note]:
    number_bars(voice.spans)
    return join(voice, [], Complaints(most=0))


def join(melody: Melody, atoms: list[Atom], complaints: Complaints) -> list[Note]:
    """The written notes with their ties joined; appends every note before that to `atoms`."""
    notes: list[Note] = []
    drafts = melody.drafts
    begun: Draft | None = None  # the note to which the next one may be tied
    begun_bar = 0
    length: Ticks = 0
    tied = False
    for span in melody.spans:
        bar = span.bar
        for draft in drafts[span.first : span.last]:
            pitch = draft.pitch
            if tied and begun is not None:
                if pitch == begun.pitch:
                    length += draft.length
                    tied = draft.tied
                    atoms.append((len(notes), draft.onset, draft.length, pitch, tied))
                    continue
                if begun.pitch not in draft.extras[3] and span.joint < Joint.STRONG:
                    what = "a rest" if pitch == REST else "another pitch"
                    complaints.warn(begun.line, begun.column, f"A tie to {what} is read as a slur.")
            if begun is not None:
                notes.append(_note(begun, length, begun_bar))
                begun = None
            tied = False
            if pitch == REST:
                continue
            begun, begun_bar, length, tied = draft, bar, draft.length, draft.tied
            atoms.append((len(notes), draft.onset, length, pitch, tied))
    if begun is not None:
        notes.append(_note(begun, length, begun_bar))
    return notes


def _note(draft: Draft, length: Ticks, bar: int) -> Note:
    ornaments, grace, chord, under, finger = draft.extras
    made = _NoteTwin(
        whole(draft.onset), whole(length), draft.pitch, bar, ornaments, grace, chord, under, finger, draft.line,
        draft.column,
    )  # fmt: skip
    made.__class__ = Note
    return made


def _spans(melody: Melody) -> tuple[Span, ...]:
    """The spans with their atoms counted without the rests."""
    out: list[Span] = []
    drafts = melody.drafts
    seen = 0
    for span in melody.spans:
        first = seen
        seen += sum(1 for d in drafts[span.first : span.last] if d.pitch != REST)
        out.append(Span(first, seen, span.onset, span.length, span.bar, span.joint, span.meter, span.more))
    return tuple(out)
