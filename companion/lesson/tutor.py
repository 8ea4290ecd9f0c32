"""The tutor's hand in a lesson: a small file beside the book, which overrides what the program works out.

`reels.abc` has it in `reels.lesson.toml`. It holds a `[[lesson]]` table for each tune that it says something of; each
entry may be left out:

    [[lesson]]
    tune = 3                          # its number ("3.2": the second of several tunes 3); without it: every tune
    target = 108                      # the tempo to reach, in beats a minute
    phrases = { A = [1, 3, 5, 7] }    # the bars at which phrases begin, part by part
    order = ["A bar 1", "A bars 2 to 3", "A part", "round"]    # what is learnt, in this order, and nothing else
    [lesson.say]
    "A bar 3" = "change finger while the bellows turn"         # shown when this piece comes

A piece is named as `companion pieces` names it, or by bars of a part that stand side by side. Pins of single notes may
stand in the same file, as `[[pins]]` tables (`companion.box.pins`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from companion.errors import Place, UserError
from companion.lesson.lesson_values import Kind, Piece
from companion.toml_file import Key, TomlFile, line_of, read_toml
from companion.tune.names import Asked, is_meant
from companion.tune.tune_values import OnceThrough

_KEYS = {"tune", "target", "hand", "phrases", "order", "say"}
_BARS = re.compile(r"(.+) bars (\d+) to (\d+)", re.IGNORECASE)
SLOWEST, FASTEST = 20.0, 400.0  # beats a minute


@dataclass(frozen=True, slots=True)
class Tutor:
    """What the tutor wants of one tune; what is left open is None or empty.

    `hand` is the name of the hand that fingers it; `phrases` has the bars at which phrases begin, by part; `order` the
    names of pieces; `say` sentences by such names; `places` where each of these names, and `hand`, stands in the file.
    """

    target: float | None = None
    hand: str | None = None
    phrases: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    order: tuple[str, ...] = ()
    say: Mapping[str, str] = field(default_factory=dict)
    places: Mapping[str, Place] = field(default_factory=dict)


def lesson_beside(book: Path) -> Path:
    """Where the lesson file of a book lies."""
    return book.with_suffix(".lesson.toml")


def read_lessons(path: Path) -> TomlFile:
    """A lesson file, its lessons not yet looked into. Raises `UserError` where it is no such file."""
    file = read_toml(path)
    for key in file.data:
        if key not in ("lesson", "pins"):
            raise file.wrong(f"`{key}` is not known here; a lesson file holds [[lesson]] and [[pins]] tables", key)
    lessons = file.data.get("lesson", [])
    if not isinstance(lessons, list) or not all(isinstance(one, dict) for one in lessons):
        raise file.wrong("write [[lesson]], with two brackets: there may be one for each tune", "lesson")
    return file


def load_tutor(path: Path, name: Asked, round_: OnceThrough) -> Tutor:
    """What a lesson file says of one tune.

    Parameters
    ----------
    name : the tune's name in its book (`companion.tune.names`). What is said of it goes before what is said of every
        tune.
    round_ : the tune's round: phrases can only begin at bars that it has.

    Raises
    ------
    UserError : the file is broken, or says something that cannot be; with its line and what to do.
    """
    file = read_lessons(path)
    found = Tutor()
    for own in (False, True):
        for index, table in enumerate(file.data.get("lesson", [])):
            if ("tune" in table) is own and says(file, index, name):
                found = _overridden(found, _LessonReader(file, index, table, round_).tutor())
    return found


def says(file: TomlFile, index: int, name: Asked) -> bool:
    """Whether a `[[lesson]]` of a lesson file is about the tune of that name. Raises `UserError` as `load_tutor`."""
    asked = file.data["lesson"][index].get("tune")
    try:
        return asked is None or is_meant(asked, name, least=1)
    except ValueError as why:
        raise UserError(str(why), Place(file.path, *line_of(file.text, ("lesson", index, "tune")))) from None


def _overridden(general: Tutor, own: Tutor) -> Tutor:
    return Tutor(
        own.target if own.target is not None else general.target,
        own.hand if own.hand is not None else general.hand,
        {**general.phrases, **own.phrases},
        own.order or general.order,
        {**general.say, **own.say},
        {**general.places, **own.places},
    )


class _LessonReader:
    """Reads one `[[lesson]]`."""

    def __init__(self, file: TomlFile, index: int, table: dict[str, Any], round_: OnceThrough) -> None:
        self.file, self.index, self.table, self.round = file, index, table, round_

    def place(self, *keys: Key) -> Place:
        return Place(self.file.path, *line_of(self.file.text, ("lesson", self.index, *keys)))

    def tutor(self) -> Tutor:
        for key in self.table:
            if key not in _KEYS:
                raise UserError(f"`{key}` is not known here; use {', '.join(sorted(_KEYS))}", self.place(key))
        order, say = self._order(), self._say()
        places = {name: self.place("order", at) for at, name in enumerate(order)}
        places |= {name: self.place("say", name) for name in say if name not in places}
        if "hand" in self.table:
            places["hand"] = self.place("hand")
        return Tutor(self._target(), self._hand(), self._phrases(), order, say, places)

    def _target(self) -> float | None:
        target = self.table.get("target")
        if target is None:
            return None
        if isinstance(target, bool) or not isinstance(target, int | float) or not SLOWEST <= target <= FASTEST:
            message = f"`target` must be a number of beats a minute, {SLOWEST:g} to {FASTEST:g}"
            raise UserError(message, self.place("target"))
        return float(target)

    def _hand(self) -> str | None:
        hand = self.table.get("hand")
        if hand is not None and not isinstance(hand, str):
            raise UserError('`hand` must be the name of a hand, such as "flowing"', self.place("hand"))
        return hand

    def _phrases(self) -> dict[str, tuple[int, ...]]:
        phrases = self.table.get("phrases", {})
        if not isinstance(phrases, dict):
            raise UserError("`phrases` must name parts, as in { A = [1, 3, 5, 7] }", self.place("phrases"))
        bars: dict[str, list[int]] = {}
        for span in self.round.bars:
            bars.setdefault(span.part, []).append(span.bar)
        found = {}
        for part, starts in phrases.items():
            if part not in bars:
                has = ", ".join(bars)
                raise UserError(f"this tune has no part {part}; it has {has}", self.place("phrases"))
            most = len({bar for bar in bars[part] if bar})
            numbers = isinstance(starts, list) and all(type(start) is int for start in starts)
            if not numbers or not starts or starts != sorted(set(starts)) or not 1 <= starts[0] <= starts[-1] <= most:
                message = f"the phrases of part {part} must begin at bars that rise, from 1 to {most}"
                raise UserError(message, self.place("phrases"))
            found[part] = tuple(starts)
        return found

    def _order(self) -> tuple[str, ...]:
        order = self.table.get("order", [])
        if not isinstance(order, list) or not all(isinstance(name, str) for name in order):
            raise UserError("`order` must be a list of pieces, by their names", self.place("order"))
        return tuple(order)

    def _say(self) -> dict[str, str]:
        say = self.table.get("say", {})
        if not isinstance(say, dict) or not all(isinstance(one, str) for one in say.values()):
            raise UserError('`say` must have sentences by pieces, as in "A bar 3" = "…"', self.place("say"))
        return {str(name): sentence for name, sentence in say.items()}


def check_names(tutor: Tutor, pieces: Sequence[Piece]) -> None:
    """See that every piece that the tutor names is there. Raises `UserError` where one is not."""
    in_order(tutor, pieces)
    sentences(tutor, pieces)


def in_order(tutor: Tutor, pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """The pieces that the tutor wants learnt, in that order. Raises `UserError` where one is not there."""
    return tuple(_named(name, tutor, pieces) for name in tutor.order)


def sentences(tutor: Tutor, pieces: Sequence[Piece]) -> dict[str, str]:
    """The tutor's sentences by the pieces' own names. Raises `UserError` where a piece is not there."""
    return {_named(name, tutor, pieces).name: sentence for name, sentence in tutor.say.items()}


def piece_or_bars(name: str, pieces: Sequence[Piece]) -> Piece | None:
    """A piece by its name, case aside, or bars that stand side by side, “A bars 2 to 3”; None where there is none."""
    by_name = {piece.name.casefold(): piece for piece in pieces}
    folded = " ".join(name.split()).casefold()
    if folded in by_name:
        return by_name[folded]
    match = _BARS.fullmatch(folded)
    if match is not None:
        part, first, last = match[1], int(match[2]), int(match[3])
        bars = [by_name.get(f"{part} bar {bar}") for bar in (first, last)]
        if bars[0] is not None and bars[1] is not None and first < last:
            inside = [by_name[f"{part} bar {bar}"].difficulty for bar in range(first, last + 1)]
            own = f"{bars[0].name.split(' bar ')[0]} bars {first} to {last}"
            return Piece(own, Kind.PHRASE, bars[0].first, bars[1].last, None, round(sum(inside), 3))
    return None


def _named(name: str, tutor: Tutor, pieces: Sequence[Piece]) -> Piece:
    found = piece_or_bars(name, pieces)
    if found is not None:
        return found
    message = f"this tune has no piece “{name}”; `companion pieces` lists them (or write “A bars 2 to 3”)"
    raise UserError(message, tutor.places.get(name))
