"""Which stretch of the piece the bellows line shows at a time: pages of whole bars, so that the eye can rest.

Times are in whole notes from the beginning of the piece. A page shows some of what has been before it and some of what
comes after it; it stands still until its last bar has been played, then turns.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from itertools import pairwise
from statistics import median_high

BEFORE = 0.35  # shares of a bar that are seen before and after the bars of a page
AFTER = 0.75
_COUNTS = (16, 12, 8, 6, 4, 3, 2, 1)
TURN = 1 / 16  # a page takes this long to turn, in whole notes


@dataclass(frozen=True, slots=True)
class LinePage:
    """The stretch from `start` to `end` that is seen, while `now` lies between `first` and `last`."""

    first: float
    last: float
    start: float
    end: float


def pages(bars: tuple[float, ...], length: float, room: float) -> tuple[LinePage, ...]:
    """Cut a piece into pages.

    Parameters
    ----------
    bars : where the bar lines lie.
    length : the length of the piece.
    room : how many whole notes can be seen at once, at least so legibly that the numbers stay apart.

    Returns
    -------
    The pages in order; one, if the whole piece can be seen.
    """
    if length <= room or length <= 0:
        return (LinePage(0.0, length, 0.0, max(length, 1e-6)),)
    edges = sorted({0.0, *(bar for bar in bars if 1e-9 < bar < length - 1e-9), length})
    usual = median_high(b - a for a, b in pairwise(edges))
    count = next((n for n in _COUNTS if (n + BEFORE + AFTER) * usual <= room), 1)
    pickup = 1 if len(edges) > 2 and edges[1] - edges[0] < 0.75 * usual else 0
    starts = [0.0, *edges[pickup + count : -1 : count]]
    lasts = [*starts[1:], length]
    before, after = BEFORE * usual, AFTER * usual
    # Nothing comes before the first page, so a pick-up has its place there.
    begins = [0.0, *(start - before for start in starts[1:])]
    span = max(last + after - seen for seen, last in zip(begins, lasts, strict=True))
    begins[-1] = max(0.0, min(begins[-1], length + 0.25 * after - span))
    return tuple(
        LinePage(first, last, seen, seen + span) for first, last, seen in zip(starts, lasts, begins, strict=True)
    )


def page_at(found: tuple[LinePage, ...], now: float) -> int:
    """The index of the page that is seen at `now`."""
    return max(0, bisect_right([page.first for page in found], now) - 1)


def seen_from(found: tuple[LinePage, ...], now: float, still: bool) -> tuple[int, float]:
    """Which page is seen and from where: it slides from the page before it for a moment, unless `still`."""
    at = page_at(found, now)
    page = found[at]
    if still or at == 0:
        return at, page.start
    gone = min(1.0, max(0.0, (now - page.first) / TURN))
    eased = gone * gone * (3 - 2 * gone)
    before = found[at - 1].start
    return at, before + (page.start - before) * eased
