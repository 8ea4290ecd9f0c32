"""A player's own recording: read, tied to a tune, slowed down with its pitch kept. Made-up recordings throughout."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from companion.errors import UserError
from companion.sound.rates import at_rate
from companion.sound.recording import Recording, Tied, beats_of_taps
from companion.sound.stretcher import stretched
from tests.sound.pitch import cents_off

RATE = 44100
EACH = 0.3  # seconds from one tone of the recording to the next


def pitches(count: int) -> list[int]:
    return [int(p) for p in np.random.default_rng(1).integers(60, 81, count)]


def tones(count: int, rate: int = RATE) -> NDArray[np.float32]:
    """A made-up recording: tones of seven harmonics that swell and die, `EACH` seconds apart."""
    wave = np.zeros(round(count * EACH * rate))
    t = np.arange(round(0.2 * rate)) / rate
    for number, pitch in enumerate(pitches(count)):
        hertz = 440 * 2 ** ((pitch - 69) / 12)
        tone = sum(np.sin(2 * np.pi * hertz * k * t) / k for k in range(1, 8)) * np.hanning(len(t)) * 0.2
        first = round(number * EACH * rate)
        wave[first : first + len(tone)] += tone
    return np.repeat(wave[:, None], 2, 1).astype(np.float32)


def middles(sound: NDArray[np.float32], count: int, each: float) -> NDArray[np.float64]:
    """When each tone has half of its energy, in seconds; `each` from one to the next."""
    found = []
    for number in range(count):
        first = max(0, round((number - 1 / 6) * each * RATE))
        power = sound[first : round((number + 5 / 6) * each * RATE), 0].astype(float) ** 2
        found.append((first + power @ np.arange(len(power)) / power.sum()) / RATE)
    return np.array(found)


@pytest.mark.parametrize("share", [0.2, 0.35, 0.5, 0.75, 1.0, 1.3])
def test_tempo_and_pitch_of_a_slowed_recording(share: float) -> None:
    """Tempo within 0.1%, each tone within 5 ms of its place and 5 cents of its pitch."""
    count = 16
    sound = stretched(tones(count), RATE, share)
    assert len(sound) == pytest.approx(count * EACH * RATE / share, abs=3)
    places = middles(sound, count, EACH / share)
    wanted = (np.arange(count) * EACH + 0.1) / share
    slope, _ = np.polyfit(wanted, places, 1)
    assert abs(slope - 1) < 0.001
    assert np.abs(places - wanted).max() < 0.005
    for place, pitch in zip(wanted, pitches(count), strict=True):
        middle, half = round(place * RATE), round(0.06 / share * RATE)
        assert abs(cents_off(sound[middle - half : middle + half, 0].astype(float), RATE, pitch)) < 5, (share, pitch)


def test_semitones_and_bounds() -> None:
    sound = stretched(tones(4), RATE, 1.0, 2)
    place, pitch = round(0.1 * RATE), pitches(1)[0]
    assert abs(cents_off(sound[place - 2600 : place + 2600, 0].astype(float), RATE, pitch + 2)) < 5
    for share in (0.1, 2.0):
        with pytest.raises(UserError, match="20% to 150%"):
            stretched(tones(4), RATE, share)


@pytest.mark.parametrize("rate", [48000, 22050, 96000])
def test_another_rate_keeps_pitch_and_time(rate: int) -> None:
    sound = at_rate(tones(6, rate), rate, RATE)
    assert np.abs(sound - tones(6)).max() < 0.005
    assert abs(len(sound) - round(6 * EACH * RATE)) <= 1


def tied(path: Path) -> Tied:
    """Six quavers in a bar, `EACH` seconds each, after a pick-up of one quaver."""
    return Tied(Recording(path), EACH, 60 / (3 * EACH), Fraction(3, 8), Fraction(1, 8))


@pytest.mark.parametrize("ending", ["wav", "flac", "ogg", "mp3"])
def test_a_bar_is_cut_out_where_the_tune_has_it(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"tutor.{ending}"
    soundfile.write(path, tones(20, 48000)[:, 0], 48000)
    recorded = tied(path)
    assert recorded.seconds(Fraction(1, 8)) == pytest.approx(EACH)
    share = 0.6
    frames = round(6 * EACH / share * RATE)
    # The second bar: the quavers 7 to 12 of the recording, counted from 0.
    sound = recorded.cut(Fraction(7, 8), Fraction(3, 4), frames, RATE)
    assert frames < len(sound) < frames + RATE // 50
    places = middles(sound[:frames], 6, EACH / share)
    assert np.abs(places - (np.arange(6) * EACH + 0.1) / share).max() < 0.006
    for number, pitch in enumerate(pitches(20)[7:13]):
        middle, half = round((number * EACH + 0.1) / share * RATE), round(0.05 / share * RATE)
        assert abs(cents_off(sound[middle - half : middle + half, 0].astype(float), RATE, pitch)) < 5
    # Its edges fade: laid end to end it makes no click.
    assert np.abs(sound[:2]).max() < 0.01
    assert np.abs(sound[-2:]).max() < 0.01
    with pytest.raises(UserError, match=r"lasts 6\.0 s"):
        recorded.cut(Fraction(4), Fraction(3, 4), frames, RATE)


def test_taps() -> None:
    rng = np.random.default_rng(3)  # simulated taps, 15 ms of human scatter
    taps = [2.5 + 0.52 * i + float(rng.normal(0, 0.015)) for i in range(16)]
    first, bpm = beats_of_taps(taps)
    assert first == pytest.approx(2.5, abs=0.02)
    assert bpm == pytest.approx(60 / 0.52, rel=0.003)
    for bad, says in (
        (taps[:3], "too few"),
        ([1.0, 2.0, 1.5, 3.0], "not in order"),
        ([1.0, 2.0, 3.0, 4.0, 5.0, 6.6, 7.0, 8.0], "tap 6"),
        ([0.0, 0.01, 0.02, 0.03], "beats a minute"),
    ):
        with pytest.raises(UserError, match=says):
            beats_of_taps(bad)


def test_files_that_are_not_what_they_say(tmp_path: Path) -> None:
    """A truncated WAV and an MP3 that is called WAV can be heard; what is no sound is refused in one sentence."""
    whole = tmp_path / "whole.wav"
    soundfile.write(whole, tones(20), RATE)
    cut = tmp_path / "cut.wav"
    cut.write_bytes(whole.read_bytes()[: whole.stat().st_size // 2])
    assert Recording(cut).seconds == pytest.approx(3, abs=0.01)
    assert np.abs(Recording(cut).part(0, 2) - Recording(whole).part(0, 2)).max() == 0
    mp3, renamed = tmp_path / "one.mp3", tmp_path / "one.wav"
    soundfile.write(mp3, tones(20), RATE)
    renamed.write_bytes(mp3.read_bytes())
    assert Recording(renamed).seconds == pytest.approx(6, abs=0.1)
    assert np.abs(Recording(renamed).part(0, 2)).max() > 0.1
    for content in (b"", b"RIFF", b"RIFF\x24\x00\x00\x00WAVEfmt ", bytes(range(256)) * 50, b"ID3" + bytes(500)):
        broken = tmp_path / "broken.wav"
        broken.write_bytes(content)
        with pytest.raises(UserError) as refused:
            Recording(broken)
        assert "\n" not in str(refused.value)
    with pytest.raises(UserError, match="no such recording"):
        Recording(tmp_path / "nowhere.wav")


def test_three_hours_are_read_where_they_are_needed(tmp_path: Path) -> None:
    path = tmp_path / "long.wav"
    rate, hours = 8000, 3
    soundfile.write(path, np.zeros(rate, np.float32), rate, subtype="PCM_U8")
    size = path.stat().st_size - rate + hours * 3600 * rate
    with path.open("r+b") as file:
        file.truncate(size)  # a hole: it takes no room on the disk
        for place, value in ((4, size - 8), (size - (hours * 3600 * rate) - 4, hours * 3600 * rate)):
            file.seek(place)
            file.write(value.to_bytes(4, "little"))
    recording = Recording(path)
    assert recording.seconds == pytest.approx(hours * 3600)
    recorded = Tied(recording, 10000.0, 90.0, Fraction(3, 8), Fraction(0))
    assert len(recorded.cut(Fraction(0), Fraction(3, 4), 2 * RATE, RATE)) > 2 * RATE
