"""The keys of `companion play`: what they do at once, what at the next seam; on a tape, with no device."""

from __future__ import annotations

import time
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from companion.cli.main import main, parser
from companion.cli.playing import Playing
from companion.cli.sounded import sounded
from companion.places import shipped
from tests.playback.test_rounds import RATE, TapeSpeaker

BOOK = str(shipped("demo_tunes", "tanners_quay.abc"))


class Noted(TapeSpeaker):
    """Keeps where each round began, and how long it is."""

    def __init__(self) -> None:
        super().__init__()
        self.rounds: list[tuple[int, int]] = []

    def queue(self, sound: object, frames: int) -> int:
        first = super().queue(sound, frames)  # type: ignore[arg-type]
        self.rounds.append((first, frames))
        return first


def playing(*more: str) -> tuple[Playing, Noted]:
    given = parser().parse_args(["play", BOOK, "--tune", "2", "--rounds", "endless", *more])
    speaker = Noted()
    return Playing(sounded(given, endless=True), speaker), speaker


def wind(one: Playing, speaker: Noted, seconds: float) -> None:
    for _ in range(round(seconds * 100)):
        one.step()
        speaker.wind(441)


def test_tempo_piece_and_loop_end_change_at_the_next_seam_and_the_pulse_goes_on() -> None:
    one, speaker = playing("--piece", "A bar 2", "--tempo", "100")
    wind(one, speaker, 0.5)
    assert "next round" in one.press("+")
    wind(one, speaker, 1.5)
    one.press("n")
    wind(one, speaker, 1.5)
    one.press("]")
    wind(one, speaker, 3.0)
    target = 100 + 0.05 * sounded_target()
    lengths = [frames for _, frames in speaker.rounds[:5]]
    bar = [round(2 * 60 / bpm * RATE) for bpm in (100, target)]
    assert lengths == [bar[0], bar[1], bar[1], bar[1], pytest.approx(2 * bar[1], abs=1)]
    for (first, frames), (following, _) in pairwise(speaker.rounds):
        assert following == first + frames
    one.press("q")
    assert one.over


def sounded_target() -> float:
    given = parser().parse_args(["play", BOOK, "--tune", "2"])
    return sounded(given).rounds.course.target


def test_mutes_are_at_once_and_a_stop_begins_anew() -> None:
    one, speaker = playing("--piece", "A bar 1", "--tempo", "60", "--click", "count-in")
    wind(one, speaker, 0.5)
    assert one.press("m") == "melody off"
    wind(one, speaker, 0.5)
    assert not np.concatenate(speaker.out)[-20000:].any()
    assert one.press("m") == "melody on"
    wind(one, speaker, 0.3)
    assert np.abs(np.concatenate(speaker.out)[-8000:]).max() > 0.02
    assert one.press(" ") == "stopped"
    wind(one, speaker, 0.3)
    assert not np.concatenate(speaker.out)[-8000:].any()
    one.press(" ")
    wind(one, speaker, 0.1)
    assert len(speaker.rounds) == 2
    assert one.press("x") == ""
    assert one.press("[") == ""  # a loop of one bar cannot end earlier


def test_a_recording_goes_on_at_its_tempo_until_the_new_one_is_ready(tmp_path: Path) -> None:
    tutor = tmp_path / "tutor.wav"
    assert main(["render", BOOK, "--tune", "2", "--tempo", "100", "--mute", "click", "-o", str(tutor)]) == 0
    more = ["--recording", str(tutor), "--first-beat", "0", "--bpm", "100"]
    one, speaker = playing("--piece", "A bar 2", "--tempo", "100", *more)
    try:
        wind(one, speaker, 0.2)
        one.press("-")
        until = time.monotonic() + 30
        while len({frames for _, frames in speaker.rounds}) < 2:
            assert time.monotonic() < until
            wind(one, speaker, 0.05)
            time.sleep(0.02)
        for (first, frames), (following, _) in pairwise(speaker.rounds):
            assert following == first + frames
        assert speaker.rounds[-1][1] > speaker.rounds[0][1]
    finally:
        one.close()
