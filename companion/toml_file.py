"""A TOML file, read once, whose every complaint names the file and the line.

`tomllib` gives places for faults of syntax only. :func:`line_of` finds the line of the rest: of a key, a table or an
array of tables; which value of an array is meant is said in words. A place in a file is named by keys, and by positions
from 0 in arrays: `("rows", 1, "push", 4)` is the fifth value of `push` in the second `[[rows]]`.
"""

from __future__ import annotations

import re
import sys
import tomllib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, fields
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeVar, get_type_hints

from companion.errors import Place, UserError

Key = str | int
_T = TypeVar("_T")

_MOST = sys.float_info.max  # so that `inf`, `nan` and whole numbers too long for a float are refused
_WORD = r"""(?:"(?:[^"\\]|\\.)*"|'[^']*'|[A-Za-z0-9_-]+)"""
_DOTTED = rf"{_WORD}(?:\s*\.\s*{_WORD})*"
_HEADER = re.compile(rf"\s*(\[\[?)\s*({_DOTTED})\s*\]\]?\s*(?:#.*)?$")
_ENTRY = re.compile(rf"(\s*)({_DOTTED})\s*=")


def read_toml(path: Path, remedy: str = "correct it") -> TomlFile:
    """Read a TOML file.

    Parameters
    ----------
    path : the file.
    remedy : what a player does about a wrong value in it.

    Raises
    ------
    UserError
        Where the file cannot be read, is no UTF-8 text, or no TOML.
    """
    try:
        raw = path.read_bytes()
    except OSError as fault:
        why = (fault.strerror or "no reason given").lower()
        raise UserError(f"this file cannot be read ({why}); restore it, or remove it", Place(path)) from None
    try:
        text = raw.decode("utf-8-sig").replace("\r\n", "\n")  # an editor may put a mark before the text
    except UnicodeDecodeError as fault:
        lines = fault.object[: fault.start].decode("utf-8").split("\n")
        message = f"this is not text in UTF-8, as which it has to be saved; {remedy}"
        raise UserError(message, Place(path, len(lines), len(lines[-1]) + 1)) from None
    try:
        return TomlFile(path, text, tomllib.loads(text), remedy)
    except tomllib.TOMLDecodeError as fault:
        raise _syntax(path, text, fault, remedy) from None
    except (RecursionError, ValueError):
        message = f"this cannot be read as TOML: it is nested too deeply, or a number in it is too long; {remedy}"
        raise UserError(message, Place(path)) from None


def _syntax(path: Path, text: str, fault: tomllib.TOMLDecodeError, remedy: str) -> UserError:
    """tomllib says "… (at line 3, column 7)" or "… (at end of document)"; the place is taken out of the words."""
    what, _, where = str(fault).partition(" (at ")
    numbers = [int(number) for number in re.findall(r"\d+", where)]
    line, column = numbers if len(numbers) == 2 else (len(text.splitlines()) or 1, 1)
    return UserError(f"this is not valid TOML: {what[:1].lower()}{what[1:]}; {remedy}", Place(path, line, column))


@dataclass(frozen=True, slots=True)
class TomlFile:
    """A TOML file that has been read: its text, and its values as `data`.

    What reads a value raises `UserError` where it is missing or not as it should be; `remedy` ends the sentence.
    """

    path: Path
    text: str
    data: dict[str, Any]
    remedy: str = "correct it"

    def wrong(self, message: str, *where: Key) -> UserError:
        """A complaint about what stands at a place, or about what is missing there."""
        # A value of an array is named: there may be many on a line. A table of [[tables]] has a line of its own.
        if where and isinstance(where[-1], int) and not isinstance(self.get(*where), dict):
            message = f"value {where[-1] + 1} of `{_dotted(where)}`: {message}"
        return UserError(message, Place(self.path, *line_of(self.text, where)))

    def get(self, *where: Key) -> Any:
        """What stands at a place; None where nothing does."""
        found: Any = self.data
        for depth, key in enumerate(where):
            if isinstance(key, int):
                found = found[key]
            elif isinstance(found, dict):
                found = found.get(key)
            else:
                raise self._unfit("a table", *where[:depth])
            if found is None:
                return None
        return found

    def table(self, *where: Key) -> dict[str, Any]:
        """The table at a place."""
        return self._of(dict, "a table", where)

    def each(self, *where: Key) -> tuple[tuple[Key, ...], ...]:
        """The places of the values of a list, so that each can be read."""
        return tuple((*where, index) for index in range(len(self._of(list, "a list in square brackets", where))))

    def string(self, *where: Key) -> str:
        """The words at a place."""
        return self._of(str, "words in quotation marks", where)

    def _of(self, kind: type[_T], wanted: str, where: Sequence[Key]) -> _T:
        found = self._there(wanted, *where)
        if not isinstance(found, kind):
            raise self._unfit(wanted, *where)
        return found

    def number(self, *where: Key, least: float = -_MOST, most: float = _MOST, above: float | None = None) -> float:
        """The number at a place: from `least` to `most`, and greater than `above`."""
        return float(self._number(int | float, "a number", where, (least, most, above)))

    def count(self, *where: Key, least: float = -_MOST, most: float = _MOST) -> int:
        """The whole number at a place, from `least` to `most`."""
        return int(self._number(int, "a whole number", where, (least, most, None)))

    def _number(self, kind: Any, called: str, where: Sequence[Key], bounds: tuple[float, float, float | None]) -> Any:
        least, most, above = bounds
        found = self._there(wanted := called + _bounds(*bounds), *where)
        fits = isinstance(found, kind) and least <= found <= most and (above is None or found > above)
        if isinstance(found, bool) or not fits:
            raise self._unfit(wanted, *where)
        return found

    def fraction(self, *where: Key, most: int) -> Fraction:
        """The fraction at a place, written as "3/8" or as a whole number: greater than 0, and `most` at the most."""
        found = self._there('a fraction such as "3/8"', *where)
        written = re.fullmatch(r"(\d{1,4})(?:/(\d{1,4}))?", str(found), re.ASCII)
        numbers = (int(written[1]), int(written[2] or 1)) if written is not None else (0, 0)
        if numbers[1] == 0 or not 0 < Fraction(*numbers) <= most:
            raise self._unfit(f'a fraction such as "3/8", {most} at the most', *where)
        return Fraction(*numbers)

    def section(
        self,
        kind: type[_T],
        *where: Key,
        least: float = -_MOST,
        default: _T | None = None,
        besides: Sequence[str] = (),
    ) -> _T:
        """A table as a value of `kind`, a dataclass whose fields are numbers (`least` and more), words, or true or
        false.

        What is left out is as in `default`, and what is not known is then passed over, so that a file of an older or
        newer program can still be read; without a default, neither may be. Keys in `besides` are read elsewhere.
        """
        entries = self.table(*where) if default is None or self.get(*where) is not None else {}
        known = [field.name for field in fields(kind)]  # type: ignore[arg-type]
        for key in entries if default is None else ():
            if key not in (*known, *besides):
                raise self.wrong(f"`{key}` is not known here; use {', '.join((*besides, *known))}", *where, key)
        kinds, values = get_type_hints(kind), {}
        for name in known:
            there = name in entries or default is None
            values[name] = self._value(kinds[name], (*where, name), least) if there else getattr(default, name)
        return kind(**values)

    def _value(self, kind: object, where: Sequence[Key], least: float) -> object:
        """One field of a section."""
        if kind in (float, int):
            return self.number(*where, least=least) if kind is float else self.count(*where, least=least)
        return self.string(*where) if kind is str else self._of(bool, "true or false", where)

    def _there(self, wanted: str, *where: Key) -> Any:
        found = self.get(*where)
        if found is None:
            raise self.wrong(
                f"`{_dotted(where)}` is missing; add it ({wanted}), or remove this file to have ours", *where
            )
        return found

    def _unfit(self, wanted: str, *where: Key) -> UserError:
        named = "it" if isinstance(where[-1], int) else f"`{_dotted(where)}`"
        return self.wrong(f"{named} must be {wanted}; {self.remedy}", *where)


def _dotted(where: Sequence[Key]) -> str:
    return ".".join(key for key in where if isinstance(key, str))


def _bounds(least: float, most: float, above: float | None) -> str:
    """The bounds of a number in words."""
    if above is not None:
        return f" greater than {above:g}" + (f", {most:g} at the most" if most < _MOST else "")
    if most < _MOST:
        return f" from {least:g} to {most:g}" if least > -_MOST else f" of at most {most:g}"
    return f" of at least {least:g}" if least > -_MOST else ""


def line_of(text: str, where: Sequence[Key]) -> tuple[int, int]:
    """The line and column (from 1) of the table or key that `where` names, or of the nearest one around it."""
    nearest, place = 0, (1, 1)
    table: list[Key] = []
    opened: Counter[str] = Counter()  # how many [[tables]] of a name there were
    for number, line in enumerate(text.split("\n"), 1):
        if header := _HEADER.match(line):
            table = []
            for name in (keys := _keys(header[2])):
                table.append(name)
                if name is keys[-1] and header[1] == "[[":
                    opened[str(table)] += 1
                if opened[str(table)]:
                    table.append(opened[str(table)] - 1)
            named, column = table, 1
        elif entry := _ENTRY.match(line):
            named, column = [*table, *_keys(entry[2])], len(entry[1]) + 1
        else:
            continue
        around = next((n for n in range(len(where), nearest, -1) if named[:n] == list(where[:n])), 0)
        if around:
            nearest, place = around, (number, column)
    return place


def _keys(dotted: str) -> list[str]:
    """The keys of `a."b c".d`."""
    return [word.strip("\"'") for word in re.findall(_WORD, dotted)]
