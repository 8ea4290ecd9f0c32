"""How hard a tune is on a box, and why; which tune to take up; which key a tune lies well in.

A tune's difficulty is a sum of points, one part for each line of `config/choose.toml`: 0 is nothing at all, and a
higher number is harder. What is counted comes from the tune's fingering.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

from companion.box.box_tables import BoxTables
from companion.box.box_values import Box, Fingering
from companion.box.choose_table import ChooseTable
from companion.box.costs import states_of
from companion.box.fingering import finger_round
from companion.box.hand_costs import Hand
from companion.box.pitch_names import name_of
from companion.errors import UserError
from companion.tune.tune_values import OnceThrough

_FURTHEST = 12  # semitones that a transposition is tried up and down
_WORDS = {
    "buttons": "{buttons} different buttons",
    "reaches": "{reaches:.1f} moves of the hand a bar",
    "little": "the little finger on {little:.0%} of the notes",
    "turns": "{turns:.1f} turns of the bellows a bar",
    "rows": "{rows:.1f} changes of row a bar",
    "away": "{away:.0%} of the notes off the home row",
    "awkward": "{awkward} awkward places",
    "speed": "{speed:.1f} notes a second",
    "length": "{length} different bars",
}


@dataclass(frozen=True, slots=True)
class Difficulty:
    """How hard a tune is on a box.

    `points` is the sum of `parts` (each with its name), `level` the name of its level, `reason` a line on the three
    greatest parts, the greatest first.
    """

    points: float
    level: str
    parts: tuple[tuple[str, float], ...]
    reason: str


Key = tuple[int, int]
"""A tune's number in its book, and which of several with that number it is (0: the only one)."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A tune of a book as a choice: its key, its title, its difficulty (None where it does not fit), a line on it."""

    key: Key
    title: str
    difficulty: Difficulty | None
    reason: str


@dataclass(frozen=True, slots=True)
class Transposed:
    """A tune in another key: the semitones up (negative: down), its fingering and its difficulty."""

    semitones: int
    fingering: Fingering
    difficulty: Difficulty


def difficulty_of(
    round_: OnceThrough, fingering: Fingering, tables: BoxTables, whole_note: float | None = None
) -> Difficulty:
    """How hard a fingered round is.

    Parameters
    ----------
    round_, fingering : a round and its fingering, which must have notes.
    tables : the points, and the hand.
    whole_note : seconds that a whole note lasts at the speed of the dance; the table's where None.
    """
    table = tables.choose
    counts = _counts(round_, fingering, tables.hand, whole_note if whole_note is not None else table.whole_note)
    bars = max(1, len(round_.bars))
    per_bar = {"reaches", "turns", "rows", "awkward"}
    parts = {name: points * counts[name] / (bars if name in per_bar else 1) for name, points in table.points}
    shown = {name: count / bars if name in ("reaches", "turns", "rows") else count for name, count in counts.items()}
    shown |= {name: int(counts[name]) for name in ("buttons", "awkward", "length")}
    total = sum(parts.values())
    level = next((name for name, most in table.levels if total <= most), table.levels[-1][0])
    main = sorted((name for name in parts if parts[name] > 0), key=lambda name: -parts[name])[:3]
    reason = ", ".join(_WORDS[name].format(**shown) for name in main)
    return Difficulty(total, level, tuple(parts.items()), reason)


def _counts(round_: OnceThrough, fingering: Fingering, hand: Hand, whole_note: float) -> dict[str, float]:
    """What is counted in a round, under the names of the table."""
    notes = fingering.notes
    steps = list(pairwise(notes))
    x = [note.press.button + _offset(fingering.box, note.press.row) for note in notes]
    far = hops = 0
    for index, (a, b) in enumerate(steps):
        same_button = (a.press.row, a.press.button) == (b.press.row, b.press.button)
        along, spread = x[index + 1] - x[index], b.finger - a.finger
        quick = float(b.note.at - a.note.at) * hand.whole_note < hand.slow
        far += not same_button and quick and abs(along - spread) >= 1
        hops += not same_button and quick and along * spread <= 0
    sounding = float(sum(note.length for note in round_.notes)) * whole_note
    return {
        "buttons": len({note.press for note in notes}),
        "reaches": far,
        "little": sum(note.finger == 4 for note in notes) / len(notes),
        "turns": fingering.reversals,
        "rows": sum(a.press.row != b.press.row for a, b in steps),
        "away": sum(fingering.box.home not in ("", note.press.row) for note in notes) / len(notes),
        "awkward": hops,
        "speed": len(notes) / sounding if sounding else 0.0,
        "length": len(_different_bars(round_)),
    }


def _offset(box: Box, name: str) -> float:
    return next(row.offset for row in box.rows if row.name == name)


def _different_bars(round_: OnceThrough) -> set[tuple[object, ...]]:
    """The bars of a round by what is in them."""
    bars: dict[tuple[object, ...], list[object]] = {}
    for note in round_.notes:
        bars.setdefault((note.part, note.turn, note.bar), []).append((note.pitch, note.length))
    return {tuple(bar) for bar in bars.values()}


def check_level(level: str | None, table: ChooseTable) -> None:
    """Raises `UserError` where there is no such level; with those there are. None stands for all."""
    known = [name for name, _ in table.levels]
    if level is not None and level not in known:
        raise UserError(f"there is no level “{level}”; choose one of {', '.join(known)}")


def rank(choices: Iterable[Choice], table: ChooseTable, level: str | None = None) -> tuple[Choice, ...]:
    """Tunes of a book, easiest first; those that do not fit the box last.

    `level` leaves only the tunes of that level ("first"), without those that do not fit; raises as `check_level`.
    """
    check_level(level, table)
    kept = [c for c in choices if level is None or (c.difficulty is not None and c.difficulty.level == level)]
    return tuple(sorted(kept, key=lambda c: (c.difficulty is None, c.difficulty.points if c.difficulty else 0, c.key)))


def transposed(round_: OnceThrough, semitones: int) -> OnceThrough:
    """The round so many semitones higher (negative: lower)."""
    notes = tuple(
        replace(
            note, pitch=note.pitch + semitones, grace=tuple(p + semitones for p in note.grace), chord=None, finger=None
        )
        for note in round_.notes
    )
    return replace(round_, notes=notes)


def fitting(round_: OnceThrough, box: Box) -> tuple[int, ...]:
    """The transpositions (semitones) that the box has every note for, the nearest first."""
    pitches, have = {note.pitch for note in round_.notes}, set(states_of(box))
    moves = sorted(range(-_FURTHEST, _FURTHEST + 1), key=lambda by: (abs(by), by))
    return tuple(by for by in moves if {pitch + by for pitch in pitches} <= have)


def keys_by_ease(
    round_: OnceThrough, box: Box, tables: BoxTables, whole_note: float | None = None
) -> tuple[Transposed, ...]:
    """Every key that the box has the tune's notes for, the one it lies best in first (equals: the nearest first)."""
    found = []
    for by in fitting(round_, box):
        moved = transposed(round_, by) if by else round_
        fingering = finger_round(moved, box, tables)
        found.append(Transposed(by, fingering, difficulty_of(moved, fingering, tables, whole_note)))
    return tuple(sorted(found, key=lambda t: (round(t.difficulty.points, 6), abs(t.semitones), t.semitones)))


def what_would_fit(round_: OnceThrough, box: Box) -> str:
    """What is missing for a tune on a box, and which octave or key would fit, in a sentence; "" where it fits."""
    have = set(states_of(box))
    missing = sorted({note.pitch for note in round_.notes} - have)
    if not missing:
        return ""
    words = f"does not fit: no {', '.join(name_of(pitch, signature=round_.signature) for pitch in missing)} on this box"
    moves = fitting(round_, box)
    if not moves:
        return f"{words}, and no key within an octave would fit"
    octave = next((by for by in moves if by % 12 == 0), None)
    parts = [f"an octave {'up' if octave > 0 else 'down'}"] if octave else []
    nearest = moves[0]
    if nearest != octave:
        parts.append(f"{abs(nearest)} semitone{'s' if abs(nearest) > 1 else ''} {'up' if nearest > 0 else 'down'}")
    return f"{words}; it would fit {' or '.join(parts)}"
