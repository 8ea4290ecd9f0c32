"""How hard the tunes of a book are on a box, kept on disk: fingering some two thousand takes half a minute.

SQLite under `places.own_cache()`, one row a tune and box. What a row says holds for the book's bytes, the box, the
tables, and the code that weighed it: all of it goes into the row's key, so that a change of any makes it another row.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterable
from contextlib import closing, suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from companion import places
from companion.box.box_values import Box
from companion.box.choose import Difficulty, difficulty_of, what_would_fit
from companion.box.fingering import finger_round
from companion.sound.tempi import target_of
from companion.store.record import fingerprint
from companion.tables import read_tables
from companion.timeline import Timeline
from companion.tune.tune import Tune
from companion.tune.tune_values import OnceThrough

FILE = "weights.sqlite"


@dataclass(frozen=True, slots=True)
class TuneDifficulty:
    """What is known of a tune on a box.

    `tune` is its name in the book; `print` the fingerprint under which the record knows it; `difficulty` how hard it is
    (None: it does not fit); `lacks` says what does not fit, "" where all does.
    """

    tune: str
    print: str
    difficulty: Difficulty | None
    lacks: str = ""

    @property
    def points(self) -> float | None:
        """How hard it is; None where it does not fit."""
        return None if self.difficulty is None else self.difficulty.points


def weigh(tune: Tune, round_: OnceThrough, box: Box) -> TuneDifficulty:
    """How hard a tune is on a box, as it is written: what a tutor has pinned beside its book does not count."""
    tables = read_tables()
    fingering = finger_round(round_, box, tables)
    print_ = fingerprint(round_)
    if fingering.missing:
        return TuneDifficulty(tune.name, print_, None, what_would_fit(round_, box))
    seconds = Timeline(*target_of(tune.rhythm, tune.meter, tables.dances, tune.tempo)).whole
    return TuneDifficulty(tune.name, print_, difficulty_of(round_, fingering, tables, seconds))


def share_of(points: float) -> float:
    """Points as a share, 0 (anyone) to 1 (hardest): one level of `config/choose.toml` is one dot of the window's."""
    bounds = [0.0, *(most for _, most in read_tables().choose.levels)]
    count = len(bounds) - 1
    if count < 2:
        return 0.0
    level = next((n for n in range(count) if points <= bounds[n + 1]), count - 1)
    width = bounds[level + 1] - bounds[level]
    if level == count - 1:
        width = bounds[level] - bounds[level - 1] if level else width  # the last level has no end of its own
    within = min(1.0, max(0.0, (points - bounds[level]) / width)) if width > 0 else 0.5
    return min(1.0, max(0.0, (level - 0.49 + 0.98 * within) / (count - 1)))


def key_of(book: bytes, box: Box, voice: str | None = None) -> str:
    """What a row holds for: the book, the voice that is its melody, the box, the tables, the code."""
    digest = hashlib.sha256(f"{_version()}\n{box!r}\n{voice!r}\n".encode())
    for name in ("hand.toml", "bellows.toml", "choose.toml", "tempi.toml"):
        with suppress(OSError):
            digest.update(places.table(name).read_bytes())
    digest.update(book)
    return digest.hexdigest()


def known(key: str) -> dict[str, TuneDifficulty]:
    """What is known so far, by the tunes' names."""
    try:
        with closing(_connect()) as db:
            rows = db.execute("SELECT tune, print, difficulty, lacks FROM weighed WHERE key = ?", (key,)).fetchall()
    except (sqlite3.Error, OSError):
        return {}
    found = {}
    for tune, print_, difficulty, lacks in rows:
        with suppress(ValueError, TypeError):  # a row that is not what was kept is weighed again
            found[str(tune)] = TuneDifficulty(str(tune), str(print_), _difficulty(difficulty), str(lacks))
    return found


def keep(key: str, weights: Iterable[TuneDifficulty]) -> None:
    """Keep what has become known; a cache that cannot be written is done without."""
    rows = [(key, one.tune, one.print, _plain(one.difficulty), one.lacks) for one in weights]
    for _ in range(2):
        try:
            with closing(_connect()) as db, db:
                db.executemany("INSERT OR REPLACE INTO weighed VALUES (?, ?, ?, ?, ?)", rows)
            return
        except (sqlite3.OperationalError, OSError):
            return  # in use, or no room
        except sqlite3.DatabaseError:
            with suppress(OSError):
                _path().unlink(missing_ok=True)  # damaged: begun anew


def _plain(difficulty: Difficulty | None) -> str:
    return json.dumps(difficulty and [difficulty.points, difficulty.level, difficulty.parts, difficulty.reason])


def _difficulty(text: str) -> Difficulty | None:
    """As `_plain` made it. Raises `ValueError` or `TypeError` where it did not."""
    plain = json.loads(text)
    if plain is None:
        return None
    points, level, parts, reason = plain
    return Difficulty(float(points), str(level), tuple((str(name), float(part)) for name, part in parts), str(reason))


@cache
def _version() -> str:
    digest = hashlib.sha256()
    package = Path(__file__).resolve().parents[1]
    for room in ("box", "tune", "notation"):
        for path in sorted((package / room).glob("*.py")):
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def _path() -> Path:
    return places.own_cache() / FILE


def _connect() -> sqlite3.Connection:
    path = _path()
    path.parent.mkdir(parents=True, exist_ok=True)
    db = sqlite3.connect(path, timeout=2.0)
    db.execute("DROP TABLE IF EXISTS weight")  # what an earlier version kept, under numbers that two tunes could have
    db.execute(
        "CREATE TABLE IF NOT EXISTS weighed (key TEXT, tune TEXT, print TEXT, difficulty TEXT, lacks TEXT, "
        "PRIMARY KEY (key, tune))"
    )
    return db
