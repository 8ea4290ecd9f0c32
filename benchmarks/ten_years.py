"""A record of ten years, made up: a sitting a day, 3,650 of them, with 2 million marked notes on sixty tunes.

    python -m benchmarks.ten_years OUT.sqlite3 [--days N] [--seed N]

The player learns a tune for two months (bars, phrases, parts, then the whole), and goes back to older ones. How errors
fall and tempi rise is a plain model of ours, there to give the tables and plots something to show.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import random
import sqlite3
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from fractions import Fraction
from pathlib import Path
from typing import Any

from companion.lesson.review import Card, WholeRound, after_review, rate, to_plain
from companion.store.lines import FORMAT, VERSION, to_line
from companion.store.record import fingerprint, open_record
from companion.store.round_bars import to_text
from companion.tables import read_tables
from companion.tune.part_bars import bars_of
from companion.tune.tune_values import BarSpan, OnceThrough, Played

DAYS, NOTES = 3650, 2_000_000
TUNES, BOX = 60, "bc-21"
BEGAN = datetime(2016, 1, 4, 19, 0, tzinfo=timezone(timedelta(hours=1)))
TARGET = 112.0
BAR, TIMES = 8, (("A", 1), ("A", 2), ("B", 1), ("B", 2))  # notes in a bar, eight bars a part
CAUSES = ("other-direction", "button-below", "button-above", "other-row", "late-turn", "hesitation", None)
FIRST = ("The Lamp on", "The Road by", "Above", "Leaving", "The Gate at", "The Turf from")
LAST = ("Coll Bridge", "the Long Strand", "Derrow", "the Old Kiln", "Ashy Hill", "Tarn Point", "Mell", "the Net Loft",
        "Skarra", "the Ferry House")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Tune:
    """A made-up tune: its line, its print, and the notes that are hard in it."""

    line: dict[str, Any]
    print: str
    pitches: tuple[int, ...]
    hard: frozenset[int]


def make(path: Path, days: int = DAYS, notes: int = NOTES, seed: int = 1, began: datetime = BEGAN) -> None:
    """Write such a record to `path`."""
    with tempfile.TemporaryDirectory(dir=path.parent) as folder:
        file = Path(folder) / "record.jsonl"
        with file.open("w", encoding="utf-8") as out:
            out.writelines(map(to_line, lines(days, notes, seed, began)))
        record = open_record(path)
        record.take_in(file, rules=read_tables().memory)
        record.close()


def as_first_version(path: Path) -> None:
    """Take a record back to what the first version of the schema held."""
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as db:
        for name in ("review", "card", "piece_day", "mistake_day", "note_month", "practice_day"):
            db.execute(f"DROP TABLE {name}")
        db.execute("DROP INDEX sitting_tune")
        for table, column in (("tune", "bars"), ("tune", "target"), ("standing", "put")):
            db.execute(f"ALTER TABLE {table} DROP COLUMN {column}")
        db.execute("PRAGMA application_id = 0")
        db.execute("PRAGMA user_version = 1")


def lines(days: int, notes: int, seed: int, first: datetime = BEGAN) -> Iterator[dict[str, Any]]:
    """The lines of the record; see `companion.store.lines`."""
    chance = random.Random(seed)
    yield {"format": FORMAT, "version": VERSION}
    tunes = [_tune(number, chance) for number in range(TUNES)]
    for tune in tunes:
        yield tune.line
    practised = [0] * TUNES
    cards: list[Card | None] = [None] * TUNES
    last = [first] * TUNES
    reviews = []
    for day in range(days):
        newest = min(day * TUNES // days, TUNES - 1)
        number = newest if day % 3 or newest == 0 else chance.randrange(newest)
        began = first + timedelta(days=day, minutes=chance.randrange(90))
        yield {"kind": "sitting", "tune": tunes[number].print, "box": BOX, "began": _text(began),
               "ended": _text(began + timedelta(minutes=24))}  # fmt: skip
        tries = []
        for plain in _rounds(
            tunes[number], practised[number], began, notes * (day + 1) // days - notes * day // days, chance
        ):
            if plain["piece"] == "round":
                tries.append(WholeRound(plain["bpm"] / TARGET, plain["clean"]))
            yield plain
        practised[number] += 1
        last[number] = began
        rating = rate(tries, read_tables().memory)
        card = after_review(cards[number], rating, began, read_tables().memory) if rating is not None else None
        if card is not None and rating is not None:
            cards[number] = card
            reviews.append({"kind": "review", "tune": tunes[number].print, "box": BOX,
                            "at": card.reviewed.isoformat(timespec="milliseconds"), "rating": int(rating)})  # fmt: skip
    for tune, when in zip(tunes, last, strict=True):
        state = {"current": "round", "standings": {"round": {"step": 2, "rung": 5, "clean": 1}}}
        yield {"kind": "standing", "tune": tune.print, "box": BOX, "standin": False, "state": state, "put": _text(when)}
    yield from reviews
    for tune, kept in zip(tunes, cards, strict=True):
        if kept is not None:
            plain = to_plain(kept)
            yield {"kind": "card", "tune": tune.print, "box": BOX, "card": plain, "due": plain["due"]}


def _tune(number: int, chance: random.Random) -> Tune:
    notes, spans = [], []
    length = Fraction(1, 8)
    parts = {part: [chance.choice((62, 64, 66, 67, 69, 71, 73, 74, 76, 78)) for _ in range(8 * BAR)] for part in "AB"}
    at = Fraction(0)
    for part, turn in TIMES:
        for bar in range(8):
            written = bar + 1 + 8 * (part == "B")
            spans.append(BarSpan(written, part, turn, at, BAR * length))
            for pitch in parts[part][bar * BAR : (bar + 1) * BAR]:
                notes.append(Played(len(notes), part, turn, written, at, length, pitch))
                at += length
    round_ = OnceThrough(tuple(notes), tuple(spans), at, Fraction(0), "AABB")
    title = f"{FIRST[number % len(FIRST)]} {LAST[number // len(FIRST) % len(LAST)]}"
    line = {"kind": "tune", "print": fingerprint(round_), "title": title, "rhythm": "reel",
            "bars": json.loads(to_text(bars_of(round_))), "target": TARGET}  # fmt: skip
    hard = frozenset(chance.sample(range(len(notes)), 24))
    return Tune(line, line["print"], tuple(note.pitch for note in notes), hard)


def _rounds(tune: Tune, practised: int, began: datetime, notes: int, chance: random.Random) -> Iterator[dict[str, Any]]:
    """Rounds of one sitting, until they hold `notes` notes: longer pieces, faster, as the sittings go by."""
    learnt = min(practised / 30, 1.0)
    at = began
    held = 0
    while held < notes:
        size = chance.choices((1, 2, 4, 8, 32), weights=(8 - 7 * learnt, 6 - 4 * learnt, 3, 3 * learnt, 2 * learnt**2))[
            0
        ]
        first = chance.randrange(0, 16, size) if size < 32 else 0
        piece = _name(first, size)
        share = min(0.5 + 0.1 * int(6 * learnt * chance.uniform(0.8, 1.1)), 1.0)
        start = first % 8 * BAR + (2 * 8 * BAR if first >= 8 else 0)
        run = range(start, start + size * BAR)
        marks = [_mark(tune, index, learnt, share, chance) for index in run][: max(notes - held, 1)]
        held += len(marks)
        at += timedelta(seconds=8 + 1.1 * len(marks) * 60 / (TARGET * share) / 4)
        clean = all(mark[1] == "right" and mark[5] is None for mark in marks)
        yield {"kind": "round", "piece": piece, "step": "in time", "bpm": round(TARGET * share, 1), "clean": clean,
               "standin": False, "ended": _text(at), "marks": marks}  # fmt: skip


def _name(first: int, size: int) -> str:
    part, place = "AB"[first // 8], first % 8
    kinds = {1: f"bar {place + 1}", 2: f"phrase {place // 2 + 1}", 4: f"half {place // 4 + 1}", 8: "part"}
    return "round" if size == 32 else f"{part} {kinds[size]}"


def _mark(tune: Tune, index: int, learnt: float, share: float, chance: random.Random) -> list[Any]:
    """One mark: hard notes fail more often, fast ones too, learnt ones less."""
    pitch = tune.pitches[index]
    fails = (0.3 if index in tune.hard else 0.012) * (1.1 - learnt) * share
    late = round(chance.gauss(-6, 18), 2)
    if chance.random() >= fails:
        return [index, "right", pitch, pitch, late, None]
    cause = chance.choice(CAUSES)
    if cause in ("late-turn", "hesitation"):
        return [index, "right", pitch, pitch, round(abs(late) + 90, 2), cause]
    if cause is None and chance.random() < 0.5:
        return [index, "missed", pitch, None, None, None]
    return [index, "wrong", pitch, pitch + chance.choice((-2, -1, 1, 2)), late, cause]


def _text(when: datetime) -> str:
    return when.isoformat(timespec="milliseconds")


def main() -> None:
    """Make one."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("--days", type=int, default=DAYS)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    make(given.out, given.days, NOTES * given.days // DAYS, given.seed)


if __name__ == "__main__":
    main()
