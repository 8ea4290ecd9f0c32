"""How far the bellows are open after every note, where the player runs out, and where the air button helps.

A note moves air for as long as it sounds: the pull opens the bellows, the push shuts them. Openings are parts of the
full opening, 0 (shut) to 1 (full). The air button moves them on faster in the direction in which they already go, while
a long note sounds or at the end of a phrase; in a rest it moves them either way. The round is taken to be played over
and over: the opening at its beginning is the one at which it ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

from companion.box.box_values import Bellows
from companion.errors import UserError
from companion.toml_file import read_toml

_MOST_ROUNDS = 8  # until the opening at the beginning repeats; in practice two or three


@dataclass(frozen=True, slots=True)
class BellowsTable:
    """The values of `config/bellows.toml`, under the same names; what each means is said there."""

    full: float
    button: float
    margin: float
    long: float
    phrase_end: float
    rest: float
    loudness: tuple[tuple[str, float], ...] = (("mf", 1.0),)

    def flow(self, dynamic: str) -> float:
        """How much air a note of that loudness takes, against an ordinary one."""
        for name, flow in self.loudness:
            if name == dynamic:
                return flow
        raise UserError(f"there is no loudness “{dynamic}”; choose one of {', '.join(n for n, _ in self.loudness)}")


@dataclass(frozen=True, slots=True)
class AirUse:
    """A place where the air button is pressed.

    `index` is the note of the round; `amount` the part of the full opening, taken in (positive) or let out (negative);
    `in_rest` whether in the rest after the note, else while it sounds; `reason` a few words.
    """

    index: int
    amount: float
    in_rest: bool
    reason: str


@dataclass(frozen=True, slots=True)
class BellowsPlan:
    """What the bellows do over a round.

    `start` is the opening before the first note, `openings` those after each note (and after the use of the air button
    on it), `air` the uses of the button, `runs_out` the notes on which the bellows come to an end all the same, and
    `drift` the opening that a round gains by its notes alone (negative: loses).
    """

    start: float
    openings: tuple[float, ...]
    air: tuple[AirUse, ...]
    runs_out: tuple[int, ...]
    drift: float


def read_bellows(path: Path) -> BellowsTable:
    """Read the table of the bellows.

    Raises
    ------
    UserError : the file is broken; with its line and what to do.
    """
    file = read_toml(path)
    names = ("full", "button", "margin", "long", "phrase_end", "rest")
    values = {name: file.number(name, "value", above=0) for name in names}
    if values["margin"] >= 0.5:
        raise file.wrong("`margin` must be less than 0.5; correct it", "margin", "value")
    loudness = tuple((name, file.number("loudness", name, above=0)) for name in file.table("loudness"))
    return BellowsTable(**values, loudness=loudness)


class AirNote(NamedTuple):
    """One note for the bellows: its direction, its length and the rest after it (seconds), whether a phrase ends on it,
    and its air against a note of ordinary loudness.
    """

    direction: Bellows
    seconds: float
    rest: float = 0.0
    ends_phrase: bool = False
    flow: float = 1.0


def plan_bellows(notes: Sequence[AirNote], table: BellowsTable) -> BellowsPlan:
    """What the bellows do over a round that is played over and over, with the air button used where it is needed.

    At each place where it can be used, the player looks ahead as far as the next such place: where the notes up to
    there would come too near an end, the bellows are moved so that those notes lie as near the middle as they can.
    Long notes, ends of phrases and rests are tried first, then shorter notes, then any.
    """
    if not notes:
        return BellowsPlan(0.5, (), (), (), 0.0)
    for briefest in (table.long, table.phrase_end, 0.0):
        plan = _plan(notes, table, briefest)
        if not plan.runs_out:
            break
    return plan


class _AirSpan(NamedTuple):
    """The notes after one place of use, up to and with the note of the next.

    `sum`, `low` and `high` are where they lead and how far they go on the way, from 0. What they make of an opening is
    `min(ceiling, max(floor, opening + sum))`: moving between two ends always comes to this.
    """

    sum: float
    low: float
    high: float
    floor: float
    ceiling: float

    def after(self, opening: float) -> float:
        """The opening at the end, from the one at the beginning."""
        opening += self.sum
        return self.floor if opening < self.floor else self.ceiling if opening > self.ceiling else opening


class _Use(NamedTuple):
    """A place of use: its note, how much can be let out and taken in there (0: none), and what kind of place it is."""

    note: int
    out: float
    in_: float
    in_rest: bool
    reason: str


def _plan(notes: Sequence[AirNote], table: BellowsTable, briefest: float) -> BellowsPlan:
    """The plan that uses the button on notes of `briefest` seconds and more, at the ends of phrases, and in rests."""
    full = table.full
    moves = [(n.seconds if n.direction is Bellows.PULL else -n.seconds) * n.flow / full for n in notes]
    uses = [use for index, note in enumerate(notes) if (use := _use(index, note, table, briefest)) is not None]
    edges = [use.note + 1 for use in uses] or [len(moves)]
    wound = moves[edges[-1] :] + moves[: edges[0]]  # over the end of the round
    stretches = [_stretch(wound), *(_stretch(moves[a:b]) for a, b in pairwise(edges))]
    whole = _stretch(moves)
    level = min(1.0, max(0.0, 0.5 - (whole.low + whole.high) / 2))
    if uses:
        amounts, repeats = _amounts(_stretch(moves[: edges[0]]).after(level), uses, stretches, table)
        level = _stretch(moves[edges[-1] :]).after(amounts[-1][1])
        if not repeats:
            level, amounts = _closed(moves, uses, amounts, level)
    elif abs(whole.sum) > 1e-9:
        amounts, level = [], whole.after(whole.after(level) + 2 * whole.sum)  # it comes to an end, round after round
    else:
        amounts = []
    return _play(level, moves, uses, [amount for amount, _ in amounts])


def _use(index: int, note: AirNote, table: BellowsTable, briefest: float) -> _Use | None:
    """The use that can be made of the air button at a note, None where there is none."""
    if note.rest >= table.rest:
        most = min(1.0, note.rest / table.button)
        return _Use(index, most, most, True, "in the rest")
    if note.seconds >= briefest or (note.ends_phrase and note.seconds >= table.phrase_end):
        most = min(1.0, note.seconds / table.button)
        long = note.seconds >= table.phrase_end
        reason = "at the end of the phrase" if note.ends_phrase else "on the long note" if long else "in passing"
        pulled = note.direction is Bellows.PULL
        return _Use(index, 0.0 if pulled else most, most if pulled else 0.0, False, reason)
    return None


def _stretch(moves: Sequence[float]) -> _AirSpan:
    """Where a run of moves leads."""
    level = low = high = floor = 0.0
    ceiling = 1.0
    for move in moves:
        level += move
        if move < 0:
            low = level if level < low else low
            floor = floor + move if floor + move > 0 else 0.0
            ceiling = ceiling + move if ceiling + move > 0 else 0.0
        else:
            high = level if level > high else high
            floor = floor + move if floor + move < 1 else 1.0
            ceiling = ceiling + move if ceiling + move < 1 else 1.0
    return _AirSpan(level, low, high, floor, ceiling)


def _ahead(uses: Sequence[_Use], stretches: Sequence[_AirSpan], out: bool) -> list[tuple[float, float]]:
    """For each place, how low and high the notes after it go, up to the next place where air can go `out` (or in)."""
    count = len(uses)
    spans = [(0.0, 0.0)] * count
    low = high = 0.0
    for index in range(2 * count - 1, -1, -1):  # twice, so that the end of the round knows the beginning
        following, stretch = uses[(index + 1) % count], stretches[(index + 1) % count]
        if following.out if out else following.in_:
            low = high = 0.0
        low, high = stretch.sum + low, stretch.sum + high
        low, high = stretch.low if stretch.low < low else low, stretch.high if stretch.high > high else high
        spans[index % count] = (low, high)
    return spans


def _amounts(
    level: float, uses: Sequence[_Use], stretches: Sequence[_AirSpan], table: BellowsTable
) -> tuple[list[tuple[float, float]], bool]:
    """What is taken in (let out: negative) at each place and the opening after it; whether every round is the same.

    Rounds are played until they repeat; where they do not (air is needed in every second one, say), the last round
    that uses the button is given. `level` is the opening at the end of the first place's note in the first round.
    """
    outward, inward = _ahead(uses, stretches, True), _ahead(uses, stretches, False)
    bottom, top = table.margin, 1 - table.margin
    found: list[tuple[float, float]] = []
    busy: list[tuple[float, float]] = []
    for round_ in range(_MOST_ROUNDS):
        last = found[-1][1] if found else None
        found = []
        for index, use in enumerate(uses):
            if index or round_:
                level = stretches[index].after(level)
            amount = 0.0
            if use.out and level + outward[index][1] > top:
                amount = -min(use.out, level, max(0.0, level - _middle(*outward[index])))
            elif use.in_ and level + inward[index][0] < bottom:
                amount = min(use.in_, 1 - level, max(0.0, _middle(*inward[index]) - level))
            level += amount
            found.append((amount, level))
        if last is not None and abs(last - level) < 1e-9:
            return found, True
        if any(amount for amount, _ in found):
            busy = found
    return busy or found, False


def _closed(
    moves: Sequence[float], uses: Sequence[_Use], amounts: list[tuple[float, float]], level: float
) -> tuple[float, list[tuple[float, float]]]:
    """The amounts scaled so that the round ends where it began, and where it then best begins, if it fits so at all."""
    total, needed = sum(amount for amount, _ in amounts), -sum(moves)
    if not total or needed / total < 0:
        return level, amounts
    scaled = [amount * needed / total for amount, _ in amounts]
    taken = {use.note: amount for use, amount in zip(uses, scaled, strict=True)}
    path = _stretch([part for index, move in enumerate(moves) for part in (move, taken.get(index, 0.0))])
    small = all(-use.out <= amount <= use.in_ for use, amount in zip(uses, scaled, strict=True))
    if path.high - path.low > 1 or not small:
        return level, amounts
    return 0.5 - (path.low + path.high) / 2, [(amount, 0.0) for amount in scaled]


def _middle(low: float, high: float) -> float:
    """The opening from which notes that go from `low` to `high` lie round the middle, if they fit at all."""
    return min(1.0, max(0.0, 0.5 - (low + high) / 2))


def _play(start: float, moves: Sequence[float], uses: Sequence[_Use], amounts: Sequence[float]) -> BellowsPlan:
    """Once round from an opening, note by note."""
    used = {use.note: (use, amount) for use, amount in zip(uses, amounts, strict=False) if amount}
    level, openings, air, ends, stuck = start, [], [], [], False
    for index, move in enumerate(moves):
        level += move
        beyond = level < -1e-9 or level > 1 + 1e-9
        if beyond and not stuck:
            ends.append(index)
        stuck = beyond
        level = 0.0 if level < 0 else 1.0 if level > 1 else level
        if index in used:
            use, amount = used[index]
            amount = min(1 - level, max(-level, amount))
            air.append(AirUse(index, amount, use.in_rest, use.reason))
            level += amount
        openings.append(level)
    return BellowsPlan(start, tuple(openings), tuple(air), tuple(ends), sum(moves))
