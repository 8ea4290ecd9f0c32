"""A writer of SoundFont 2.04 files: values in, bytes out, nothing else.

Follows "SoundFont Technical Specification, version 2.04" (2006); the sections are named beside what they ask for.
Only what this project needs: mono samples at one level of quality, one zone a key range, no modulators.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from companion.sound.reeds import Looped

AFTER_SAMPLE = 46  # zero points that follow each sample (section 6.1)

# Generators (section 8.1.2).
KEY_RANGE, SAMPLE_MODES, RELEASE, SAMPLE_ID, INSTRUMENT = 43, 54, 38, 53, 41
PAN = 17


@dataclass(frozen=True, slots=True, eq=False)
class Sample:
    """One mono sample: its name (20 bytes at most), its wave, the MIDI pitch that it sounds, cents to correct it by."""

    name: str
    wave: Looped
    pitch: int
    correction: int = 0


@dataclass(frozen=True, slots=True)
class Zone:
    """The keys from `low` to `high` sound sample number `sample`; generators in `more` come before it."""

    low: int
    high: int
    sample: int
    more: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class FontInstrument:
    """Zones under one name; all of those whose keys match sound together."""

    name: str
    zones: tuple[Zone, ...]


@dataclass(frozen=True, slots=True)
class Preset:
    """What a MIDI program number chooses."""

    name: str
    program: int
    instrument: int
    bank: int = 0


@dataclass(frozen=True, slots=True)
class SoundFont:
    """A whole bank."""

    name: str
    comment: str
    rate: int
    samples: tuple[Sample, ...]
    instruments: tuple[FontInstrument, ...]
    presets: tuple[Preset, ...]
    info: tuple[tuple[bytes, str], ...] = field(default=())


def timecents(seconds: float) -> int:
    """Seconds as the specification counts them: 1200 log2 (section 8.1.2)."""
    from math import log2

    return round(1200 * log2(seconds))


def to_bytes(font: SoundFont) -> bytes:
    """The file's bytes (section 3.2: INFO, sdta and pdta in this order)."""
    body = b"sfbk" + _info(font) + _samples(font) + _tables(font)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def _chunk(name: bytes, data: bytes) -> bytes:
    return name + struct.pack("<I", len(data)) + data + b"\0" * (len(data) % 2)


def _list(name: bytes, *chunks: bytes) -> bytes:
    return _chunk(b"LIST", name + b"".join(chunks))


def _text(text: str) -> bytes:
    """Text with one or two zero bytes at its end, so that its length is even (section 5)."""
    raw = text.encode("ascii")[:254]
    return raw + b"\0" * (2 - len(raw) % 2)


def _info(font: SoundFont) -> bytes:
    return _list(
        b"INFO",
        _chunk(b"ifil", struct.pack("<HH", 2, 4)),
        _chunk(b"isng", _text("EMU8000")),
        _chunk(b"INAM", _text(font.name)),
        *(_chunk(key, _text(value)) for key, value in font.info),
        _chunk(b"ICMT", _text(font.comment)),
    )


def _samples(font: SoundFont) -> bytes:
    import numpy as np

    parts = []
    for sample in font.samples:
        if np.abs(sample.wave.wave).max() > 1:
            raise ValueError(f"sample {sample.name} is louder than full scale")
        parts += [np.round(sample.wave.wave * 32767).astype("<i2").tobytes(), bytes(2 * AFTER_SAMPLE)]
    return _list(b"sdta", _chunk(b"smpl", b"".join(parts)))


def _name(name: str) -> bytes:
    raw = name.encode("ascii")
    if len(raw) > 19:
        raise ValueError(f"{name!r} has more than the 19 letters that a name may have")
    return raw.ljust(20, b"\0")


def _tables(font: SoundFont) -> bytes:
    """The nine tables of pdta, each with its terminal record (section 7)."""
    presets, preset_bags, preset_gens = b"", b"", b""
    for number, preset in enumerate(font.presets):
        presets += _name(preset.name) + struct.pack("<HHHIII", preset.program, preset.bank, number, 0, 0, 0)
        preset_bags += struct.pack("<HH", number, 0)
        preset_gens += struct.pack("<HH", INSTRUMENT, preset.instrument)
    presets += _name("EOP") + struct.pack("<HHHIII", 0, 0, len(font.presets), 0, 0, 0)
    preset_bags += struct.pack("<HH", len(font.presets), 0)

    instruments, bags, gens = b"", b"", b""
    bag = gen = 0
    for instrument in font.instruments:
        instruments += _name(instrument.name) + struct.pack("<H", bag)
        for zone in instrument.zones:
            bags += struct.pack("<HH", gen, 0)
            zone_gens = _zone(zone)
            gens += zone_gens
            gen += len(zone_gens) // 4
            bag += 1
    instruments += _name("EOI") + struct.pack("<H", bag)
    bags += struct.pack("<HH", gen, 0)

    nothing = bytes(10)  # no modulators: the terminal record alone
    return _list(
        b"pdta",
        _chunk(b"phdr", presets),
        _chunk(b"pbag", preset_bags),
        _chunk(b"pmod", nothing),
        _chunk(b"pgen", preset_gens + bytes(4)),
        _chunk(b"inst", instruments),
        _chunk(b"ibag", bags),
        _chunk(b"imod", nothing),
        _chunk(b"igen", gens + bytes(4)),
        _chunk(b"shdr", _headers(font)),
    )


def _zone(zone: Zone) -> bytes:
    """Key range first, sample last (section 8.1.2)."""
    gens = struct.pack("<HBB", KEY_RANGE, zone.low, zone.high)
    gens += b"".join(struct.pack("<Hh", generator, amount) for generator, amount in zone.more)
    return gens + struct.pack("<HH", SAMPLE_ID, zone.sample)


def _headers(font: SoundFont) -> bytes:
    records, at = b"", 0
    for sample in font.samples:
        length = len(sample.wave.wave)
        loop = (at + sample.wave.start, at + sample.wave.end)
        records += _name(sample.name) + struct.pack(
            "<IIIIIBbHH", at, at + length, *loop, font.rate, sample.pitch, sample.correction, 0, 1
        )
        at += length + AFTER_SAMPLE
    return records + _name("EOS") + bytes(26)
