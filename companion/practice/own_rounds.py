"""What the player has chosen to play, in place of the lesson: any run of notes, round and round, at any tempo.

Pure. The lesson waits where it was; what is heard meanwhile tells it about the moves all the same (`heard_outside`).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace

from companion.lesson.lesson_rules import LessonRules
from companion.lesson.lesson_values import Kind, Piece
from companion.practice.known_moves import learnt
from companion.practice.player_state import IN_ORDER, IN_TIME, Outcome, PlayerState
from companion.tune.part_bars import Bar
from companion.tune.tune_values import OnceThrough

SLOWEST, FASTEST = 0.2, 1.5  # shares of the tune's tempo


@dataclass(frozen=True, slots=True)
class OwnRounds:
    """What goes round and round: the piece, the tempo as a share of the tune's, and how many rounds in a row have been
    clean at it."""

    piece: Piece
    share: float
    clean: int = 0

    def at(self, share: float) -> OwnRounds:
        """The same at another tempo, within what can be played."""
        return replace(self, share=min(max(share, SLOWEST), FASTEST), clean=0)


def run_of(first: int, last: int, round_: OnceThrough, bars: Sequence[Bar], pieces: Sequence[Piece]) -> Piece:
    """Notes `first` to `last` of a tune as a piece, with a name that a player would say.

    A piece of the lesson with the same notes lends its name (a join may go round the end); else it is called by its
    bars, and by its notes where it does not begin or end with a bar. Which of the two notes is named first is all one.
    """
    count = len(round_.notes)
    first, last = (min(max(note, 0), count - 1) for note in (first, last))
    named = {(one.first, one.last): one for one in reversed(pieces) if one.times == 1 and one.kind is not Kind.MOVE}
    if (first, last) in named:
        return named[first, last]
    first, last = sorted((first, last))
    if (first, last) in named:
        return named[first, last]
    if (first, last) == (0, count - 1):
        return Piece("round", Kind.ROUND, first, last, None, 0.0)
    return Piece(_name(first, last, round_, bars), Kind.BAR, first, last, None, 0.0)


def bar_of(note: int, round_: OnceThrough, bars: Sequence[Bar]) -> tuple[int, int]:
    """The first and the last note of the bar in which a note lies, at that time through its part."""
    turn = round_.notes[note].turn
    first = last = note
    while first > 0 and (bars[first - 1], round_.notes[first - 1].turn) == (bars[note], turn):
        first -= 1
    while last + 1 < len(bars) and (bars[last + 1], round_.notes[last + 1].turn) == (bars[note], turn):
        last += 1
    return first, last


def numbered_bar(
    number: int, here: tuple[int, int], round_: OnceThrough, bars: Sequence[Bar]
) -> tuple[int, int] | None:
    """The notes of the bar of that number: in the part that is played now, or, where that bar is played already, in
    the next part that has one; None where no part has.

    `here` are the first and the last note of what is played now.
    """
    starts = [
        k
        for k, bar in enumerate(bars)
        if bar.number == number and (k == 0 or bars[k - 1] != bar) and bar not in bars[:k]
    ]
    if not starts:
        return None
    found = [bar_of(k, round_, bars) for k in starts]
    parts = [bars[first].part for first, _ in found]
    played = bars[here[0]]
    in_hand = played.number == number and bar_of(here[0], round_, bars) == here
    if played.part not in parts:
        return found[0]
    at = parts.index(played.part)
    return found[(at + 1) % len(found)] if in_hand else found[at]


def heard_outside(state: PlayerState, outcome: Outcome, rules: LessonRules) -> PlayerState:
    """Where the player stands after a round that the lesson had not asked for: only what it says of the moves counts,
    at the rung that its tempo reaches; below the lowest rung it says as much as one with no clock."""
    task = outcome.task
    if task.step == IN_TIME:
        rung = bisect_right(rules.rungs, task.share + 1e-9) - 1
        task = replace(task, share=rules.rungs[rung]) if rung >= 0 else replace(task, step=IN_ORDER)
    return learnt(state, replace(outcome, task=task), rules)


def _name(first: int, last: int, round_: OnceThrough, bars: Sequence[Bar]) -> str:
    one, other = bars[first], bars[last]
    begins, ends = bar_of(first, round_, bars)[0] == first, bar_of(last, round_, bars)[1] == last
    start = one.name if begins else f"{one.name} note {_place(first, round_, bars)}"
    if begins and ends and one == other:
        return one.name
    if begins and ends and one.part == other.part and one.number < other.number:
        return f"{one.part} bars {one.number} to {other.number}"
    short = other.name if one.part != other.part or one.number == other.number else f"bar {other.number}"
    if one == other:
        return f"{one.name}, notes {_place(first, round_, bars)} to {_place(last, round_, bars)}"
    return f"{start} to {short if ends else f'{short} note {_place(last, round_, bars)}'}"


def _place(note: int, round_: OnceThrough, bars: Sequence[Bar]) -> int:
    """Which note of its bar a note is, counted from 1."""
    return note - bar_of(note, round_, bars)[0] + 1
