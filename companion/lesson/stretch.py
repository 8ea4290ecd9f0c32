"""A stretch of a round, cut out to be played: its notes, its beats, and how long it is when it goes round in a loop.

Conventions: places and lengths are exact fractions of a whole note, counted from the beginning of the stretch.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from companion.tune.tune_values import BarSpan, Meter, OnceThrough, Played

ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class StretchNote:
    """One note of a stretch: `index` is its place in the round's notes, `at` its place in the stretch, `turn` how often
    the stretch has been through before (0: this is the first time)."""

    index: int
    at: Fraction
    note: Played
    turn: int = 0


@dataclass(frozen=True, slots=True)
class Beat:
    """One beat; `first` where a bar begins on it."""

    at: Fraction
    first: bool


@dataclass(frozen=True, slots=True)
class Stretch:
    """What is played.

    `length` is how far it is from one time round to the next: what is written, and where the end does not lead into the
    beginning (a pick-up has no place in the last bar) the rest that keeps the pulse. `pickup` is what comes before the
    first bar line (0: it begins on one); `bars` are the places of the bar lines; `bar` is how long a full bar is.
    """

    notes: tuple[StretchNote, ...]
    beats: tuple[Beat, ...]
    bars: tuple[Fraction, ...]
    length: Fraction
    pickup: Fraction
    bar: Fraction
    beat: Fraction


def stretch_of(
    round_: OnceThrough, first: int, last: int, meter: Meter, beat: Fraction, *, loop: bool = True
) -> Stretch:
    """Cut notes `first` to `last` (both inclusive) out of a round; ``first > last`` goes round its end.

    Rests before the first note of a bar and after the last one belong to the stretch.

    Parameters
    ----------
    meter, beat : the tune's meter, and the beat in which it is counted (:func:`companion.sound.tempi.beat_of`).
    loop : lengthen it by the rest that keeps the pulse when it is played again and again.
    """
    count = len(round_.notes)
    if not (0 <= first < count and 0 <= last < count):
        raise IndexError(f"notes {first} to {last} of {count}")
    spans = tuple(_spans(round_))
    start = _edge(round_, first)
    end = _edge(round_, last + 1) if last + 1 < count else round_.length
    if first > last:
        end += round_.length
    indices = [*range(first, last + 1)] if first <= last else [*range(first, count), *range(last + 1)]
    turned = round_.length if first > last else ZERO
    notes = tuple(
        StretchNote(i, round_.notes[i].at - start + (turned if i < first else ZERO), round_.notes[i]) for i in indices
    )
    pickup = _to_bar_line(spans, start)
    bar = meter.bar or 4 * beat
    length = end - start
    if loop:
        length += (_to_bar_line(spans, end) - pickup) % bar if meter.bar else -length % beat
    grid = _grid(spans, meter, beat, start, start + length)
    return Stretch(
        notes,
        tuple(Beat(at - start, is_first) for at, is_first in grid),
        tuple(span.at - start for span in spans if start <= span.at <= start + length and not _leads(span)),
        length,
        pickup,
        bar,
        beat,
    )


def several(stretch: Stretch, times: int) -> Stretch:
    """A stretch `times` over, each time after the other as it loops."""
    shifts = [(turn, turn * stretch.length) for turn in range(times)]
    return replace(
        stretch,
        notes=tuple(replace(note, at=note.at + by, turn=turn) for turn, by in shifts for note in stretch.notes),
        beats=tuple(replace(beat, at=beat.at + by) for _, by in shifts for beat in stretch.beats),
        bars=tuple(dict.fromkeys(bar + by for _, by in shifts for bar in stretch.bars)),
        length=times * stretch.length,
    )


def count_in(stretch: Stretch, bars: int, meter: Meter) -> tuple[Fraction, tuple[Beat, ...]]:
    """The beats of `bars` bars before a stretch, at places below 0; a pick-up takes the end of the last of them.

    Returns
    -------
    (lead, beats) : how far before the stretch the count begins, and its beats.
    """
    if bars <= 0:
        return ZERO, ()
    lead = bars * stretch.bar - stretch.pickup
    beats = [
        Beat(number * stretch.bar - lead + at, at == 0)
        for number in range(bars)
        for at in _beats_in(stretch.bar, meter, stretch.beat)
    ]
    return lead, tuple(beat for beat in beats if beat.at < 0)


def _edge(round_: OnceThrough, index: int) -> Fraction:
    """Where note `index` may be cut off from the one before: at its bar's line if it is the bar's first, else at its
    onset.
    """
    at = round_.notes[index].at
    before = round_.notes[index - 1] if index else None
    line = max((span.at for span in round_.bars if span.at <= at), default=at)
    if before is None:
        return min(line, at)
    return max(line, before.at + before.length) if before.at < line else at


def _leads(span: BarSpan) -> bool:
    """Whether a bar is a pick-up: its beats are counted from its end."""
    return span.bar == 0


def _spans(round_: OnceThrough) -> Iterator[BarSpan]:
    """The round's bars three times over: a stretch that goes round, and its rest, end in the second or third.

    A pick-up that opens a later part shares the number of the bar that it completes; here it is bar 0 as well.
    """
    bars = []
    for index, span in enumerate(round_.bars):
        before = round_.bars[index - 1] if index else None
        after = round_.bars[index + 1] if index + 1 < len(round_.bars) else None
        opens = before is None or (before.part, before.turn) != (span.part, span.turn)
        goes_on = after is not None and (after.part, after.turn) == (span.part, span.turn)
        leads = opens and goes_on and after is not None and span.length < after.length
        bars.append(replace(span, bar=0) if leads else span)
    for turn in range(3):
        for span in bars:
            yield replace(span, at=span.at + turn * round_.length)


def _to_bar_line(spans: tuple[BarSpan, ...], at: Fraction) -> Fraction:
    """How far it is from a place to the next bar line, 0 on one. A pick-up does not begin with one."""
    for span in spans:
        if span.at <= at < span.at + span.length:
            return ZERO if at == span.at and not _leads(span) else span.at + span.length - at
    return ZERO


def _beats_in(length: Fraction, meter: Meter, beat: Fraction) -> list[Fraction]:
    """Places of the beats in a bar of `length`: each `beat`, or the meter's own groups where they differ."""
    places, at = [], ZERO
    groups = meter.beats if len(set(meter.beats)) > 1 else (beat,)
    while at < length:
        places.append(at)
        at += groups[(len(places) - 1) % len(groups)]
    return places


def _grid(
    spans: tuple[BarSpan, ...], meter: Meter, beat: Fraction, start: Fraction, end: Fraction
) -> Iterator[tuple[Fraction, bool]]:
    """The beats from `start` up to, not including, `end`."""
    for span in spans:
        if span.at >= end:
            return
        if _leads(span):
            full = meter.bar or span.length
            shift = span.at + span.length - full
            places = [(shift + at, False) for at in _beats_in(full, meter, beat) if shift + at >= span.at]
        else:
            places = [(span.at + at, at == 0) for at in _beats_in(span.length, meter, beat)]
        yield from ((at, is_first) for at, is_first in places if start <= at < end)
