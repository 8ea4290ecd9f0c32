"""How much of a piece may be seen at a moment: all of it, the first note of each bar, or nothing, by heart."""

from __future__ import annotations

from bisect import bisect_right
from itertools import pairwise
from math import floor
from statistics import median_high

from companion.screen.page_values import LineNote, PracticePage, Shown

_NEAR = 1e-6  # whole notes


def shown_now(page: PracticePage) -> Shown:
    """How much is shown: all of it, too, while the session is paused and once the piece is over."""
    over = page.current is None or (page.clocked and page.now >= page.length - _NEAR)
    return Shown.ALL if page.paused or over else page.shown


def first_notes(page: PracticePage) -> frozenset[int]:
    """The first note of each bar, by index in `page.notes`."""
    starts = sorted({0.0, *page.bars})
    found: dict[int, int] = {}
    for n, note in enumerate(page.notes):
        found.setdefault(bisect_right(starts, note.at + _NEAR), n)
    return frozenset(found.values())


def visible(page: PracticePage) -> frozenset[int]:
    """The notes (indices in `page.notes`) that may be seen now."""
    shown = shown_now(page)
    if shown is Shown.FIRST_NOTES:
        return first_notes(page)
    return frozenset(range(len(page.notes))) if shown is Shown.ALL else frozenset()


def is_seen(page: PracticePage, note: int) -> bool:
    """Whether a note (index in `page.notes`) may be seen now."""
    return shown_now(page) is Shown.ALL or note in visible(page)


def now_and_then(page: PracticePage) -> tuple[LineNote | None, LineNote | None]:
    """The note to be played now and the one after it, each None where there is none or it is not to be seen."""
    if page.current is None or not page.notes:
        return None, None
    now = page.notes[page.current] if is_seen(page, page.current) else None
    after = page.current + 1
    then = page.notes[after] if after < len(page.notes) and is_seen(page, after) else None
    return now, then


def beat_number(page: PracticePage) -> int:
    """Which beat of the bar is running, counted from 1; in a pick-up so that the first full bar begins with 1."""
    bars = sorted({*page.bars, page.length})
    usual = median_high(b - a for a, b in pairwise(bars)) if len(bars) > 1 else page.beat
    n = bisect_right(bars, page.now + _NEAR)
    start = bars[n - 1] if n else bars[0] - usual
    if n == 1 < len(bars) and bars[1] - start < 0.75 * usual:
        start = bars[n] - usual
    return floor(max(page.now - start, 0.0) / page.beat + _NEAR) + 1
