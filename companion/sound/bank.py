"""A reader of SoundFont 2 banks (`.sf2`, and `.sf3` whose samples are Ogg Vorbis): which waves a key sounds, and how.

Why not a library: the ones that install everywhere from wheels were measured and do not keep what a practice voice
needs. The best of them (symusic 0.5.9) mutes the first millisecond of every note, ignores releases and velocities,
plays a sample that two presets share with the tuning of whichever came first, and ends loops on whole points after it
has resampled.

Read from "SoundFont Technical Specification 2.04". Left out: filters, the second envelope, the oscillators and a file's
own modulators; of the default modulators, velocity to attenuation is kept. Every index is checked: a broken file gives
one sentence, never a wild read.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from companion.errors import Place, UserError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Points = NDArray[np.float32]

RECORDS = {
    "phdr": "S20,<u2,<u2,<u2,<u4,<u4,<u4",
    "pbag": "<u2,<u2",
    "pgen": "<u2,<i2",
    "inst": "S20,<u2",
    "ibag": "<u2,<u2",
    "igen": "<u2,<i2",
    "shdr": "S20,<u4,<u4,<u4,<u4,<u4,u1,i1,<u2,<u2",
}
START, END, LOOP_START, LOOP_END = 0, 1, 2, 3
START_COARSE, END_COARSE, LOOP_START_COARSE, LOOP_END_COARSE = 4, 12, 45, 50
PAN, ATTACK, HOLD, DECAY, SUSTAIN = 17, 34, 35, 36, 37
INSTRUMENT, KEYS, VELOCITIES, KEY, ATTENUATION = 41, 43, 44, 46, 48
COARSE, FINE, SAMPLE, MODES, SCALE, ROOT = 51, 52, 53, 54, 56, 58
DEFAULTS = {
    ATTACK: -12000,
    HOLD: -12000,
    DECAY: -12000,
    SCALE: 100,
    KEY: -1,
    ROOT: -1,
    KEYS: 127 << 8,
    VELOCITIES: 127 << 8,
}
NOT_ADDED = {KEYS, VELOCITIES, INSTRUMENT}  # of a preset's generators: ranges are cut, the instrument is a link
VORBIS = 0x10  # sample type flag of .sf3: the sample is an Ogg Vorbis stream, and its points are bytes
OCTAVES = 8  # a sample is bent no further, whatever a damaged file asks for
OWN_LIMIT = 2_000_000_000  # bytes: what is longer is no soundfont that a practice program should load


_Zone = tuple[dict[int, int], int, int, int, int]  # generators; the lowest and highest key and velocity


@dataclass(frozen=True, slots=True)
class Layer:
    """One sample as one key sounds it.

    `wave` is its number in the bank; `step` how many of its points go by in a point of the output at A = 440, given
    `rate` of the output; `gain` is (left, right); `attack`, `hold`, `decay` are seconds, `sustain` a factor.
    """

    wave: int
    first: int
    last: int
    loop: tuple[int, int] | None
    step: float
    gain: tuple[float, float]
    attack: float
    hold: float
    decay: float
    sustain: float


class Bank:
    """A soundfont file, read. Use :func:`open_bank`."""

    def __init__(self, path: Path, data: bytes) -> None:
        self.path = path
        self._data = data
        self._tables = _tables(path, data)
        self._decoded: dict[int, Points] = {}
        self._parsed: dict[tuple[str, int], list[_Zone]] = {}

    def layers(self, program: int, key: int, velocity: int, rate: int, bank: int = 0) -> tuple[Layer, ...]:
        """What a key sounds: nothing at all where the preset has no zone for it."""
        found: list[Layer] = []
        for row, record in enumerate(self._tables["phdr"][:-1]):
            if (record[2], record[1]) != (bank, program):
                continue
            for zone in self._zones("phdr", row, 3, "pbag", "pgen", INSTRUMENT, key, velocity):
                for inner in self._zones("inst", zone[INSTRUMENT], 1, "ibag", "igen", SAMPLE, key, velocity):
                    layer = self._layer(zone, inner, key, velocity, rate)
                    if layer is not None:
                        found.append(layer)
        return tuple(found)

    def wave(self, number: int) -> Points:
        """Points of a sample, full scale being 1; read once."""
        if number not in self._decoded:
            self._decoded[number] = self._read(number)
        return self._decoded[number]

    def _zones(
        self, table: str, row: int, field: int, bags: str, gens: str, link: int, key: int, velocity: int
    ) -> list[dict[int, int]]:
        """Generators of each zone that holds this key and velocity."""
        name = (table, row)
        if name not in self._parsed:
            self._parsed[name] = self._all_zones(table, row, field, bags, gens, link)
        return [
            zone
            for zone, low, high, least, most in self._parsed[name]
            if low <= key <= high and least <= velocity <= most
        ]

    def _all_zones(self, table: str, row: int, field: int, bags: str, gens: str, link: int) -> list[_Zone]:
        """Every zone of a preset or instrument with its ranges; a zone with no link at the end is for all after it."""
        rows = self._tables[table]
        if not 0 <= row < len(rows) - 1:
            return []
        common: dict[int, int] = {}
        found: list[_Zone] = []
        for number in range(int(rows[row][field]), min(int(rows[row + 1][field]), len(self._tables[bags]) - 1)):
            first, last = (int(self._tables[bags][number + i][0]) for i in (0, 1))
            zone = common | dict(self._tables[gens][first:last].tolist())
            if link not in zone:
                common = zone
            else:
                keys, velocities = (zone.get(which, 127 << 8) for which in (KEYS, VELOCITIES))
                found.append((zone, keys & 0xFF, keys >> 8 & 0xFF, velocities & 0xFF, velocities >> 8 & 0xFF))
        return found

    def _layer(self, outer: dict[int, int], zone: dict[int, int], key: int, velocity: int, rate: int) -> Layer | None:
        number = zone[SAMPLE] & 0xFFFF
        if number >= len(self._tables["shdr"]) - 1:
            return None
        header = self._tables["shdr"][number]

        def value(generator: int) -> int:
            added = outer.get(generator, 0) if generator not in NOT_ADDED else 0
            return zone.get(generator, DEFAULTS.get(generator, 0)) + added

        length = len(self.wave(number))
        packed = bool(int(header[9]) & VORBIS)
        origin = 0 if packed else int(header[1])
        first = max(0, value(START) + 32768 * value(START_COARSE))
        last = min(length, length + value(END) + 32768 * value(END_COARSE))
        loop = (
            int(header[3]) - origin + value(LOOP_START) + 32768 * value(LOOP_START_COARSE),
            int(header[4]) - origin + value(LOOP_END) + 32768 * value(LOOP_END_COARSE),
        )
        looped = zone.get(MODES, 0) in (1, 3) and first <= loop[0] < loop[1] <= last
        root = zone.get(ROOT, -1) if 0 <= zone.get(ROOT, -1) <= 127 else int(header[6])
        root = root if root <= 127 else 60
        sounded = zone.get(KEY, -1) if 0 <= zone.get(KEY, -1) <= 127 else key
        cents = (sounded - root) * value(SCALE) + 100 * value(COARSE) + value(FINE) + int(header[7])
        # The default modulator from velocity, and 0.4 dB for each written one of attenuation, as players of the format
        # do.
        gain = (velocity / 127) ** 2 * 10 ** (-0.4 * max(0, value(ATTENUATION)) / 200)
        pan = min(500, max(-500, value(PAN))) / 1000
        sustain: float = 10 ** (-min(1440, max(0, value(SUSTAIN))) / 200)
        return Layer(
            number,
            first,
            last,
            loop if looped else None,
            2 ** (min(OCTAVES * 1200, max(-OCTAVES * 1200, cents)) / 1200) * _own_rate(int(header[5]), rate) / rate,
            (gain * (0.5 - pan), gain * (0.5 + pan)),
            _seconds(value(ATTACK)),
            _seconds(value(HOLD)),
            _seconds(value(DECAY)),
            sustain,
        )

    def _read(self, number: int) -> Points:
        import numpy as np

        header = self._tables["shdr"][number]
        start, end = int(header[1]), int(header[2])
        where, size = self._tables["smpl"]
        if int(header[9]) & VORBIS:
            if not 0 <= start <= end <= size:
                raise _broken(self.path)
            return _vorbis(self.path, self._data[where + start : where + end])
        if not 0 <= 2 * start <= 2 * end <= size:
            raise _broken(self.path)
        points = np.frombuffer(self._data, "<i2", end - start, where + 2 * start)
        return points.astype(np.float32) / np.float32(32768)


def open_bank(path: Path) -> Bank:
    """Read a soundfont.

    Raises
    ------
    UserError : the file is not there, cannot be read, or is no SoundFont 2.
    """
    try:
        if path.stat().st_size > OWN_LIMIT:
            raise UserError("this soundfont is larger than 2 GB; choose a smaller one.", Place(path))
        data = path.read_bytes()
    except OSError as error:
        reason = (error.strerror or "it cannot be opened").lower()
        raise UserError(f"the soundfont cannot be read ({reason}); check its name.", Place(path)) from error
    return Bank(path, data)


def _own_rate(written: int, rate: int) -> int:
    """A sample's rate; where what is written cannot be, the output's own."""
    return written if 400 <= written <= 200_000 else rate


def _seconds(timecents: int) -> float:
    """Timecents as seconds; the shortest time stands for none at all."""
    return float(2 ** (min(timecents, 8000) / 1200)) if timecents > -12000 else 0.0


def _broken(path: Path) -> UserError:
    return UserError("this is not a complete SoundFont 2 file; choose another .sf2 or .sf3.", Place(path))


def _tables(path: Path, data: bytes) -> dict[str, Any]:
    """The tables of pdta as numpy records, and where the samples lie."""
    import numpy as np

    if data[:4] != b"RIFF" or data[8:12] != b"sfbk":
        raise _broken(path)
    found: dict[str, Any] = {}
    for name, start, size in _chunks(data, 12, len(data)):
        if name == b"LIST":
            for inner, at, length in _chunks(data, start + 4, start + size):
                label = inner.decode("latin-1")
                if label == "smpl":
                    found[label] = (at, min(length, len(data) - at))
                elif label in RECORDS:
                    kind = np.dtype(RECORDS[label])
                    whole = min(length, len(data) - at) // kind.itemsize
                    found[label] = np.frombuffer(data, kind, whole, at)
    wanted = {*RECORDS, "smpl"}
    if not wanted <= found.keys() or any(len(found[name]) < 1 for name in RECORDS):
        raise _broken(path)
    return found


def _chunks(data: bytes, at: int, end: int) -> list[tuple[bytes, int, int]]:
    """(name, start, size) of the chunks between two places; sizes that run past the end are cut there."""
    found = []
    while at + 8 <= min(end, len(data)):
        name, size = struct.unpack_from("<4sI", data, at)
        found.append((name, at + 8, min(size, len(data) - at - 8)))
        at += 8 + size + size % 2
    return found


def _vorbis(path: Path, stream: bytes) -> Points:
    import io

    import soundfile

    try:
        points, _ = soundfile.read(io.BytesIO(stream), dtype="float32", always_2d=True)
    except (soundfile.SoundFileError, RuntimeError) as error:
        raise _broken(path) from error
    mono: Points = points[:, 0]
    return mono
