"""Builds `soundfonts/reeds.sf2`: ``python -m companion.sound.build_soundfont [OUT.sf2]``. The same bytes every time."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from companion.places import shipped
from companion.sound import reeds, soundfont
from companion.sound.reeds import ReedTable, db
from companion.sound.soundfont import FontInstrument, Preset, Sample, SoundFont, Zone
from companion.toml_file import read_toml
from companion.whole_file import whole_file

# Loops in points: long where they hold bellows noise, short where there is only the reed.
LONG, SHORT, LOW = 6500, 2200, 6000


def build() -> bytes:
    """The soundfont's bytes, from the tables that come with the program."""
    return soundfont.to_bytes(font(read_toml(shipped("config", "sound.toml")).data))


def font(tables: dict[str, Any]) -> SoundFont:
    """The soundfont as a value, from the tables of `config/sound.toml`."""
    table = ReedTable(**tables["reeds"])
    samples: list[Sample] = []
    release = ((soundfont.RELEASE, soundfont.timecents(table.release_s)), (soundfont.SAMPLE_MODES, 1))

    def zones(made: list[Sample]) -> tuple[Zone, ...]:
        first = len(samples)
        samples.extend(made)
        return tuple(Zone(one.pitch, one.pitch, first + i, release) for i, one in enumerate(made))

    compass = range(table.lowest, table.highest + 1)
    one = zones([_reed("Reed", pitch, table, 0.0, LONG, 1000 + pitch) for pitch in compass])
    second = _scaled(table, db(table.second_db))
    light = zones([_reed("Light", p, second, table.light_cents, SHORT, 2000 + p, breath=False) for p in compass])
    strong = zones([_reed("Strong", p, second, table.strong_cents, SHORT, 3000 + p, breath=False) for p in compass])
    basses = tables["basses"]
    low = _scaled(table, basses["level"] / table.level)
    bass_compass = range(basses["lowest"], basses["highest"] + 1)
    bass = zones([_octaves(pitch, low) for pitch in bass_compass])
    chord_compass = range(basses["chord_lowest"], basses["chord_highest"] + 1)
    chord = zones([_reed("Chord", pitch, low, 0.0, SHORT, 5000 + pitch) for pitch in chord_compass])
    clicks, blocks = (zones_once(samples, made, table) for made in _struck(tables["clicks"], table.rate))
    instruments = (
        FontInstrument("Dry", one),
        FontInstrument("Light tremolo", one + light),
        FontInstrument("Strong tremolo", one + strong),
        FontInstrument("Bass", bass),
        FontInstrument("Chord", chord),
        FontInstrument("Click", clicks),
        FontInstrument("Wood-block", blocks),
    )
    presets = tuple(Preset(instrument.name, number, number) for number, instrument in enumerate(instruments))
    return SoundFont(
        name="Box Companion reeds",
        comment="Free reeds computed by the program itself. Programs: " + ", ".join(i.name for i in instruments),
        rate=table.rate,
        samples=tuple(samples),
        instruments=instruments,
        presets=presets,
        # The builder's name in the released font: another word would change its bytes.
        info=((b"ISFT", "companion.sound.build"),),
    )


def _scaled(table: ReedTable, factor: float) -> ReedTable:
    from dataclasses import replace

    return replace(table, level=table.level * factor)


def _reed(name: str, pitch: int, table: ReedTable, cents: float, loop: int, seed: int, breath: bool = True) -> Sample:
    wave = reeds.reed(pitch, table, cents=cents, loop_about=loop, seed=seed, breath=breath)
    return Sample(f"{name} {pitch}", wave, pitch)


def _octaves(pitch: int, table: ReedTable) -> Sample:
    """A bass reed and its octave in one sample: with all its harmonics 6 dB an octave stronger in the even ones."""
    low = reeds.reed(pitch, table, loop_about=LOW, seed=4000 + pitch)
    # The octave of a loop with n periods has 2n of them in the very same loop.
    frequency = reeds.hertz(pitch)
    points = low.end - low.start
    periods = round(points * frequency / table.rate)
    high = reeds.series(2 * periods, points, len(low.wave), low.start, table, seed=4500 + pitch)
    return Sample(f"Bass {pitch}", reeds.Looped((low.wave + high) * 0.7, low.start, low.end), pitch)


def _struck(clicks: dict[str, float], rate: int) -> tuple[list[Sample], list[Sample]]:
    """Clicks and wood-blocks. Keys as in General MIDI's percussion: 76 the high wood-block, 77 the low one."""
    level = clicks["level"]
    made = [reeds.click(clicks[name], rate, level) for name in ("high_hz", "low_hz")]
    wood = [reeds.block(clicks[name], rate, level) for name in ("block_high_hz", "block_low_hz")]
    return (
        [Sample(f"Click {key}", wave, key) for key, wave in zip((76, 77), made, strict=True)],
        [Sample(f"Block {key}", wave, key) for key, wave in zip((76, 77), wood, strict=True)],
    )


def zones_once(samples: list[Sample], made: list[Sample], table: ReedTable) -> tuple[Zone, ...]:
    """Zones of samples that are played once through; appends them to `samples`."""
    first = len(samples)
    samples.extend(made)
    release = ((soundfont.RELEASE, soundfont.timecents(table.release_s)),)
    return tuple(Zone(one.pitch, one.pitch, first + i, release) for i, one in enumerate(made))


def main() -> None:
    """Write the soundfont where the program looks for it, or to the file that is named."""
    out = Path(sys.argv[1]) if len(sys.argv) > 1 else shipped("soundfonts", "reeds.sf2")
    data = build()
    out.parent.mkdir(parents=True, exist_ok=True)
    with whole_file(out) as beside:
        beside.write_bytes(data)
    print(f"{out}: {len(data)} bytes")


if __name__ == "__main__":
    main()
