"""The record as JSON lines, for other programs and other machines.

The first line names the format and its version. Each line after it is one object with its `kind`: first every tune;
then each sitting, followed by its rounds; then where the player and the stand-in are in each tune on each box, every
review, and the cards they led to. `companion/cli/schemas/record.json` documents each field. Numbers of rows are not
written: a tune is told by the print of its notes, a sitting by its tune, box and beginning, a round by all that is in
it. So the same record gives the same bytes wherever it is, and what two records have in common is told
(`companion.store.merging` reads the lines).
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from itertools import groupby
from typing import Any

from companion.store.damage import object_of, plain_of

FORMAT = "box-companion record"
# Version 2 has the verdict "unsure". A record without it is written as version 1, which older programs read.
FIRST, VERSION = 1, 2
UNSURE = "SELECT 1 FROM note_mark WHERE verdict = 'unsure' LIMIT 1"

_SITTINGS = """
    SELECT s.id, t.print, s.box, s.began, s.ended FROM sitting s JOIN tune t ON t.id = s.tune
    ORDER BY julianday(s.began), s.began, t.print, s.box, s.id
"""
_ROUNDS = """
    SELECT id, piece, step, bpm, clean, standin, ended FROM round WHERE sitting = ? ORDER BY julianday(ended), id
"""
_MARKS = """
    SELECT round, written, verdict, pitch, heard_pitch, late_ms, cause FROM note_mark
    WHERE round IN (SELECT id FROM round WHERE sitting = ?) ORDER BY round, seq
"""


def written(db: sqlite3.Connection) -> Iterator[str]:
    """The lines of a record, each with its end; read them in one transaction."""
    yield to_line({"format": FORMAT, "version": VERSION if db.execute(UNSURE).fetchone() else FIRST})
    for mark, title, rhythm, bars, target in db.execute(
        "SELECT print, title, rhythm, bars, target FROM tune ORDER BY print"
    ):
        known = plain_of(bars) if bars is not None else None
        yield to_line(
            {"kind": "tune", "print": mark, "title": title, "rhythm": rhythm, "bars": known, "target": target}
        )
    for number, mark, box, began, ended in db.execute(_SITTINGS).fetchall():
        yield to_line({"kind": "sitting", "tune": mark, "box": box, "began": began, "ended": ended})
        for plain in rounds_of(db, number):
            yield to_line({"kind": "round", **plain})
    for mark, box, standin, state, put in db.execute(
        "SELECT print, box, standin, state, put FROM standing JOIN tune ON tune.id = tune ORDER BY 1, 2, 3"
    ):
        plain = {"tune": mark, "box": box, "standin": bool(standin), "state": object_of(state), "put": put}
        yield to_line({"kind": "standing", **plain})
    for mark, box, at, rating in db.execute(
        "SELECT print, box, at, rating FROM review JOIN tune ON tune.id = tune ORDER BY 1, 2, 3"
    ):
        yield to_line({"kind": "review", "tune": mark, "box": box, "at": at, "rating": rating})
    for mark, box, card, due in db.execute(
        "SELECT print, box, card, due FROM card JOIN tune ON tune.id = tune ORDER BY 1, 2"
    ):
        yield to_line({"kind": "card", "tune": mark, "box": box, "card": object_of(card), "due": due})


def rounds_of(db: sqlite3.Connection, sitting: int) -> Iterator[dict[str, Any]]:
    """The rounds of a sitting with their marks, as plain values, in the order of time."""
    marks = {
        number: [list(mark[1:]) for mark in group]
        for number, group in groupby(db.execute(_MARKS, (sitting,)), key=lambda row: row[0])
    }
    for number, piece, step, bpm, clean, standin, ended in db.execute(_ROUNDS, (sitting,)):
        yield {
            "piece": piece,
            "step": step,
            "bpm": bpm,
            "clean": bool(clean),
            "standin": bool(standin),
            "ended": ended,
            "marks": marks.get(number, []),
        }


def to_line(plain: dict[str, Any]) -> str:
    """One line."""
    return json.dumps(plain, ensure_ascii=False, separators=(",", ":"), allow_nan=False) + "\n"
