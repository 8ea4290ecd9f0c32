"""`companion render` with all that can be asked of the sound, and what is refused in one sentence."""

from __future__ import annotations

from pathlib import Path

import mido
import numpy as np
import pytest
import soundfile

from companion.cli.main import main
from companion.places import shipped
from tests.sound.pitch import cents_off

BOOK = str(shipped("demo_tunes", "tanners_quay.abc"))
BAR = ["--tune", "2", "--piece", "A bar 1"]


def notes(path: Path) -> list[tuple[int, int]]:
    """(channel, pitch) of every note of a MIDI file."""
    return [(m.channel, m.note) for m in mido.MidiFile(path) if m.type == "note_on" and m.velocity]


def rendered(tmp_path: Path, *more: str) -> Path:
    out = tmp_path / "out.mid"
    assert main(["render", BOOK, *BAR, *more, "-o", str(out)]) == 0
    return out


def test_what_is_asked_for_is_in_the_file(tmp_path: Path) -> None:
    plain = notes(rendered(tmp_path))
    melody = [pitch for channel, pitch in plain if channel == 0]
    assert melody
    up = notes(rendered(tmp_path, "--shift", "2"))
    assert [pitch for channel, pitch in up if channel == 0] == [pitch + 2 for pitch in melody]
    assert {channel for channel, _ in notes(rendered(tmp_path, "--basses"))} >= {0, 1, 9}
    assert not [1 for channel, _ in notes(rendered(tmp_path, "--mute", "click")) if channel == 9]
    assert not [1 for channel, _ in notes(rendered(tmp_path, "--click", "count-in")) if channel == 9]
    counted = notes(rendered(tmp_path, "--click", "count-in", "--count-in", "short"))
    assert len([1 for channel, _ in counted if channel == 9]) == 2
    answered = mido.MidiFile(rendered(tmp_path, "--answer")).length
    assert answered == pytest.approx(2 * mido.MidiFile(rendered(tmp_path)).length, abs=0.01)


@pytest.mark.parametrize("hertz", [430, 442.5, 450])
def test_concert_pitch_of_a_file(tmp_path: Path, hertz: float) -> None:
    book = tmp_path / "long.abc"
    book.write_text("X:1\nT:Long\nM:4/4\nL:1/4\nQ:1/4=60\nK:C\nA4|\n", encoding="utf-8")
    out = tmp_path / "long.wav"
    assert main(["render", str(book), "--concert", str(hertz), "--no-click", "-o", str(out)]) == 0
    wave, rate = soundfile.read(out)
    assert abs(cents_off(wave[rate // 4 : 2 * rate, 0], rate, 69, hertz)) < 1


def test_levels_of_a_file(tmp_path: Path) -> None:
    whole, half = tmp_path / "whole.wav", tmp_path / "half.wav"
    for out, more in ((whole, ["--mute", "click"]), (half, ["--mute", "click", "--level", "melody=50"])):
        assert main(["render", BOOK, *BAR, *more, "-o", str(out)]) == 0
    one, other = (soundfile.read(out)[0] for out in (whole, half))
    assert np.abs(0.5 * one - other).max() < 2 / 32768


def test_a_whole_lesson_with_one_command(tmp_path: Path) -> None:
    out = tmp_path / "lesson"
    asked = ["--tune", "2", "--pieces", "A bar 1, parts", "--tempi", "50%,100%", "--format", "mid", "-o", str(out)]
    assert main(["render", BOOK, *asked]) == 0
    names = sorted(path.name for path in out.iterdir())
    assert "01 A bar 1 050%.mid" in names
    assert "01 A bar 1 100%.mid" in names
    assert len(names) == 2 * 3
    slow, fast = (mido.MidiFile(out / f"01 A bar 1 {share}.mid").length for share in ("050%", "100%"))
    assert slow == pytest.approx(2 * fast, abs=0.005)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (["--rounds", "many"], "--rounds"),
        (["--rounds", "endless"], "--rounds"),
        (["--count-in", "-1"], "--count-in"),
        (["--click", "nowhere"], "nowhere"),
        (["--lift", "101"], "--lift"),
        (["--lift", "nan"], "--lift"),
        (["--concert", "429"], "430 to 450"),
        (["--shift", "13"], "--shift"),
        (["--level", "drums=10"], "drums"),
        (["--level", "click"], "click=50"),
        (["--level", "click=300"], "--level click"),
        (["--mute", "drums"], "drums"),
        (["--pieces", "Z bar 9"], "z bar 9"),
        (["--tempi", "50%,fast"], "fast"),
        (["--tempi", "50%", "--format", "doc"], "doc"),
        (["--rounds", "1000", "--tempo", "20%", "--piece", "round"], "three hours"),
    ],
)
def test_one_sentence(tmp_path: Path, capsys: pytest.CaptureFixture[str], more: list[str], says: str) -> None:
    assert main(["render", BOOK, *BAR, *more, "-o", str(tmp_path / "out.wav")]) == 2
    said = capsys.readouterr().err
    assert says in said
    assert said.count("\n") == 1
    assert not list(tmp_path.iterdir())
