"""The comparison of what was played with what was heard: breaks that are put in are found, as long as they are."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from benchmarks.hour.along import Along
from tests.servers.sound_ear import RATE

SECONDS = 40
LATE = 54_321  # frames by which the listener began sooner


def music() -> NDArray[np.int16]:
    """Tones of chance pitches, half a second each, every fifth a silence; seven seconds of silence within."""
    rng = np.random.default_rng(3)
    at = np.arange(RATE // 2) / RATE
    tones = [
        (9000 * np.sin(2 * np.pi * rng.uniform(300, 900) * at) * np.exp(-3 * at)) * (n % 5 > 0)
        for n in range(2 * SECONDS)
    ]
    wave = np.concatenate(tones)
    wave[20 * RATE : 27 * RATE] = 0
    return (wave + rng.normal(0, 200, len(wave)) * (np.abs(wave) > 0)).astype(np.int16)


def held(heard: NDArray[np.int16], played: NDArray[np.int16]) -> Along:
    """Both fed in passing, in pieces of uneven length."""
    along = Along()
    heard = np.concatenate([np.zeros(LATE, np.int16), heard])
    for k in range(0, max(len(heard), len(played)), 7777):
        along.heard.add(heard[k : k + 7777])
        along.played.add(played[k : k + 7777])
        along.compare()
    along.compare(last=True)
    return along


def test_the_same_is_the_same_but_for_rounding() -> None:
    played = music()
    along = held(played + np.int16(1) * (np.arange(len(played)) % 2).astype(np.int16), played)
    assert along.breaks == []
    assert along.frames > 0.9 * (len(played) - RATE)


@pytest.mark.parametrize(
    ("at", "put_in", "taken_out", "blanked", "silent"),
    [
        (6 * RATE + 3000, 700, 0, 0, False),  # a drop-out: silence put in
        (6 * RATE + 3000, 0, 900, 0, False),  # sound is lost
        (9 * RATE + 5000, 0, 0, 400, False),  # a hole with nothing shifted
        (9 * RATE + 5000, 600, 256, 0, False),
        (23 * RATE, 1500, 0, 0, True),  # in a long silence: found when the sound comes again
        (23 * RATE, 0, 2048, 0, True),
    ],
)
def test_a_break_is_found(at: int, put_in: int, taken_out: int, blanked: int, silent: bool) -> None:
    played = music()
    hole = np.zeros(put_in, np.int16)
    heard = np.concatenate([played[:at], hole, played[at + taken_out :]])
    heard[at : at + blanked] = 0
    along = held(heard, played)
    (found,) = along.breaks
    assert found.slip == put_in - taken_out
    assert found.silent is silent
    longest = max(put_in, taken_out, blanked)
    assert longest - 20 <= found.length <= longest + 20
    if not silent:
        assert abs(found.at - at) <= 20


def test_a_beginning_that_was_lost_is_a_break() -> None:
    played = music()
    first = int(np.flatnonzero(np.abs(played.astype(int)) > 650)[0])
    heard = played.copy()
    heard[first : first + RATE // 2] = 0
    (found,) = held(heard, played).breaks
    assert found.at == first
    assert RATE // 2 - 20 <= found.length <= RATE


def test_each_of_many_breaks_is_counted() -> None:
    played = music()
    heard = played.copy()
    places = [3 * RATE + 100, 8 * RATE + 100, 13 * RATE + 100]
    for place in reversed(places):
        heard = np.concatenate([heard[:place], np.zeros(512, np.int16), heard[place:]])
    along = held(heard, played)
    assert [found.slip for found in along.breaks] == [512] * 3


def test_another_sound_is_told_of() -> None:
    played = music()
    with pytest.raises(ValueError, match="another program"):
        held(played[::-1].copy(), played)
