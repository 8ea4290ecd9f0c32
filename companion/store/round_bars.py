"""Which bar of the tune each note of a round lies in, as the record keeps it."""

from __future__ import annotations

import json
from itertools import groupby

from companion.store.damage import Unsound, plain_of
from companion.tune.part_bars import Bar

MOST_NOTES = 100_000  # in a bar; more is damage


def to_text(bars: tuple[Bar, ...]) -> str:
    """As JSON: [part, number, time, how many notes] for each bar in the order of playing."""
    runs = [[bar.part, bar.number, bar.time, len(list(run))] for bar, run in groupby(bars)]
    return json.dumps(runs, ensure_ascii=False, separators=(",", ":"))


def from_text(text: str | None) -> tuple[Bar, ...]:
    """What `to_text` wrote; empty where there is nothing. Raises `Unsound` where it is none any more."""
    try:
        return tuple(
            Bar(str(part), int(number), int(time))
            for part, number, time, notes in plain_of(text or "[]")
            for _ in range(min(int(notes), MOST_NOTES))
        )
    except (TypeError, ValueError):
        raise Unsound("what was kept as bars is none any more") from None
