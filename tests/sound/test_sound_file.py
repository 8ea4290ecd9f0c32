"""Sound files read whole: every kind a phone or recorder makes, and one sentence for what cannot be read."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

from companion.errors import UserError
from companion.sound import sound_file
from companion.sound.sound_file import read_sound
from tests.sound.coded import coded

RATE = 44100
SECONDS = 6.0
TONE = 440.0


def tone() -> np.ndarray:
    """A tone, left and right, of shape (frames, 2)."""
    one = 0.3 * np.sin(2 * np.pi * TONE * np.arange(round(RATE * SECONDS)) / RATE)
    return np.stack([one, one], 1).astype(np.float32)


def made(path: Path, **options: str) -> Path:
    if path.suffix in (".wav", ".flac", ".ogg", ".mp3", ".aiff"):
        soundfile.write(path, tone(), RATE)
    else:
        coded(path, tone(), **options)
    return path


@pytest.mark.parametrize("ending", [".wav", ".flac", ".ogg", ".mp3", ".aiff", ".m4a", ".aac", ".mov", ".mkv"])
def test_every_kind_is_read_whole_as_one_channel(tmp_path: Path, ending: str) -> None:
    sound, rate = read_sound(made(tmp_path / f"take{ending}"))
    assert rate == RATE
    assert sound.dtype == np.float32
    assert sound.ndim == 1
    assert len(sound) / rate == pytest.approx(SECONDS, abs=0.06)
    spectrum = np.abs(np.fft.rfft(sound))
    assert spectrum.argmax() * rate / len(sound) == pytest.approx(TONE, abs=1.0)
    assert np.abs(sound[RATE:-RATE]).max() == pytest.approx(0.3, abs=0.02)


def test_a_channel_that_is_silent_halves_the_sound_and_another_rate_stays(tmp_path: Path) -> None:
    sound = tone()
    sound[:, 1] = 0.0
    soundfile.write(tmp_path / "left.flac", sound, 48000)
    read, rate = read_sound(tmp_path / "left.flac")
    assert rate == 48000
    assert read == pytest.approx(sound[:, 0] / 2, abs=1e-4)


def test_a_picture_on_the_cover_makes_no_video(tmp_path: Path) -> None:
    coded(tmp_path / "cover.mp4", tone(), cover=True)
    assert len(read_sound(tmp_path / "cover.mp4")[0]) / RATE == pytest.approx(SECONDS, abs=0.06)


def halved(path: Path) -> None:
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])


def spoilt(path: Path) -> None:
    """Noise in the middle third of the file."""
    data = bytearray(path.read_bytes())
    third = len(data) // 3
    data[third : 2 * third] = np.random.default_rng(1).integers(0, 256, third, dtype=np.uint8).tobytes()
    path.write_bytes(bytes(data))


@pytest.mark.parametrize("ending", [".wav", ".flac", ".mp3", ".m4a", ".aac"])
def test_a_recording_cut_short(tmp_path: Path, ending: str, capfd: pytest.CaptureFixture[str]) -> None:
    path = made(tmp_path / f"take{ending}")
    halved(path)
    with pytest.raises(UserError, match="damaged or cut short; copy it again"):
        read_sound(path)
    assert capfd.readouterr().err == ""


def test_a_recording_cut_short_that_says_its_length_first(tmp_path: Path) -> None:
    path = made(tmp_path / "take.m4a", movflags="+faststart")
    halved(path)
    with pytest.raises(UserError, match="damaged or cut short"):
        read_sound(path)


@pytest.mark.parametrize("ending", [".flac", ".mp3", ".m4a", ".aac"])
def test_a_damaged_recording(tmp_path: Path, ending: str, capfd: pytest.CaptureFixture[str]) -> None:
    path = made(tmp_path / f"take{ending}")
    spoilt(path)
    with pytest.raises(UserError, match="damaged or cut short"):
        read_sound(path)
    assert capfd.readouterr().err == ""  # the decoders' own words are none for a player


def test_what_is_said_goes_to_the_terminal_again_afterwards(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    read_sound(made(tmp_path / "take.wav"))
    os.write(2, b"said")
    assert capfd.readouterr().err == "said"


def write(data: bytes) -> Callable[[Path], object]:
    return lambda path: path.write_bytes(data)


@pytest.mark.parametrize(
    ("name", "make", "says"),
    [
        ("nowhere.wav", lambda _: None, "There is no such recording; check its name."),
        ("folder", lambda path: path.mkdir(), "This is a folder; name a recording in it."),
        ("empty.m4a", write(b""), "The recording is empty; record it again, or give another file."),
        ("text.wav", write(b"Dear tutor,\n" * 30), "not a recording that can be read; give WAV, FLAC, OGG, MP3 or M4A"),
        ("list.m3u8", write(b"#EXTM3U\nhttp://example.org/a\n"), "This is not a recording that can be read"),
        ("head.wav", write(b"RIFF"), "damaged or cut short"),
        ("head.m4a", write(b"\0\0\0\x20ftypM4A " + b"x" * 300), "damaged or cut short"),
        ("film.avi", write(b"RIFF\0\0\1\0AVI " + bytes(100)), "This is a video; save its sound by itself"),
        ("film.mp4", lambda path: coded(path, tone(), video=True), "This is a video; save its sound by itself"),
        ("none.wav", lambda path: soundfile.write(path, tone()[:0], RATE), "There is no sound in this recording"),
        ("low.wav", lambda path: soundfile.write(path, tone(), 4000), "too few to tell notes by"),
        (
            "no-numbers.wav",
            lambda path: soundfile.write(path, np.full(1000, np.nan, np.float32), RATE, subtype="FLOAT"),
            "damaged or cut short",
        ),
    ],
)
def test_what_cannot_be_read_is_one_sentence(
    tmp_path: Path, name: str, make: Callable[[Path], object], says: str
) -> None:
    make(tmp_path / name)
    with pytest.raises(UserError, match=says) as caught:
        read_sound(tmp_path / name)
    assert str(caught.value).startswith(f"{tmp_path / name}: ")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("ending", [".flac", ".m4a", ".aac"])
def test_a_recording_of_many_hours(tmp_path: Path, ending: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two hours are a large file: here the bound is taken down instead."""
    path = made(tmp_path / f"take{ending}")
    monkeypatch.setattr(sound_file, "LONGEST", SECONDS + 0.1)
    read_sound(path)
    monkeypatch.setattr(sound_file, "LONGEST", SECONDS - 0.5)
    with pytest.raises(UserError, match=r"lasts .* hours; give one of two hours at most"):
        read_sound(path)
    assert sound_file.LONGEST < 7200.0


def test_without_the_decoder_it_says_how_to_convert(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = made(tmp_path / "take.m4a")
    monkeypatch.setitem(sys.modules, "av", None)
    with pytest.raises(UserError, match=r"save it as WAV \(ffmpeg -i take.m4a take.wav\)"):
        read_sound(path)
    assert len(read_sound(made(tmp_path / "take.wav"))[0])
