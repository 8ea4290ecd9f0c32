"""A whole take marked: its melody found, its rounds told apart, and the beat of each found, and each marked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from companion.box.box_values import Fingering
from companion.marking.in_order import match_in_order
from companion.marking.mark_values import Asked, Heard, Marks
from companion.marking.marking_rules import MarkingRules
from companion.marking.melody import Hands, hands
from companion.marking.place import find_start
from companion.marking.shift import shift_of
from companion.marking.two_hands import counted_in, mark_melody
from companion.timeline import Timeline

# So many times the notes of a round, and the take holds another; so much of each must be there to count as one.
_MORE_THAN_ONE, _ENOUGH = 1.5, 0.5
# A tune is played three times in a set; a take of more rounds than this is cut after them.
_MOST_ROUNDS = 12


@dataclass(frozen=True, slots=True)
class TakeMarks:
    """The marks of one round of a take, where its beat lay (None: no clock), and how many rounds the take holds.

    `shift` is by how many semitones the take lies above what is written; the pitches of the marks are without it.
    """

    marks: Marks
    timeline: Timeline | None
    rounds: int
    shift: int = 0


def mark_take(
    asked: Sequence[Asked],
    heard: Sequence[Heard],
    *,
    beat: Fraction,
    bpm: float | None = None,
    rules: MarkingRules,
    clock: bool = True,
    fingering: Fingering | None = None,
) -> TakeMarks:
    """Mark the first round of a take, and spend no time on further ones. As :func:`mark_rounds`."""
    return next(mark_rounds(asked, heard, beat=beat, bpm=bpm, rules=rules, clock=clock, fingering=fingering))


def mark_rounds(
    asked: Sequence[Asked],
    heard: Sequence[Heard],
    *,
    beat: Fraction,
    bpm: float | None = None,
    rules: MarkingRules,
    clock: bool = True,
    fingering: Fingering | None = None,
) -> Iterator[TakeMarks]:
    """Mark the rounds of a take, one after the other as they are wanted, each with a beat of its own.

    Parameters
    ----------
    asked : the notes of one round, or of a piece of it.
    heard : all notes of the take, in order of onset; `NoteMark.heard` counts in these. Notes of other channels and of
        the left hand, and those of other rounds, have no mark.
    beat : the length of a beat in whole notes.
    bpm : the tempo asked for; None to find the one played.
    clock : False for right notes in the right order.
    fingering : for the causes; see `mark`.
    """
    order = sorted(range(len(heard)), key=lambda j: heard[j].seconds)
    ordered = [heard[j] for j in order]
    both = hands(ordered, asked)
    mine = both.melody
    shift = shift_of(asked, [ordered[j] for j in mine])
    if shift:
        ordered = [replace(note, pitch=note.pitch - shift) for note in ordered]
    notes = [ordered[j] for j in mine]
    ends = first_round(asked, notes, rules)
    begin = 0
    for end in ends:
        timeline = find_start(asked, notes[begin:end], bpm, beat, rules) if clock else None
        first, after = mine[begin] if begin else 0, mine[end] if end < len(mine) else len(ordered)
        part = Hands(
            tuple(j - first for j in mine[begin:end]), tuple(j - first for j in both.doubtful if first <= j < after)
        )
        marks = mark_melody(
            asked, ordered[first:after], part, timeline=timeline, fingering=fingering, rules=rules, beat=beat
        )
        placed = tuple(counted_in(note, order[first:]) for note in marks.notes)
        # What was found is not what was asked for.
        found = replace(marks, notes=placed, asked_bpm=bpm if clock else None)
        yield TakeMarks(found, timeline, len(ends), shift)
        begin = end


def first_round(asked: Sequence[Asked], notes: Sequence[Heard], rules: MarkingRules) -> tuple[int, ...]:
    """Where each round in a take ends: the number of notes until then, a round each; the last holds the rest.

    A take of no more than one and a half times the notes of a round is one round; of a take of very many, what comes
    after as many notes as twelve rounds have is left out.
    """
    whole = (len(notes),)
    if not asked or len(notes) < _MORE_THAN_ONE * len(asked):
        return whole
    # What a whole evening holds is not laid against twelve rounds: it would take gigabytes.
    notes = notes[: _MOST_ROUNDS * len(asked)]
    rounds = min(max(2, round(len(notes) / len(asked))), _MOST_ROUNDS)
    span = asked[-1].at + asked[-1].length - asked[0].at
    several = [replace(note, at=note.at + k * span) for k in range(rounds) for note in asked]
    pairs = [(i, j) for i, j in match_in_order(several, notes, rules) if several[i].pitch == notes[j].pitch]
    found = [[j for i, j in pairs if i // len(asked) == k] for k in range(rounds)]
    found = [js for js in found if len(js) >= _ENOUGH * len(asked)]
    if len(found) < 2:
        return (len(notes),)
    return (*(js[-1] + 1 for js in found[:-1]), len(notes))
