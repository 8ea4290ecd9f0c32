"""Cutting a round into pieces: bars, phrases, halves, parts, the joins between them, and the round.

Conventions: a piece is a run of indices into the round's notes. A note that is held over a bar line belongs to the bar
in which it begins; a pick-up belongs to the bar that it leads into. The pieces are those of the first time through each
part; of a later time only the bars that differ (a second ending) are pieces of their own.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from companion.box.box_values import Fingered
from companion.errors import UserError
from companion.lesson.lesson_rules import LessonRules
from companion.lesson.lesson_values import Kind, Piece
from companion.lesson.sameness import but_for_one, shape
from companion.tune.tune_values import BarSpan, OnceThrough

Shape = tuple[tuple[int, Fraction, Fraction], ...]
NEARLY = (Kind.BAR, Kind.PHRASE)  # of which it is said that they are the same but for one note
WHOLE = 1.6  # seconds of a whole note at a steady practice speed, where no tempo is known (as in config/hand.toml)
SLOW = 3.0  # notes a second that are not quick for anybody (common practice)
TIMES = {2: "twice", 3: "three times", 4: "four times"}


@dataclass(frozen=True, slots=True)
class _Cell:
    """One bar as it is practised, its pick-up included: note indices first..last, and where it starts."""

    first: int
    last: int
    at: Fraction


@dataclass(frozen=True, slots=True)
class _PartPass:
    """One time through a part."""

    part: str
    turn: int
    cells: tuple[_Cell, ...]


def cut(
    round_: OnceThrough,
    fingered: Sequence[Fingered],
    rules: LessonRules,
    phrases: Mapping[str, Sequence[int]] | None = None,
    whole: float = WHOLE,
) -> tuple[Piece, ...]:
    """All the pieces of a round, in the order in which their ends are reached in the tune, joins after parts.

    Parameters
    ----------
    round_ : the unfolded tune.
    fingered : its fingering, one entry a note; empty where the box has not all the notes (then only the number of notes
        counts towards the difficulty).
    rules : the lesson's numbers.
    phrases : the bars at which phrases begin, by part, where the rules do not say.
    whole : seconds that a whole note lasts at the tempo to reach; quick notes are harder.
    """
    passes = _passes(round_)
    weigher = _Weigher(round_, fingered, rules, whole)
    seen: dict[Kind, dict[Shape, str]] = {kind: {} for kind in Kind}
    pieces: list[Piece] = []
    names: set[str] = set()
    for name, kind, first, last in _spans(round_, passes, fingered, rules, phrases or {}):
        known, here = seen[kind], shape(round_, first, last)
        if name in names:
            if here in known:
                continue
            name = next(f"{name}, time {n}" for n in range(2, len(passes) + 2) if f"{name}, time {n}" not in names)
        names.add(name)
        same_as = known.get(here)
        like, differs = _like(here, known) if same_as is None and kind in NEARLY else (None, None)
        known.setdefault(here, name)
        at = None if differs is None else first + differs
        pieces.append(Piece(name, kind, first, last, same_as, weigher.points(first, last), like=like, differs=at))
    once = pieces[-1] if pieces else None
    if once is not None and once.kind is Kind.ROUND:
        pieces += [
            replace(once, name=f"{once.name}, {TIMES.get(n, f'{n} times')}", kind=Kind.ROUNDS, times=n)
            for n in rules.several
        ]
    return tuple(pieces)


def _like(here: Shape, known: Mapping[Shape, str]) -> tuple[str | None, int | None]:
    """The first piece that is the same but for one note, and which note of it that is."""
    for there, name in known.items():
        at = but_for_one(here, there)
        if at is not None:
            return name, at
    return None, None


def piece_named(pieces: Sequence[Piece], name: str | None) -> Piece:
    """A piece by its name, case aside; the round where none is named. Raises `UserError` where there is none such."""
    wanted = "round" if name is None else name
    folded = " ".join(wanted.lower().split())
    for piece in pieces:
        if piece.name.lower() == folded:
            return piece
    listed = ", ".join(piece.name for piece in pieces[:5])
    raise UserError(f"this tune has no piece “{wanted}”; name one such as {listed} (`companion pieces` lists them)")


def _passes(round_: OnceThrough) -> list[_PartPass]:
    """The times through each part, with their bars; bars in which no note begins are left out."""
    groups: list[tuple[str, int, list[_Cell]]] = []
    waiting: int | None = None  # first note of a pick-up that has not met its bar yet
    index = 0
    spans = round_.bars
    for number, span in enumerate(spans):
        first = index
        end = span.at + span.length
        while index < len(round_.notes) and round_.notes[index].at < end:
            index += 1
        fresh = not groups or groups[-1][:2] != (span.part, span.turn)
        if fresh:
            groups.append((span.part, span.turn, []))
        if waiting is not None:
            first = waiting
        if index == first:
            continue
        if fresh and waiting is None and _is_pickup(spans, number):
            waiting = first
            continue
        at = round_.notes[first].at if waiting is not None else span.at
        groups[-1][2].append(_Cell(first, index - 1, at))
        waiting = None
    if waiting is not None:  # nothing but a pick-up
        groups[-1][2].append(_Cell(waiting, len(round_.notes) - 1, round_.notes[waiting].at))
    return [_PartPass(part, turn, tuple(cells)) for part, turn, cells in groups if cells]


def _is_pickup(spans: Sequence[BarSpan], number: int) -> bool:
    """Whether the bar that opens a part is shorter than the one after it."""
    if number + 1 >= len(spans):
        return False
    this, after = spans[number], spans[number + 1]
    return (after.part, after.turn) == (this.part, this.turn) and this.length < after.length


def _spans(
    round_: OnceThrough,
    passes: Sequence[_PartPass],
    fingered: Sequence[Fingered],
    rules: LessonRules,
    starts: Mapping[str, Sequence[int]],
) -> Iterator[tuple[str, Kind, int, int]]:
    """Name, kind, first and last note of every piece."""
    firsts: dict[str, _PartPass] = {}
    for one in passes:
        known = firsts.setdefault(one.part, one)
        if known is one:
            yield from _of_part(one, fingered, _phrases(one, rules, starts.get(one.part)))
        else:
            yield from _of_later_time(round_, known, one)
    for before, after in pairwise(passes):
        yield f"{before.part} into {after.part}", Kind.JOIN, before.cells[-1].first, after.cells[0].last
    if passes:
        opening, ending = passes[0].cells[0], passes[-1].cells[-1]
        if opening != ending:
            yield f"{passes[-1].part} back into {passes[0].part}", Kind.JOIN, ending.first, opening.last
        yield "round", Kind.ROUND, opening.first, ending.last


def _phrases(one: _PartPass, rules: LessonRules, starts: Sequence[int] | None) -> list[tuple[_Cell, ...]]:
    """The bars of each phrase of a part: as long as the rules say, or from where the tutor lets them begin."""
    cells = one.cells
    edges = sorted({0, *(start - 1 for start in starts)}) if starts else range(0, len(cells), rules.phrase_bars)
    return [cells[first:last] for first, last in pairwise([*edges, len(cells)]) if first < last]


def _of_part(
    one: _PartPass, fingered: Sequence[Fingered], phrases: Sequence[tuple[_Cell, ...]]
) -> Iterator[tuple[str, Kind, int, int]]:
    cells, part = one.cells, one.part
    bar = 0
    for number, phrase in enumerate(phrases, 1):
        for place, cell in enumerate(phrase):
            bar += 1
            yield f"{part} bar {bar}", Kind.BAR, cell.first, cell.last
            if place and fingered and fingered[cell.first].reach:
                yield f"{part} bar {bar - 1} into {bar}", Kind.JOIN, phrase[place - 1].first, cell.last
        if len(phrase) > 1:
            yield f"{part} phrase {number}", Kind.PHRASE, phrase[0].first, phrase[-1].last
        if number > 1:
            yield f"{part} phrase {number - 1} into {number}", Kind.JOIN, phrases[number - 2][-1].first, phrase[0].last
        half = (len(phrases) + 1) // 2
        if len(phrases) > 2 and number in (half, len(phrases)):
            which, start = (1, 0) if number == half else (2, half)
            yield f"{part} half {which}", Kind.HALF, phrases[start][0].first, phrase[-1].last
    yield f"{part} part", Kind.PART, cells[0].first, cells[-1].last


def _of_later_time(round_: OnceThrough, known: _PartPass, one: _PartPass) -> Iterator[tuple[str, Kind, int, int]]:
    """The bars in which a later time through a part has other notes than the first time."""
    for number, cell in enumerate(one.cells, 1):
        before = known.cells[number - 1] if number <= len(known.cells) else None
        if before is None or shape(round_, before.first, before.last) != shape(round_, cell.first, cell.last):
            yield f"{one.part} bar {number}, time {one.turn}", Kind.BAR, cell.first, cell.last


class _Weigher:
    """Difficulty of a run of notes, from running sums."""

    def __init__(self, round_: OnceThrough, fingered: Sequence[Fingered], rules: LessonRules, whole: float) -> None:
        self.weights = rules.weights
        self.count = len(round_.notes)
        self.moves = [0.0] * self.count
        self.notes = [self.weights.note] * self.count
        for index, (before, now) in enumerate(pairwise(fingered), 1):
            self.moves[index] = (
                self.weights.reach * abs(now.reach)
                + self.weights.turn * (before.press.bellows is not now.press.bellows)
                + self.weights.row * (before.press.row != now.press.row)
            )
        if fingered:
            back, first = fingered[-1], fingered[0]
            self.moves[0] = (
                self.weights.reach * abs(first.place - back.place)
                + self.weights.turn * (back.press.bellows is not first.press.bellows)
                + self.weights.row * (back.press.row != first.press.row)
            )
            self.notes = [self.weights.note + self.weights.little_finger * (one.finger == 4) for one in fingered]
        for index, note in enumerate(round_.notes):
            seconds = float((note.at - round_.notes[index - 1].at) % round_.length or round_.length) * whole
            self.moves[index] += self.weights.speed * max(0.0, 1.0 / seconds - SLOW)

    def points(self, first: int, last: int) -> float:
        run = range(first, last + 1) if first <= last else [*range(first, self.count), *range(last + 1)]
        total = sum(self.notes[i] for i in run) + sum(self.moves[i] for i in list(run)[1:])
        return float(round(total, 3))
