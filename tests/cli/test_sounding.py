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
        (["--first-beat", "1"], "--recording"),
        (["--recording", "nowhere.wav", "--first-beat", "1", "--bpm", "90"], "nowhere.wav"),
        (["--recording", BOOK, "--first-beat", "1", "--bpm", "90"], "this sound cannot be read"),
    ],
)
def test_one_sentence(tmp_path: Path, capsys: pytest.CaptureFixture[str], more: list[str], says: str) -> None:
    assert main(["render", BOOK, *BAR, *more, "-o", str(tmp_path / "out.wav")]) == 2
    said = capsys.readouterr().err
    assert says in said
    assert said.count("\n") == 1
    assert not list(tmp_path.iterdir())


def test_a_recording_in_place_of_the_reeds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The program's own sound, written as a tutor's recording, is heard again bar by bar, as it is and slowed down."""
    tutor, again = tmp_path / "tutor.flac", tmp_path / "again.wav"
    tune = ["--tune", "2", "--tempo", "100"]
    assert main(["render", BOOK, *tune, "--mute", "click", "-o", str(tutor)]) == 0
    laid = ["--recording", str(tutor), "--bpm", "100", "--no-click"]
    bar = ["--piece", "A bar 2", "--rounds", "3", "-o", str(again)]
    capsys.readouterr()
    pickup = _pickup_seconds(100)
    assert main(["render", BOOK, *tune, *laid, "--first-beat", str(pickup), *bar]) == 0
    whole, _ = soundfile.read(tutor)
    sound, rate = soundfile.read(again)
    length = round(60 / 100 * 2 * rate)  # two dotted crotchets
    source = round(pickup * rate) + length
    for number in range(3):
        first = number * length + 1000
        assert np.abs(sound[first : first + length - 2000] - whole[source + 1000 : source + length - 1000]).max() < 1e-3
    taps = ",".join(f"{pickup + 0.6 * beat:g}" for beat in range(8))
    slow = ["--recording", str(tutor), "--taps", taps, "--tempo", "50", "--no-click"]
    assert main(["render", BOOK, "--tune", "2", *slow, *bar]) == 0
    assert len(soundfile.read(again)[0]) == pytest.approx(3 * 2 * length, abs=rate // 50)
    capsys.readouterr()
    for more, says in (
        (["--tempo", "15", *laid, "--first-beat", "0.2", "--piece", "A bar 2"], "20% to 150%"),
        (["--tempo", "100", *laid], "--first-beat"),
        (["--tempo", "100", *laid, "--first-beat", "1000"], "--first-beat"),
        (["--tempo", "100", *laid, "--first-beat", "5", "--piece", "round"], "lasts"),
    ):
        out = tmp_path / "no.wav"
        assert main(["render", BOOK, "--tune", "2", *more, "-o", str(out)]) == 2
        said = capsys.readouterr().err
        assert says in said
        assert said.count("\n") == 1
        assert not out.exists()
    assert main(["render", BOOK, *tune, *laid, "--first-beat", "0", "-o", str(tmp_path / "no.mid")]) == 2


def _pickup_seconds(bpm: float) -> float:
    from companion.cli.ready_tune import open_tune
    from companion.cli.sounded import course_of

    course = course_of(open_tune(BOOK, 2, "bc-21"))
    return float(course.round.pickup / course.beat) * 60 / bpm


def test_a_soundfont_that_is_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("BOX_COMPANION_CONFIG", str(tmp_path))
    for content in (b"", b"RIFF\x10\x00\x00\x00sfbk", Path(BOOK).read_bytes()):
        (tmp_path / "own.sf2").write_bytes(content)
        (tmp_path / "sound.toml").write_text(f"[voices]\nsoundfont = '{tmp_path / 'own.sf2'}'\n", encoding="utf-8")
        assert main(["render", BOOK, *BAR, "-o", str(tmp_path / "out.wav")]) == 2
        said = capsys.readouterr().err
        assert "own.sf2" in said
        assert said.count("\n") == 1
        assert not (tmp_path / "out.wav").exists()
