"""How hard the tunes of a book are on a box, kept on disk: fingering a tune takes a while, thousands of them an hour.

SQLite under `places.own_cache()`, one row a tune and box. What a row says holds for the book's bytes, the box, the
tables, and the code that weighed it: all of it goes into the row's key, so that a change of any makes it another row.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Iterable
from contextlib import closing, suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from companion import places
from companion.box.choose import difficulty_of, load_choose, what_would_fit
from companion.box.fingering import finger_round
from companion.box.model import Box, Fingering
from companion.sound.tempi import target_of
from companion.store.record import fingerprint
from companion.timeline import Timeline
from companion.tune.model import Round
from companion.tune.tune import Tune

FILE = "weights.sqlite"


@dataclass(frozen=True, slots=True)
class Weight:
    """What is known of a tune on a box.

    `print` is the fingerprint under which the record knows it; `points` how hard it is (None: not known, or it does
    not fit); `lacks` says what does not fit, "" where all does.
    """

    number: int
    print: str
    points: float | None
    lacks: str = ""


def weigh(tune: Tune, round_: Round, box: Box, fingering: Fingering | None = None) -> Weight:
    """How hard a tune is on a box."""
    fingering = fingering if fingering is not None else finger_round(round_, box)
    print_ = fingerprint(round_)
    if fingering.missing:
        return Weight(tune.number, print_, None, what_would_fit(round_, box))
    seconds = Timeline(*target_of(tune.rhythm, tune.meter, tune.tempo)).whole
    return Weight(tune.number, print_, difficulty_of(round_, fingering, seconds).points)


def share_of(points: float) -> float:
    """Points as a share, 0 (anyone) to 1 (hardest): one level of `config/choose.toml` is one dot of the window's."""
    bounds = [0.0, *(most for _, most in load_choose().levels)]
    count = len(bounds) - 1
    if count < 2:
        return 0.0
    level = next((n for n in range(count) if points <= bounds[n + 1]), count - 1)
    width = bounds[level + 1] - bounds[level]
    if level == count - 1:
        width = bounds[level] - bounds[level - 1] if level else width  # the last level has no end of its own
    within = min(1.0, max(0.0, (points - bounds[level]) / width)) if width > 0 else 0.5
    return min(1.0, max(0.0, (level - 0.49 + 0.98 * within) / (count - 1)))


def key_of(book: bytes, box: Box) -> str:
    """What a row holds for: the book, the box, the tables, the code."""
    digest = hashlib.sha256(f"{_version()}\n{box!r}\n".encode())
    for name in ("hand.toml", "bellows.toml", "choose.toml", "tempi.toml"):
        with suppress(OSError):
            digest.update(places.table(name).read_bytes())
    digest.update(book)
    return digest.hexdigest()


def known(key: str) -> dict[int, Weight]:
    """What is known so far, by the tunes' numbers."""
    try:
        with closing(_connect()) as db:
            rows = db.execute("SELECT number, print, points, lacks FROM weight WHERE key = ?", (key,)).fetchall()
    except (sqlite3.Error, OSError):
        return {}
    sound = [row for row in rows if isinstance(row[0], int) and isinstance(row[1], str) and isinstance(row[3], str)]
    return {row[0]: Weight(*row) for row in sound if row[2] is None or isinstance(row[2], float)}


def keep(key: str, weights: Iterable[Weight]) -> None:
    """Keep what has become known; a cache that cannot be written is done without."""
    rows = [(key, one.number, one.print, one.points, one.lacks) for one in weights]
    for _ in range(2):
        try:
            with closing(_connect()) as db, db:
                db.executemany("INSERT OR REPLACE INTO weight VALUES (?, ?, ?, ?, ?)", rows)
            return
        except (sqlite3.OperationalError, OSError):
            return  # in use, or no room
        except sqlite3.DatabaseError:
            with suppress(OSError):
                _path().unlink(missing_ok=True)  # damaged: begun anew


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
    db.execute(
        "CREATE TABLE IF NOT EXISTS weight (key TEXT, number INTEGER, print TEXT, points REAL, lacks TEXT, "
        "PRIMARY KEY (key, number))"
    )
    return db
