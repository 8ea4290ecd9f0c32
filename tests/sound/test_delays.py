"""A delay from notes played to a click: found in full, kept by device, refused where it says nothing."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest

from companion.errors import UserError
from companion.places import own_data
from companion.sound.delays import FILE, delay_of, keep_delay, kept_delay
from companion.sound.speaker import open_speaker

CLICKS = [5 + 0.75 * number for number in range(24)]


@pytest.mark.parametrize("late", [-0.04, 0.0, 0.06, 0.25, 0.45])
def test_a_delay_is_found_whatever_its_size(late: float) -> None:
    rng = np.random.default_rng(2)  # a simulated player: 15 ms of scatter, two slips, a missed click
    hits = [click + late + float(rng.normal(0, 0.015)) for click in CLICKS[4:]]
    del hits[3]
    hits += [CLICKS[9] + late + 0.3, CLICKS[11] + late - 0.22]
    found = delay_of(CLICKS, sorted(hits))
    assert found.seconds == pytest.approx(late, abs=0.01)
    assert 0.003 < found.scatter < 0.03
    assert found.count >= 19


def test_what_says_nothing_is_refused() -> None:
    rng = np.random.default_rng(2)
    with pytest.raises(UserError, match="3 notes"):
        delay_of(CLICKS, CLICKS[:3])
    with pytest.raises(UserError, match="evenly"):
        delay_of(CLICKS, sorted(rng.uniform(5, 20, 30).tolist()))


def test_it_is_kept_by_device_and_taken_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SDL_AUDIODRIVER", "dummy")
    assert kept_delay("sound", "") is None
    keep_delay("sound", "", 0.08)
    keep_delay("sound", "headphones", 0.2)
    keep_delay("midi", "synth:in", 0.03)
    assert [kept_delay("sound", name) for name in ("", "headphones", "none")] == [0.08, 0.2, None]
    assert kept_delay("midi", "synth:in") == 0.03
    speaker = open_speaker()
    try:
        time.sleep(0.2)
        now = time.perf_counter()
        assert speaker.place_of(now) - speaker.time_of(now) == pytest.approx(0.08, abs=0.02)
        assert speaker.stamp_of(speaker.place_of(now)) == pytest.approx(now, abs=0.02)
    finally:
        speaker.close()
    keep_delay("sound", "", None)
    assert kept_delay("sound", "") is None
    for broken in ("{", "[]", '{"sound:headphones": "late"}', '{"sound:headphones": 1e9}'):
        Path(own_data() / FILE).write_text(broken, encoding="utf-8")
        assert kept_delay("sound", "headphones") is None


def test_a_device_that_is_not_there_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SDL_AUDIODRIVER", "dummy")
    with pytest.raises(UserError, match="“headphones”"):
        open_speaker(device="headphones")
