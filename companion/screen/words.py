"""The words of the window, read from one table (`config/words.toml`) so that they can be translated."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from companion.errors import Place, UserError
from companion.places import shipped, table

FALLBACK = "en"


@dataclass(frozen=True)
class Words:
    """The words of one language, called by key: ``words("finger", finger=2)``."""

    language: str
    entries: dict[str, str]

    def __call__(self, key: str, /, **values: object) -> str:
        """The words under `key`, with `values` filled in; `n` picks between ``key.one`` and ``key.other``."""
        if key not in self.entries:
            key = f"{key}.{'one' if abs(_number(values.get('n', 0))) == 1 else 'other'}"
        return self.entries[key].format(**values)


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) else 0.0


def _flat(entries: dict[str, Any], path: Path, prefix: str = "") -> dict[str, str]:
    flat: dict[str, str] = {}
    for key, value in entries.items():
        if isinstance(value, dict):
            flat |= _flat(value, path, f"{prefix}{key}.")
        elif isinstance(value, str):
            flat[prefix + key] = value
        else:
            raise UserError(f"The words under '{prefix}{key}' must be text in quotes.", Place(path))
    return flat


@lru_cache(maxsize=8)
def load_words(language: str = FALLBACK) -> Words:
    """Read the words of `language`; what it lacks is English.

    Raises
    ------
    UserError
        Where the table cannot be read or has no such language.
    """
    own = _read(table("words.toml"))
    english = _flat(_read(shipped("config", "words.toml")).get(FALLBACK, {}), shipped("config", "words.toml"))
    if language not in own and language != FALLBACK:
        names = ", ".join(sorted(own)) or FALLBACK
        raise UserError(f"There are no words in '{language}': choose one of {names}.", Place(table("words.toml")))
    return Words(language, english | _flat(own.get(language, {}), table("words.toml")))


def _read(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as why:
        raise UserError(f"The table of words cannot be read: {why}.", Place(path)) from why
