"""What `mark` says of takes that figures alone would tell wrongly: another tune, and a few notes far off the beat."""

from __future__ import annotations

import random
import re
from dataclasses import replace
from pathlib import Path

import pytest

from companion.cli.main import main
from companion.cli.ready_tune import open_tune
from companion.input.take_file import write_take
from companion.lesson.stretch import stretch_of
from companion.marking.asking import asked_of
from companion.marking.learner import Learner, simulate_take
from companion.marking.mark_values import Heard
from companion.places import shipped
from companion.timeline import Timeline

BOOK = str(shipped("demo_tunes", "tanners_quay.abc"))


def take_of(number: int, learner: Learner, seed: int = 5) -> tuple[list[Heard], float]:
    """A simulated take of a demo tune at 80 beats a minute, and the seconds of a beat."""
    opened = open_tune(BOOK, number, "bc-21")
    beat = opened.tune.meter.beats[0]
    asked = asked_of(stretch_of(opened.round, 0, len(opened.round.notes) - 1, opened.tune.meter, beat))
    heard, _ = simulate_take(asked, Timeline(80.0, beat), learner, random.Random(seed), opened.fingering)
    return list(heard), 60.0 / 80.0


def said_of(heard: list[Heard], number: int, folder: Path, capsys: pytest.CaptureFixture[str]) -> str:
    write_take(folder / "take.mid", heard)
    assert main(["mark", BOOK, str(folder / "take.mid"), "--tune", str(number)]) == 0
    return capsys.readouterr().out


@pytest.mark.parametrize("asked", range(1, 6))
@pytest.mark.parametrize("played", range(1, 6))
def test_another_tune_is_told_as_that(
    asked: int, played: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = said_of(take_of(played, Learner(spread_ms=15.0))[0], asked, tmp_path, capsys)
    assert ("does not sound like" in said) is (asked != played)
    assert ("left out" in said) is False


def test_a_player_who_gets_half_of_the_notes_wrong_is_playing_the_tune(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for number in range(1, 6):
        heard, _ = take_of(number, Learner(spread_ms=40.0, wrong=0.5, missed=0.05), seed=number)
        assert "does not sound like" not in said_of(heard, number, tmp_path, capsys)


@pytest.mark.parametrize("beats", [0.2, 0.25, 0.35])
def test_one_note_in_five_that_comes_late_is_told(
    beats: float, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    heard, beat = take_of(1, Learner(spread_ms=1.0))
    late = [replace(note, seconds=note.seconds + beats * beat * (n % 5 == 2)) for n, note in enumerate(heard)]
    said = said_of(late, 1, tmp_path, capsys)
    found = re.search(r"But (\d+) of \d+ notes are further off, up to (\d+) ms late\.", said)
    assert found is not None, said
    assert abs(int(found[1]) - len(heard) / 5) <= 3
    assert abs(int(found[2]) - 1000 * beats * beat) <= 15


def test_an_even_take_has_no_such_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "further off" not in said_of(take_of(1, Learner(spread_ms=15.0))[0], 1, tmp_path, capsys)
