"""Tempi: what the beat of a tune is, how fast it is danced, and what "60%" or "90" means beside that.

Conventions: tempi are beats a minute, beats are lengths in whole notes (1/4 a crotchet, 3/8 a dotted crotchet).
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from companion.errors import UserError
from companion.toml_file import TomlFile, read_toml
from companion.tune.tune_values import Meter, Tempo

SHARE = (0.2, 1.5)  # of the target: slower is no music, faster is no practice
_MINIM = Fraction(1, 2)
BPM = (10.0, 400.0)  # from a beat of six seconds to one of 150 ms


@dataclass(frozen=True, slots=True)
class Dance:
    """One entry of `config/tempi.toml`; the meaning of each field stands there."""

    name: str
    bpm: float
    low: float
    high: float
    beat: Fraction
    keeps_notes: bool
    names: tuple[str, ...]
    source: str


Dances = tuple[Dance, ...]
"""All of `config/tempi.toml`."""


def read_dances(path: Path) -> Dances:
    """Read the table of dances. Raises `UserError` where it is broken, with its line and what to do."""
    file = read_toml(path)
    return tuple(_dance(file, name) for name in file.data)


def _dance(file: TomlFile, name: str) -> Dance:
    """One table of the file."""
    entry = file.table(name)
    bpm = file.number(name, "bpm", least=BPM[0], most=BPM[1])
    low, high = (file.number(name, key) if key in entry else bpm for key in ("low", "high"))
    names = file.each(name, "names") if "names" in entry else ()
    keeps = file.string(name, "keeps") if "keeps" in entry else "beats"
    if keeps not in ("beats", "notes"):
        raise file.wrong(f'[{name}] keeps is "beats" or "notes", not {keeps!r}; {file.remedy}', name, "keeps")
    return Dance(
        name,
        bpm,
        low,
        high,
        file.fraction(name, "beat", most=4),
        keeps == "notes",
        tuple(_plain(file.string(*one)) for one in names),
        file.string(name, "source") if "source" in entry else "",
    )


def dance_of(rhythm: str, dances: Dances) -> Dance | None:
    """The dance that a rhythm field names, whatever its case and the words around it; None where it names none."""
    text = f" {_plain(rhythm)} "
    found = [
        (len(name), dance) for dance in dances for name in dance.names if f" {name} " in text or f" {name}s " in text
    ]
    return max(found, key=lambda pair: pair[0])[1] if found else None


def target_of(rhythm: str, meter: Meter, dances: Dances, tempo: Tempo | None = None) -> tuple[float, Fraction]:
    """How fast a tune goes, and in which beat.

    What is written (`tempo`, from Q:) comes first; then the rhythm; then the meter. A written tempo in notes shorter
    than the beat ("1/8=240" in a jig) is counted in beats.

    Returns
    -------
    (bpm, beat) : beats a minute, and the beat in whole notes.
    """
    dance = dance_of(rhythm, dances)
    own = _meter_beat(meter)
    beat = _fitting(dance.beat, meter, own) if dance else own
    if tempo is not None and tempo.beat > 0:
        if tempo.beat < own:
            counted = (tempo.per_minute * float(tempo.beat / beat), beat)
        else:
            counted = (tempo.per_minute, tempo.beat)
        if BPM[0] <= counted[0] <= BPM[1]:
            return counted
    if dance is None:
        name = "otherwise_long" if beat > _MINIM else "otherwise"
        dance = next((one for one in dances if one.name == name), None)
    if dance is None:
        return 100.0, beat
    return (float(dance.bpm * dance.beat / beat) if dance.keeps_notes else dance.bpm), beat


def parse_tempo(text: str, target_bpm: float) -> float:
    """Beats a minute from "60%" (of the target) or "90".

    Raises
    ------
    UserError : neither of the two, or out of bounds (20% to 150%, 10 to 400 beats a minute).
    """
    match = re.fullmatch(r"\s*(\d{1,6}(?:[.,]\d{1,6})?)\s*(%|bpm)?\s*", text, re.IGNORECASE | re.ASCII)
    if match is None:
        raise UserError(
            f'"{text[:40]}" is not a tempo: give a share of the target such as 60%, or beats a minute such as 90.'
        )
    number = float(match[1].replace(",", "."))
    if match[2] == "%":
        if not SHARE[0] * 100 <= number <= SHARE[1] * 100:
            raise UserError(f"a tempo of {number:g}% is too fast or too slow: give 20% to 150%.")
        return target_bpm * number / 100
    if not BPM[0] <= number <= BPM[1]:
        raise UserError(
            f"a tempo of {number:g} is too fast or too slow: {BPM[0]:.0f} to {BPM[1]:.0f} beats a minute, or 20 to 150%"
        )
    return number


def _plain(text: str) -> str:
    """Small letters without accents, words parted by single spaces."""
    bare = "".join(c for c in unicodedata.normalize("NFKD", text.lower()) if not unicodedata.combining(c))
    return " ".join(re.findall(r"[a-z0-9]+", bare))


def _meter_beat(meter: Meter) -> Fraction:
    """The beat by the meter alone: dotted in compound time, a minim in cut time, else the meter's own."""
    written = re.fullmatch(r"\s*(\d+)/(\d+)\s*", meter.text)
    if written is not None and int(written[1]) in (6, 9, 12, 15) and int(written[2]) >= 8:
        return Fraction(3, int(written[2]))
    if meter.text.strip() in ("C|", "2/2"):
        return Fraction(1, 2)
    if meter.beats and len(set(meter.beats)) == 1:
        return meter.beats[0]
    if meter.beats:
        # An additive meter ((2+3+2)/8) is counted in the note that all its groups are made of.
        return Fraction(1, max(beat.denominator for beat in meter.beats))
    return Fraction(1, 4)


def _fitting(beat: Fraction, meter: Meter, own: Fraction) -> Fraction:
    """A dance's beat where the meter has it, else the meter's: a reel in 2/4 has crotchets, a march in 6/8 dotted
    ones.
    """
    if meter.bar is None:
        return beat
    if own.numerator == 3:  # compound time: in 6/4 the beat is a dotted minim, whatever the dance
        return own
    if meter.bar % beat or beat.numerator == 3 or meter.bar < 2 * beat:
        return meter.bar / 2 if meter.bar == beat else own
    return beat
