"""Soundfonts of the player's own: what is broken is said in one sentence, what is whole is played."""

from __future__ import annotations

import io
import struct
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.errors import UserError
from companion.places import shipped
from companion.sound import soundfont
from companion.sound.bank import VORBIS, open_bank
from companion.sound.reeds import Looped
from companion.sound.soundfont import FontInstrument, Preset, Sample, SoundFont, Zone
from companion.sound.tones import Tones
from tests.sound.pitch import cents_off

RATE = 44100


def sine_font(
    rate: int = 22050, more: tuple[tuple[int, int], ...] = ((soundfont.SAMPLE_MODES, 1),), correction: int = 0
) -> SoundFont:
    """One looped sine at A4 over all keys, with so many cents of pitch correction."""
    wave = 0.5 * np.sin(2 * np.pi * 440 * np.arange(rate + 64) / rate)
    sample = Sample("Sine", Looped(wave, rate // 2, rate), 69, correction)
    zone = Zone(0, 127, 0, more)
    return SoundFont("Sine", "", rate, (sample,), (FontInstrument("Sine", (zone,)),), (Preset("Sine", 3, 0, bank=1),))


@pytest.mark.parametrize(
    "content", [b"", b"RIFF", b"not a soundfont at all" * 100, b"RIFF\x10\0\0\0WAVEfmt ", bytes(4000)]
)
def test_what_is_no_soundfont_is_said_so(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "own.sf2"
    path.write_bytes(content)
    with pytest.raises(UserError, match="not a complete SoundFont 2") as caught:
        open_bank(path)
    assert caught.value.place is not None
    assert caught.value.place.file == path


def test_one_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="cannot be read"):
        open_bank(tmp_path / "none.sf2")
    with pytest.raises(UserError, match="cannot be read"):
        open_bank(tmp_path)


def test_another_rate_key_and_concert_pitch(tmp_path: Path) -> None:
    """A sine sampled at 22,050 Hz sounds any key in tune, for longer than it is, at any concert pitch."""
    path = tmp_path / "sine.sf2"
    path.write_bytes(soundfont.to_bytes(sine_font()))
    bank = open_bank(path)
    for concert in (430.0, 440.0, 450.0):
        tones = Tones(bank, RATE, concert)
        for key in (57, 69, 70, 88):
            wave = tones.tone(3, key, 127, 3 * RATE, bank=1)[RATE : 3 * RATE, 0]
            assert len(wave) == 2 * RATE
            assert abs(cents_off(wave, RATE, key, concert)) < 0.2


@pytest.mark.parametrize("correction", [-99, -20, 1, 35])
def test_the_pitch_correction_of_a_sample_is_applied(tmp_path: Path, correction: int) -> None:
    """Section 7.10: cents that are to be applied to the sample on playback."""
    path = tmp_path / "sine.sf2"
    path.write_bytes(soundfont.to_bytes(sine_font(correction=correction)))
    tones = Tones(open_bank(path), RATE, 440.0)
    for key in (57, 69, 81):
        wave = tones.tone(3, key, 127, 3 * RATE, bank=1)[RATE : 3 * RATE, 0]
        assert cents_off(wave, RATE, key, 440.0) == pytest.approx(correction, abs=0.2)


def test_generators_change_what_is_heard(tmp_path: Path) -> None:
    def peak(*more: tuple[int, int], velocity: int = 127) -> tuple[float, float]:
        path = tmp_path / "one.sf2"
        path.write_bytes(soundfont.to_bytes(sine_font(more=((soundfont.SAMPLE_MODES, 1), *more))))
        tone = Tones(open_bank(path), RATE).tone(3, 69, velocity, RATE, bank=1)
        return float(np.abs(tone[:, 0]).max()), float(np.abs(tone[:, 1]).max())

    plain = peak()
    assert plain[0] == pytest.approx(plain[1]) == pytest.approx(0.25, abs=0.01)
    assert peak((17, 500)) == (0.0, pytest.approx(2 * plain[1]))  # pan: right
    assert peak((48, 500))[0] == pytest.approx(plain[0] / 10)  # 50 dB as written, 20 dB as played (0.4)
    assert peak(velocity=64)[0] == pytest.approx(plain[0] * (64 / 127) ** 2, rel=0.01)
    path = tmp_path / "one.sf2"
    path.write_bytes(soundfont.to_bytes(sine_font(more=((soundfont.SAMPLE_MODES, 1), (34, -1200), (51, 12)))))
    wave = Tones(open_bank(path), RATE).tone(3, 69, 127, 2 * RATE, bank=1)[:, 0]
    assert np.abs(wave[: RATE // 10]).max() < 0.25 * np.abs(wave[RATE:]).max()  # attack of half a second
    assert abs(cents_off(wave[RATE:], RATE, 81)) < 0.2  # an octave up


def test_vorbis_samples(tmp_path: Path) -> None:
    """.sf3 as it is found in the wild: each sample an Ogg Vorbis stream, start and end in bytes, loops in points."""
    rate = 44100
    wave = 0.5 * np.sin(2 * np.pi * 440 * np.arange(rate) / rate)
    stream = io.BytesIO()
    soundfile.write(stream, wave, rate, format="OGG", subtype="VORBIS")
    font = sine_font()
    data = soundfont.to_bytes(font)
    packed = stream.getvalue() + b"\0" * (len(stream.getvalue()) % 2)
    smpl = data.index(b"smpl")
    old = struct.unpack_from("<I", data, smpl + 4)[0]
    data = data[: smpl + 4] + struct.pack("<I", len(packed)) + packed + data[smpl + 8 + old :]
    header = data.index(b"shdr") + 8
    fields = [0, len(packed), rate // 2 - rate // 2 % 441, rate - rate % 441, rate]
    record = b"Sine".ljust(20, b"\0") + struct.pack("<IIIIIBbHH", *fields, 69, 0, 0, VORBIS | 1)
    data = data[:header] + record + data[header + 46 :]
    sdta = data.index(b"sdta") - 4
    data = data[:sdta] + struct.pack("<I", len(packed) + 12) + data[sdta + 4 :]
    path = tmp_path / "sine.sf3"
    path.write_bytes(data)
    tone = Tones(open_bank(path), RATE).tone(3, 69, 127, 3 * RATE, bank=1)[RATE : 3 * RATE, 0]
    assert abs(cents_off(tone, RATE, 69)) < 0.2
    assert np.abs(tone).max() == pytest.approx(0.25, abs=0.02)


SMALL = soundfont.to_bytes(sine_font(4410))


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(st.tuples(st.integers(0, len(SMALL) - 1), st.integers(0, 255)), max_size=12),
    st.integers(0, len(SMALL)),
)
def test_damage_is_a_sentence_or_is_played(tmp_path: Path, changes: list[tuple[int, int]], cut: int) -> None:
    """Random damage (simulated): nothing but our own error comes out, and never a wild read."""
    data = bytearray(SMALL)
    for place, value in changes:
        # Most of the file is samples; the tables at its end are what can hurt.
        data[-1 - place if place < 700 else place] = value
    path = tmp_path / "hurt.sf2"
    path.write_bytes(bytes(data[:cut] if cut % 3 == 0 else data))
    try:
        tone = Tones(open_bank(path), RATE).tone(3, 69, 127, RATE // 4, bank=1)
    except UserError:
        return
    assert tone.ndim == 2


def test_the_shipped_one_has_the_programs_that_the_settings_name() -> None:
    from companion.sound.sound_settings import sound_settings, soundfont_path

    sf2utils = pytest.importorskip("sf2utils.sf2parse")
    voices = sound_settings().voices
    with soundfont_path(voices).open("rb") as file:
        presets = sf2utils.Sf2File(file).presets
    names = {one.preset: one.name for one in presets if hasattr(one, "preset")}
    assert names[voices.melody] == "Light tremolo"
    assert (names[voices.bass], names[voices.chord], names[voices.click]) == ("Bass", "Chord", "Click")
    assert soundfont_path(voices) == shipped("soundfonts", "reeds.sf2")
