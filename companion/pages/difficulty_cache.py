"""How hard the tunes of a book are on a box, kept on disk: fingering some two thousand takes half a minute.

What is kept (`companion.kept_values`) holds for the book's bytes, the box, the tables, and the code that weighed it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from companion import kept_values, places
from companion.box.box_values import Box
from companion.box.choose import Difficulty, difficulty_of, what_would_fit
from companion.box.fingering import finger_round
from companion.kept_values import code_of, kept
from companion.sound.tempi import target_of
from companion.store.record import fingerprint
from companion.tables import read_tables
from companion.timeline import Timeline
from companion.tune.tune import Tune
from companion.tune.tune_values import OnceThrough


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
    """What a weight holds for: the book, the voice that is its melody, the box, the tables, the code."""
    code = code_of("box", "tune", "notation")
    digest = hashlib.sha256(f"{code}\n{box!r}\n{voice!r}\n".encode())
    for name in ("hand.toml", "bellows.toml", "ornaments.toml", "choose.toml", "tempi.toml"):
        with suppress(OSError):
            digest.update(places.table(name).read_bytes())
    digest.update(book)
    return digest.hexdigest()


def known(key: str) -> dict[str, TuneDifficulty]:
    """What is known so far, by the tunes' names."""
    found = {}
    for tune, plain in kept(key).items():
        with suppress(ValueError, TypeError):  # what is not what was kept is weighed again
            print_, difficulty, lacks = plain
            found[tune] = TuneDifficulty(tune, str(print_), _difficulty(difficulty), str(lacks))
    return found


def keep(key: str, weights: Iterable[TuneDifficulty]) -> None:
    """Keep what has become known."""
    kept_values.keep(key, {one.tune: [one.print, _plain(one.difficulty), one.lacks] for one in weights})


def _plain(difficulty: Difficulty | None) -> Any:
    return difficulty and [difficulty.points, difficulty.level, difficulty.parts, difficulty.reason]


def _difficulty(plain: Any) -> Difficulty | None:
    """As `_plain` made it. Raises `ValueError` or `TypeError` where it did not."""
    if plain is None:
        return None
    points, level, parts, reason = plain
    return Difficulty(float(points), str(level), tuple((str(name), float(part)) for name, part in parts), str(reason))
