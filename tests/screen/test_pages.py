"""The pages of the bellows line."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.screen.line_pages import pages, seen_from


def test_a_short_piece_is_seen_whole() -> None:
    (page,) = pages((0.0, 1.0), 2.0, 5.0)
    assert (page.start, page.end) == (0.0, 2.0)


def test_a_round_of_32_bars_turns_by_whole_bars() -> None:
    found = pages(tuple(float(n) for n in range(32)), 32.0, 5.3)
    assert [page.first for page in found] == [float(n) for n in range(0, 32, 4)]
    assert all(page.end - page.start == pytest.approx(found[0].end - found[0].start) for page in found)


@given(
    bar=st.sampled_from([0.5, 0.75, 1.0, 1.125]),
    count=st.integers(1, 40),
    pickup=st.sampled_from([0.0, 0.125, 0.25]),
    room=st.floats(0.5, 12.0),
    share=st.floats(0.0, 1.0),
)
def test_the_playhead_is_always_seen(bar: float, count: int, pickup: float, room: float, share: float) -> None:
    """Random pieces: at any time the playhead lies on the page, and what is next is seen unless the piece is over."""
    length = pickup + bar * count
    found = pages(tuple(pickup + bar * n for n in range(count)), length, room)
    now = share * length
    span = found[0].end - found[0].start
    for still in (True, False):
        at, start = seen_from(found, now, still)
        assert start - 1e-9 <= now <= start + span + 1e-9
        if still and len(found) > 1:
            assert found[at].end >= min(length, found[at].last + 0.5 * bar) - 1e-9


def test_a_page_slides_in_and_then_stands_still() -> None:
    found = pages(tuple(float(n) for n in range(32)), 32.0, 5.3)
    starts = [seen_from(found, 4.0 + n / 256, False)[1] for n in range(64)]
    assert starts == sorted(starts)
    assert starts[0] == found[0].start
    assert starts[16:] == [found[1].start] * 48
