"""The words of the window, from one table (`config/words.toml`), so that they can be translated."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from string import Formatter

from companion.places import shipped, table
from companion.toml_file import TomlFile, read_toml

FALLBACK = "en"
Say = Callable[..., str]  # gives a sentence by its key: a `Words`, or a test's own
_PIECES = ("piece", "like", "names", "what")  # values that name pieces


def spoken_piece(name: str) -> str:
    """A piece's stored name as people read it: "round" is the whole tune, "A phrase 1 into 2" names both phrases."""
    name = re.sub(r"\bround\b", "whole tune", name)
    return re.sub(r"\b(bar|phrase) (\d+) into (?=\d)", r"\1 \2 into \1 ", name)


def piece_name(name: str) -> str:
    """A piece's stored name as it stands by itself: with a capital."""
    said = spoken_piece(name)
    return said[:1].upper() + said[1:]


def stored_piece(name: str) -> str:
    """The stored name of a piece that somebody has typed as they read it."""
    name = re.sub(r"\bwhole tune\b", "round", name, flags=re.IGNORECASE)
    return re.sub(r"\b(bar|phrase) (\d+) into \1 (?=\d)", r"\1 \2 into ", name, flags=re.IGNORECASE)


@dataclass(frozen=True)
class Words:
    """The words of one language, called by key: ``words("finger", finger=2)``."""

    language: str
    entries: dict[str, str]

    def __call__(self, key: str, /, **values: object) -> str:
        """The words under `key`, with `values` filled in; `n` picks between ``key.one`` and ``key.other``.

        A sentence begins with a capital, also where a value comes first.
        """
        if key not in self.entries:
            key = f"{key}.{'one' if abs(_number(values.get('n', 0))) == 1 else 'other'}"
        words = self.entries[key]
        spoken = {name: spoken_piece(str(value)) for name, value in values.items() if name in _PIECES}
        said = words.format(**values | spoken)
        return said[:1].upper() + said[1:] if words.startswith("{") and words.endswith(".") else said


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) else 0.0


def _flat(file: TomlFile, *where: str) -> dict[str, str]:
    """The words of a language (the first of `where`) by key; parts of a key are parted by dots."""
    flat: dict[str, str] = {}
    for key, value in file.table(*where).items():
        if isinstance(value, dict):
            flat |= _flat(file, *where, key)
        else:
            flat[".".join((*where[1:], key))] = file.string(*where, key)
    return flat


@lru_cache(maxsize=8)
def load_words(language: str = FALLBACK) -> Words:
    """Read the words of `language`; what it lacks is English.

    Raises
    ------
    UserError
        Where the table cannot be read, has no such language, or words of it ask for a value that there is not.
    """
    ours, own = read_toml(shipped("config", "words.toml")), read_toml(table("words.toml"))
    if language not in own.data and language != FALLBACK:
        names = ", ".join(sorted(own.data)) or FALLBACK
        raise own.wrong(f"There are no words in '{language}': choose one of {names}.")
    english = _flat(ours, FALLBACK)
    entries = _flat(own, language) if language in own.data else {}
    for key, words in entries.items():
        allowed = _allowed(key, english) if key in english else _values(words)
        if not _values(words) <= allowed:
            known = " ".join(sorted(f"{{{name}}}" for name in allowed)) or "none"
            where = (language, *key.split("."))
            raise own.wrong(f"`{key}` has a value in braces that does not exist; it can have: {known}", *where)
    return Words(language, english | entries)


def _allowed(key: str, english: dict[str, str]) -> set[str]:
    """The values that the words under `key` can have: for a plural, those of either form."""
    stem = re.sub(r"\.(one|other)$", "", key)
    return set().union(*(_values(english[one]) for one in (key, f"{stem}.one", f"{stem}.other") if one in english))


def _values(words: str) -> set[str]:
    """The names of the values that words are filled in with; what is no name where a brace is left open."""
    try:
        return {name for _, name, _, _ in Formatter().parse(words) if name is not None}
    except ValueError:
        return {"{"}
