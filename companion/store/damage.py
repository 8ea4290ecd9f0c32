"""What a damaged record looks like: to SQLite, and in what is read out of it."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from companion.lesson.review import Card, from_plain

# Damage without an error code: text that is not text, and a number in the file's header that no SQLite wrote.
_SAID = ("decode to UTF-8", "unsupported file format")


class Unsound(sqlite3.DatabaseError):
    """A file that can be opened, but is not a whole record."""


FAULTS = (sqlite3.Error, UnicodeDecodeError)
"""What reading a record may raise; the second where SQLite's own words on what is damaged hold some of the damage."""


def is_damage(error: Exception) -> bool:
    """Whether an error says that the file itself is damaged (and not, for instance, locked or full)."""
    code = getattr(error, "sqlite_errorcode", None) or 0
    if isinstance(error, Unsound | UnicodeDecodeError) or code & 0xFF in (
        sqlite3.SQLITE_CORRUPT,
        sqlite3.SQLITE_NOTADB,
    ):
        return True
    return any(said in str(error) for said in _SAID)


def plain_of(text: str) -> Any:
    """The JSON that was kept. Raises `Unsound` where it is none any more."""
    try:
        return json.loads(text)
    except (ValueError, TypeError, RecursionError):
        raise Unsound("what was kept as JSON is none any more") from None


def object_of(text: str) -> dict[str, Any]:
    """The JSON object that was kept. Raises `Unsound` where it is none any more."""
    plain = plain_of(text)
    if not isinstance(plain, dict):
        raise Unsound("what was kept as an object is none any more")
    return plain


def card_in(text: str) -> Card:
    """The card that was kept. Raises `Unsound` where it is none any more."""
    plain: Mapping[str, Any] = object_of(text)
    try:
        return from_plain(plain)
    except (KeyError, TypeError, ValueError):
        raise Unsound("what was kept as a card is none any more") from None


def day_of(text: str) -> date:
    """The day that was kept. Raises `Unsound` where it is none any more."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Unsound("what was kept as a day is none any more") from None


def moment_of(text: str) -> datetime:
    """The moment that was kept, with its zone. Raises `Unsound` where it is none any more."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise Unsound("what was kept as a moment is none any more") from None
    if moment.tzinfo is None:
        raise Unsound("a moment that was kept has lost its zone")
    return moment
