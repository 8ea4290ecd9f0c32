"""What a line of an exported record may hold: a table for each kind, and where in the line something is wrong."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any, NoReturn

from companion.marking.mark_values import Verdict

MOST = 2**53  # no whole number of ours comes near it; beyond it JSON's numbers are no longer exact
_VERDICTS = frozenset(verdict.value for verdict in Verdict)

Check = Callable[[Any], bool]


class LineError(Exception):
    """A line that cannot be read: its column, counted from 1, and what is wrong with it."""

    def __init__(self, column: int, message: str) -> None:
        super().__init__(message)
        self.column = column
        self.message = message


def _text(value: Any) -> bool:
    return isinstance(value, str) and not any("\ud800" <= c <= "\udfff" for c in value)


def _whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and abs(value) < MOST


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def _moment(value: Any) -> bool:
    try:
        return isinstance(value, str) and datetime.fromisoformat(value).tzinfo is not None
    except ValueError:
        return False


def _flag(value: Any) -> bool:
    return isinstance(value, bool)


def _object(value: Any) -> bool:
    return isinstance(value, dict)


def _or_none(check: Check) -> Check:
    return lambda value: value is None or check(value)


def _bars(value: Any) -> bool:
    return isinstance(value, list) and all(
        isinstance(bar, list)
        and len(bar) == 4
        and _text(bar[0])
        and all(map(_whole, bar[1:]))
        and 0 <= bar[3] < 100_000
        for bar in value
    )


def _marks(value: Any) -> bool:
    return isinstance(value, list) and all(
        isinstance(mark, list)
        and len(mark) == 6
        and (mark[0] is None or _whole(mark[0]))
        and mark[1] in _VERDICTS
        and (mark[2] is None or _whole(mark[2]))
        and (mark[3] is None or _whole(mark[3]))
        and (mark[4] is None or _number(mark[4]))
        and (mark[5] is None or _text(mark[5]))
        for mark in value
    )


def _card(value: Any) -> bool:
    return (
        isinstance(value, dict)
        and all(_number(value.get(name)) for name in ("stability", "difficulty"))
        and all(_moment(value.get(name)) for name in ("reviewed", "due"))
    )


_TEXT, _MOMENT = ("text", _text), ("a time with its zone, such as 2026-11-25T18:00:00.000+00:00", _moment)
_MAYBE_NUMBER = ("a number, or null", _or_none(_number))

FIELDS: Mapping[str, Mapping[str, tuple[str, Check]]] = {
    "tune": {
        "print": _TEXT,
        "title": _TEXT,
        "rhythm": _TEXT,
        "bars": ("a list of [part, number, time, notes], or null", _or_none(_bars)),
        "target": _MAYBE_NUMBER,
    },
    "sitting": {
        "tune": _TEXT,
        "box": _TEXT,
        "began": _MOMENT,
        "ended": ("a time with its zone, or null", _or_none(_moment)),
    },
    "round": {
        "piece": _TEXT,
        "step": _TEXT,
        "bpm": _MAYBE_NUMBER,
        "clean": ("true or false", _flag),
        "standin": ("true or false", _flag),
        "ended": _MOMENT,
        "marks": ("a list of [note, verdict, pitch, heard pitch, ms late, cause]", _marks),
    },
    "standing": {
        "tune": _TEXT,
        "box": _TEXT,
        "standin": ("true or false", _flag),
        "state": ("an object", _object),
        "put": ('a time with its zone, or ""', lambda value: value == "" or _moment(value)),
    },
    "review": {
        "tune": _TEXT,
        "box": _TEXT,
        "at": _MOMENT,
        "rating": ("1, 2, 3 or 4", lambda value: _whole(value) and 1 <= value <= 4),
    },
    "card": {"tune": _TEXT, "box": _TEXT, "card": ("a card, as it was exported", _card), "due": _MOMENT},
}
"""The fields of each kind of line: what each takes, in words and as a check."""


def parsed(raw: bytes) -> tuple[str, dict[str, Any]]:
    """The text of a line and the object in it. Raises `LineError`."""
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise LineError(error.start + 1, "this is not UTF-8") from None
    try:
        plain = json.loads(text, parse_constant=_no_number)
    except json.JSONDecodeError as error:
        raise LineError(error.colno, f"this is not JSON: {error.msg[:1].lower()}{error.msg[1:]}") from None
    except (ValueError, RecursionError) as error:
        raise LineError(1, f"this JSON cannot be read ({error})") from None
    if not isinstance(plain, dict):
        raise LineError(1, "a line must be one JSON object")
    return text, plain


def checked(text: str, plain: Mapping[str, Any]) -> tuple[str, dict[str, Any]]:
    """The kind of a line and its fields. Raises `LineError`."""
    kind = plain.get("kind")
    if not isinstance(kind, str) or kind not in FIELDS:
        raise LineError(column_of(text, "kind"), f'"kind" must be one of {", ".join(FIELDS)}')
    fields = FIELDS[kind]
    for name in plain:
        if name != "kind" and name not in fields:
            raise LineError(column_of(text, name), f'a {kind} has no "{name[:40]}"')
    for name, (takes, check) in fields.items():
        if name not in plain:
            raise LineError(1, f'this {kind} lacks "{name}"')
        if not check(plain[name]):
            raise LineError(column_of(text, name), f'"{name}" must be {takes}')
    return kind, {name: plain[name] for name in fields}


def column_of(text: str, name: str) -> int:
    """Where a field stands in a line, from 1; the beginning where it cannot be told."""
    return max(text.find(json.dumps(name, ensure_ascii=False)), 0) + 1


def _no_number(word: str) -> NoReturn:
    raise ValueError(f"{word} is no number")
