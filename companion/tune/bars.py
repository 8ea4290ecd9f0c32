"""Which bar each span belongs to, and which bars have the wrong length.

A bar that a repeat sign, a double bar or a variant ending splits keeps one number. A pick-up before the first full bar
is bar 0; a pick-up after a full bar, at the beginning of a later part, shares the number of the bar before it.
"""

from __future__ import annotations

import itertools
from fractions import Fraction

from companion.tune.draft import Complaints, DraftSpan, Joint
from companion.tune.ticks import RES, Ticks


def number_bars(spans: list[DraftSpan]) -> int:
    """Give each span the number of its bar; returns how many bars are written."""
    if not spans:
        return 0
    first = spans[0]
    whole_bar: Ticks = first.full or 0  # 0 where the meter is free
    short = first.length < whole_bar and len(spans) > 1
    first.bar = 0 if short else 1
    top = first.bar + first.more
    filled: Ticks = first.length
    branch: tuple[int, Ticks] | None = None
    before = first
    for span in spans[1:]:
        if span.joint is Joint.ENDING:
            if before.joint is not Joint.ENDING and branch is None:
                branch = (before.bar + before.more, filled)
        elif span.joint is Joint.STRONG:
            branch = None
        if span.joint is Joint.ENDING and branch is not None:
            bar, filled = branch
            shared = _completes(bar, filled, span)
        else:
            bar = before.bar + before.more
            shared = _shares(before, filled, span)
        if shared:
            span.bar = bar
            filled += span.length
        else:
            span.bar = top + 1
            filled = span.length
        top = max(top, span.bar + span.more)
        before = span
    if short and sum(s.length for s in spans if s.bar == 0) >= whole_bar:
        # Not a pick-up: a first bar in several pieces.
        for span in spans:
            span.bar += 1
        top += 1
    return top


def _completes(bar: int, filled: Ticks, span: DraftSpan) -> bool:
    """Whether a variant ending goes on with the bar that the signs split."""
    return bar > 0 and span.full is not None and 0 < filled < span.full and filled + span.length <= span.full


def _shares(before: DraftSpan, filled: Ticks, span: DraftSpan) -> bool:
    """Whether a span stands in the same bar as the one before it."""
    joint = span.joint
    if joint is Joint.SOFT:
        return True
    if joint is Joint.PLAIN or span.full is None or before.full is None:
        return False
    fits = filled < span.full and filled + span.length <= span.full
    return fits or (joint is Joint.STRONG and span.length * 2 <= span.full)


def check_lengths(spans: list[DraftSpan], complaints: Complaints) -> None:
    """Warn of every bar that is too short or too long.

    Not of a short first or last bar, nor of a short bar at a repeat sign or double bar that some other short bar at
    such a seam completes (the last bar of a part and the pick-up of that part or of another).
    """
    groups = _groups(spans)
    heads = {g[0].length for i, g in enumerate(groups) if i == 0 or g[0].joint >= Joint.STRONG}
    heads |= {s.length for s in spans if s.joint >= Joint.STRONG}
    tails = {before.length for before, s in itertools.pairwise(spans) if s.joint >= Joint.STRONG}
    tails.add(spans[-1].length if spans else 0)
    for i, group in enumerate(groups):
        full = group[0].full
        if full is None or any(s.more for s in group):
            continue
        length = sum((s.length for s in group), start=0)
        if length == full:
            continue
        if length < full:
            seam = group[-1] is not spans[-1] and groups[i + 1][0].joint >= Joint.STRONG
            if i in (0, len(groups) - 1):
                continue
            if seam and (full - length) in heads:
                continue
            if group[0].joint >= Joint.STRONG and (full - length) in tails:
                continue
        elif len(group) > 1 and _seam_is_whole(group, full, heads, tails):
            continue
        span = group[0]
        size = "long" if length > full else "short"
        asked = span.meter or _shown(full, full)
        complaints.warn(
            span.line, span.column, f"Bar {span.bar} is too {size}: {_shown(length, full)} where the meter is {asked}."
        )


def _groups(spans: list[DraftSpan]) -> list[list[DraftSpan]]:
    """The spans by bar, in written order."""
    groups: list[list[DraftSpan]] = []
    for span in spans:
        if groups and groups[-1][-1].bar == span.bar:
            groups[-1].append(span)
        else:
            groups.append([span])
    return groups


def _seam_is_whole(group: list[DraftSpan], full: Ticks, heads: set[Ticks], tails: set[Ticks]) -> bool:
    """Whether the two sides of a seam, too long together, are each completed by something else."""
    head = group[-1].length
    tail = sum((s.length for s in group[:-1]), start=0)
    return (tail == full or (full - tail) in heads) and (full - head) in tails


def _shown(length: Ticks, full: Ticks) -> str:
    """A length in words that compare with the meter: 7/8 beside 6/8."""
    wholes, bar = Fraction(length) / RES, Fraction(full) / RES
    unit = max(wholes.denominator, bar.denominator, 4 if bar >= Fraction(1, 2) else 8)
    if (wholes * unit).denominator == 1:
        return f"{wholes * unit}/{unit}"
    return f"{wholes.numerator}/{wholes.denominator}"
