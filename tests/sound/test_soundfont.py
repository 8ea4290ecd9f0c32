"""The reed soundfont: by the SoundFont 2.04 specification, by an outside parser, by FluidSynth, and by ear of an
FFT.
"""

from __future__ import annotations

import struct
import subprocess
import tomllib
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from companion.places import shipped
from companion.sound.bank import Bank, open_bank
from companion.sound.tones import Tones
from tests.sound.pitch import cents_off, rise

FONT = shipped("soundfonts", "reeds.sf2")
RATE = 44100
DRY, LIGHT, STRONG, BASS, CHORD, CLICK, BLOCK = range(7)
SHDR = struct.Struct("<20sIIIIIBbHH")


@pytest.fixture(scope="module")
def bank() -> Bank:
    return open_bank(FONT)


@pytest.fixture(scope="module")
def chunks() -> dict[str, bytes]:
    """Every chunk by its name, walked here by the specification's own rules."""
    data = FONT.read_bytes()
    found: dict[str, bytes] = {}
    order: list[str] = []

    def walk(at: int, end: int) -> None:
        while at < end:
            name, size = data[at : at + 4].decode("ascii"), struct.unpack_from("<I", data, at + 4)[0]
            order.append(name)
            if name in ("RIFF", "LIST"):
                order.append(data[at + 8 : at + 12].decode("ascii"))
                walk(at + 12, at + 8 + size)
            else:
                found[name] = data[at + 8 : at + 8 + size]
            assert size % 2 == 0, f"{name}: odd sizes must be padded"
            at += 8 + size
        assert at == end

    walk(0, len(data))
    found["order"] = " ".join(order).encode()
    return found


def test_chunks_are_there_in_the_order_of_section_4_1(chunks: dict[str, bytes]) -> None:
    order = chunks["order"].decode().split()
    assert order[:3] == ["RIFF", "sfbk", "LIST"]
    assert order.index("INFO") < order.index("sdta") < order.index("pdta")
    assert order[order.index("pdta") + 1 :] == ["phdr", "pbag", "pmod", "pgen", "inst", "ibag", "imod", "igen", "shdr"]
    assert {"ifil", "isng", "INAM"} <= set(order)
    assert struct.unpack("<HH", chunks["ifil"]) == (2, 4)


def test_records_and_terminals_of_section_7(chunks: dict[str, bytes]) -> None:
    sizes = {"phdr": 38, "pbag": 4, "pmod": 10, "pgen": 4, "inst": 22, "ibag": 4, "imod": 10, "igen": 4, "shdr": 46}
    assert all(len(chunks[name]) % size == 0 and chunks[name] for name, size in sizes.items())
    for name, end in (("phdr", b"EOP"), ("inst", b"EOI"), ("shdr", b"EOS")):
        assert chunks[name][-sizes[name] :][:20].rstrip(b"\0") == end
    # The terminal bags point one past the last generator; the terminal instrument one past the last bag.
    assert struct.unpack("<HH", chunks["ibag"][-4:])[0] == len(chunks["igen"]) // 4 - 1
    assert struct.unpack("<HH", chunks["pbag"][-4:])[0] == len(chunks["pgen"]) // 4 - 1
    assert struct.unpack("<H", chunks["inst"][-2:])[0] == len(chunks["ibag"]) // 4 - 1


def test_samples_keep_the_rules_of_sections_6_and_7_10(chunks: dict[str, bytes]) -> None:
    points = np.frombuffer(chunks["smpl"], "<i2")
    headers = list(SHDR.iter_unpack(chunks["shdr"]))[:-1]
    assert len(headers) > 150
    for name, start, end, loop, after, rate, pitch, correction, _link, kind in headers:
        assert 400 <= rate <= 50000
        assert kind == 1
        assert 0 <= pitch <= 127
        assert abs(correction) <= 99
        assert end - start >= 48
        assert not points[end : end + 46].any(), f"{name!r}: 46 zero points"
        if after > loop:
            assert after - loop >= 32
            assert start + 8 <= loop
            assert after + 8 <= end
            # Eight points round both ends of the loop are the same: going round is as going on.
            assert np.array_equal(points[loop - 8 : loop + 8], points[after - 8 : after + 8]), name


def test_no_click_at_the_loop(bank: Bank) -> None:
    """The steepest bend at the seam is no steeper than elsewhere in the steady sound."""
    tones = Tones(bank, RATE)
    for program, keys in ((DRY, range(45, 97, 3)), (STRONG, range(45, 97, 9)), (BASS, range(36, 60, 5))):
        for key in keys:
            layer = bank.layers(program, key, 127, RATE)[0]
            assert layer.loop is not None
            wave = tones.tone(program, key, 127, layer.loop[1] + 3000)[:, 0]
            bend = np.abs(np.diff(wave, 2))
            seam = layer.loop[1]
            assert bend[seam - 4 : seam + 4].max() <= 1.01 * bend[seam - 3000 : seam - 10].max(), (program, key)


@pytest.mark.parametrize("program", [DRY, LIGHT, STRONG])
def test_every_reed_is_within_a_cent_of_equal_temperament(bank: Bank, program: int) -> None:
    tones = Tones(bank, RATE)
    for key in range(45, 97, 1 if program == DRY else 5):
        # The second reed of the lowest pairs is a third of a hertz away: long enough to tell the two apart.
        last = 2 * RATE if program == DRY else 5 * RATE
        wave = tones.tone(program, key, 127, last)[RATE // 2 : last, 0]
        assert abs(cents_off(wave, RATE, key)) < 1.0, key


@pytest.mark.parametrize("program", [BASS, CHORD])
def test_so_are_basses_and_chords(bank: Bank, program: int) -> None:
    tones = Tones(bank, RATE)
    for key in range(36, 60) if program == BASS else range(48, 72):
        wave = tones.tone(program, key, 127, 2 * RATE)[RATE // 2 : 2 * RATE, 0]
        assert abs(cents_off(wave, RATE, key)) < 1.0, key


@pytest.mark.parametrize("program", [LIGHT, STRONG])
def test_the_second_reed_beats_as_published(bank: Bank, program: int) -> None:
    """Beats a second at A4, from the cents of the table: 5 cents 1.3 Hz, 18 cents 4.6 Hz."""
    wave = Tones(bank, RATE).tone(program, 69, 127, 9 * RATE)[RATE : 9 * RATE, 0]
    spectrum = np.abs(np.fft.rfft(wave * np.hanning(len(wave)), 8 * len(wave)))
    hertz = np.fft.rfftfreq(8 * len(wave), 1 / RATE)
    near = (hertz > 440.5) & (hertz < 450)
    beats = hertz[near][spectrum[near].argmax()] - 440
    assert beats == pytest.approx({LIGHT: 1.3, STRONG: 4.6}[program], abs=0.06)


def test_low_reeds_speak_more_slowly(bank: Bank) -> None:
    """20 to 60 ms for middle reeds, over 100 ms for the lowest basses (from memory; longer for low reeds:
    Cottingham, modes of reed vibration and attack).
    """
    tones = Tones(bank, RATE)
    times = [rise(tones.tone(DRY, key, 127, RATE)[: RATE // 2, 0], RATE) for key in (50, 62, 74, 86)]
    assert times == sorted(times, reverse=True)
    assert 0.01 < times[1] < 0.06


def test_clicks_are_two_pitches_and_short(bank: Bank) -> None:
    tones = Tones(bank, RATE)
    for program in (CLICK, BLOCK):
        high, low = (tones.tone(program, key, 127, RATE)[:, 0] for key in (76, 77))
        assert len(high) < 0.1 * RATE
        peaks = [np.abs(np.fft.rfft(wave, RATE)).argmax() for wave in (high, low)]
        assert peaks[0] > 1.2 * peaks[1]
        assert np.abs(high[:10]).max() > 0.5 * np.abs(high).max()


def test_harmonics_roll_off(bank: Bank) -> None:
    """About 6 dB an octave up to 2 or 3 kHz, then faster (from memory): measured on A3, within 3 dB."""
    wave = Tones(bank, RATE).tone(DRY, 57, 127, 2 * RATE)[RATE : 2 * RATE, 0]
    level = 20 * np.log10(np.abs(np.fft.rfft(wave * np.hanning(RATE))))
    partial = [level[220 * k - 2 : 220 * k + 3].max() for k in range(1, 61)]
    assert partial[0] - partial[7] == pytest.approx(18, abs=3)
    assert partial[15] - partial[31] > 12


def test_an_outside_parser_reads_it() -> None:
    sf2utils = pytest.importorskip("sf2utils.sf2parse")
    with FONT.open("rb") as file:
        font = sf2utils.Sf2File(file)
        assert [p.name for p in font.presets][:7] == [
            "Dry", "Light tremolo", "Strong tremolo", "Bass", "Chord", "Click", "Wood-block",
        ]  # fmt: skip
        assert len(font.samples) == 1 + 3 * 52 + 24 + 24 + 4
        bags = [bag for instrument in font.instruments[:-1] for bag in instrument.bags]
        assert all(bag.sample is not None for bag in bags)


def fluid(program: int, keys: list[int]) -> NDArray[np.float64]:
    """Two seconds of each key and half a second of rest, played by FluidSynth."""
    fluidsynth = pytest.importorskip("fluidsynth")
    synth = fluidsynth.Synth(gain=0.8, samplerate=float(RATE))
    number = synth.sfload(str(FONT))
    assert number >= 0
    assert synth.program_select(0, number, 0, program) == 0
    synth.set_reverb(level=0.0)
    synth.set_chorus(level=0.0)
    parts = []
    for key in keys:
        synth.noteon(0, key, 127)
        parts.append(synth.get_samples(2 * RATE))
        synth.noteoff(0, key)
        parts.append(synth.get_samples(RATE // 2))
    synth.delete()
    return np.concatenate(parts).reshape(-1, 2)[:, 0] / 32768


@pytest.mark.parametrize("program", [DRY, STRONG])
def test_fluidsynth_plays_it_in_tune(program: int) -> None:
    keys = [50, 62, 69, 83, 90]
    wave = fluid(program, keys)
    for number, key in enumerate(keys):
        first = number * 5 * RATE // 2
        part = wave[first + RATE // 4 : first + 2 * RATE]
        assert np.sqrt(np.mean(part**2)) > 0.02, key
        assert abs(cents_off(part, RATE, key)) < 1.0, key
        # Released, it is gone within the half second.
        assert np.abs(wave[first + round(2.3 * RATE) : first + round(2.45 * RATE)]).max() < 0.002


def test_our_reader_and_fluidsynth_hear_the_same(bank: Bank) -> None:
    """The steady sound of one key, harmonic by harmonic, within half a decibel."""
    ours = Tones(bank, RATE).tone(DRY, 69, 127, 2 * RATE)[RATE // 2 : 3 * RATE // 2, 0]
    theirs = fluid(DRY, [69])[RATE // 2 : 3 * RATE // 2]
    levels = []
    for wave in (ours, theirs):
        spectrum = 20 * np.log10(np.abs(np.fft.rfft(wave * np.hanning(RATE))))
        levels.append(np.array([spectrum[440 * k - 2 : 440 * k + 3].max() for k in range(1, 13)]))
    difference = levels[0] - levels[1]
    assert np.abs(difference - difference.mean()).max() < 0.5


def test_the_table_is_the_program_s_own() -> None:
    """The builder reads the shipped table only: a player's own copy does not change what the soundfont should be."""
    with shipped("config", "sound.toml").open("rb") as file:
        assert set(tomllib.load(file)) >= {"reeds", "basses", "clicks", "score", "voices", "speaker"}


def test_the_command_builds_the_very_file(tmp_path: Path) -> None:
    import sys

    out = tmp_path / "own.sf2"
    done = subprocess.run(
        [sys.executable, "-m", "companion.sound.build_soundfont", str(out)], capture_output=True, check=True
    )
    assert str(len(out.read_bytes())).encode() in done.stdout
    assert out.read_bytes() == FONT.read_bytes()
    assert FONT.stat().st_size < 4_000_000
