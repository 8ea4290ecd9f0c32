"""What takes long to work out and can be worked out again: kept in one SQLite file under `places.own_cache()`.

A value is plain (what JSON has), and stands under a key and a name. The key says all that it holds for: the bytes of a
book, the tables, the code (:func:`code_of`), so that a change of any makes it another. What is kept is never believed:
each row has a seal, and what is damaged or missing counts as not there. A cache that cannot be written is done without.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Mapping
from contextlib import closing, suppress
from functools import cache
from pathlib import Path
from typing import Any

from companion import places

FILE = "kept.sqlite"
_BEFORE = ("library.sqlite", "weights.sqlite")  # what earlier versions kept
_WAIT = 2.0  # seconds for another process to let go


@cache
def code_of(*rooms: str) -> str:
    """A digest of the code of some rooms: what other code has worked out is not believed."""
    digest = hashlib.sha256()
    for room in rooms:
        for path in sorted((Path(__file__).parent / room).glob("*.py")):
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def kept(key: str) -> dict[str, Any]:
    """The values under a key, by their names."""
    try:
        with closing(_connect()) as db:
            rows = db.execute("SELECT name, text, seal FROM kept WHERE key = ?", (key,)).fetchall()
    except (sqlite3.Error, OSError):
        return {}
    found = {}
    for name, text, seal in rows:
        if seal == _seal(key, name, text):
            with suppress(ValueError):
                found[name] = json.loads(text)
    return found


def keep(key: str, values: Mapping[str, Any]) -> None:
    """Keep plain values under a key, each by its name."""
    texts = {name: json.dumps(value, ensure_ascii=False) for name, value in values.items()}
    rows = [(key, name, text, _seal(key, name, text)) for name, text in texts.items()]
    for _ in range(2):
        try:
            with closing(_connect()) as db, db:
                db.executemany("INSERT OR REPLACE INTO kept VALUES (?, ?, ?, ?)", rows)
            return
        except (sqlite3.OperationalError, OSError):
            return  # in use, or no room
        except sqlite3.DatabaseError:
            with suppress(OSError):
                _path().unlink(missing_ok=True)  # damaged: begun anew


def _seal(key: str, name: str, text: str) -> str:
    return hashlib.sha256(f"{key}\n{name}\n{text}".encode()).hexdigest()


def _path() -> Path:
    return places.own_cache() / FILE


def _connect() -> sqlite3.Connection:
    path = _path()
    path.parent.mkdir(parents=True, exist_ok=True)
    if not path.exists():
        for name in _BEFORE:
            path.with_name(name).unlink(missing_ok=True)
    db = sqlite3.connect(path, timeout=_WAIT)
    db.execute("CREATE TABLE IF NOT EXISTS kept (key TEXT, name TEXT, text TEXT, seal TEXT, PRIMARY KEY (key, name))")
    return db
