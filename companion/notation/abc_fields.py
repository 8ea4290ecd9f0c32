"""The information fields of ABC that are instructions: meter, unit length, key, tempo (ABC 2.1, 3.1, 4.6)."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from companion.tune.tune_values import Key, Meter, Tempo

FREE = Meter("none", None, ())
NO_KEY = Key("none", "", "none", ())
LINE_OF_FIFTHS = "FCGDAEB"
_MODES = {  # fifths of the signature above that of the major key of the same tonic (3.1.14)
    "maj": ("major", 0), "ion": ("ionian", 0), "mix": ("mixolydian", -1), "dor": ("dorian", -2),
    "min": ("minor", -3), "aeo": ("aeolian", -3), "m": ("minor", -3), "phr": ("phrygian", -4),
    "loc": ("locrian", -5), "lyd": ("lydian", 1), "": ("major", 0),
}  # fmt: skip
ACCIDENTALS = {"^": 1, "^^": 2, "_": -1, "__": -2, "=": 0}
_LONGEST_METER = 64


class FieldError(ValueError):
    """A field that cannot be read; the message says why."""


@lru_cache(maxsize=256)
def read_meter(text: str) -> Meter:
    """`M:` as in 3.1.6; an additive meter keeps its groups as beats."""
    bare = text.strip()
    if bare.lower() in ("none", ""):
        return Meter(bare or "none", None, ())
    if bare in ("C", "c"):
        return Meter(bare, Fraction(1), (Fraction(1, 4),) * 4)
    if bare in ("C|", "c|"):
        return Meter(bare, Fraction(1), (Fraction(1, 2),) * 2)
    beats: list[Fraction] = []
    for piece in re.split(r"\+(?=\s*\(?\s*[\d+\s]+\)?\s*/)", bare) if bare.count("/") > 1 else [bare]:
        match = re.fullmatch(r"\(?\s*(\d{1,4}(?:\s*\+\s*\d{1,4})*)\s*\)?\s*/\s*(\d{1,4})", piece.strip())
        if match is None:
            raise FieldError(f"“{bare[:30]}” is not a meter")
        groups, below = [int(n) for n in match[1].split("+")], int(match[2])
        if not below or below > 512 or below & (below - 1) or not all(groups) or sum(groups) > _LONGEST_METER:
            raise FieldError(f"“{bare[:30]}” is not a meter that can be counted")
        if len(groups) > 1:
            beats += [Fraction(n, below) for n in groups]
        elif groups[0] % 3 == 0 and groups[0] > 3 and below >= 4:
            beats += [Fraction(3, below)] * (groups[0] // 3)
        else:
            beats += [Fraction(1, below)] * groups[0]
    return Meter(bare, sum(beats, Fraction(0)), tuple(beats))


def is_compound(meter: Meter) -> bool:
    """Whether tuplets without a `q` of their own are in the time of three (4.13: 6/8, 9/8, 12/8)."""
    return len(meter.beats) > 1 and all(b.numerator == 3 for b in meter.beats)


def default_unit(meter: Meter) -> Fraction:
    """The unit length where no `L:` is given (3.1.7)."""
    return Fraction(1, 16) if meter.bar is not None and meter.bar < Fraction(3, 4) else Fraction(1, 8)


def read_unit(text: str) -> Fraction:
    """`L:`; `1`, `1/8` (3.1.7)."""
    match = re.match(r"\s*(\d{1,4})(?:\s*/\s*(\d{1,4}))?\s*$", text)
    if match is None or not int(match[1]) or (match[2] and not int(match[2])):
        raise FieldError(f"“{text.strip()[:30]}” is not a unit note length")
    unit = Fraction(int(match[1]), int(match[2] or 1))
    if unit > 4 or unit < Fraction(1, 1024):
        raise FieldError(f"“{text.strip()[:30]}” is not a unit note length that can be played")
    return unit


def read_tempo(text: str, unit: Fraction) -> Tempo | None:
    """`Q:` in every form of 3.1.8 and the outdated ones of 10.1; None where it has words only."""
    words = " ".join(re.findall(r'"([^"]*)"', text)).strip()
    rest = re.sub(r'"[^"]*"?', " ", text).strip()
    if not rest:
        return None
    match = re.fullmatch(r"((?:\d{1,3}/\d{1,3}\s*)+|C\d{0,2}\s*|)=?\s*(?:ca\.?\s*)?(\d{1,5}(?:\.\d{1,4})?)", rest)
    if match is None:
        raise FieldError(f"“{rest[:30]}” is not a tempo")
    beat_text, rate = match[1].strip(), float(match[2])
    if not beat_text:
        beat = unit
    elif beat_text.startswith("C"):
        beat = unit * int(beat_text[1:] or 1)
    else:
        pairs = [piece.split("/") for piece in beat_text.split()]
        if any(int(below) == 0 for _, below in pairs):
            raise FieldError(f"“{rest[:30]}” is not a tempo")
        beat = sum((Fraction(int(n), int(d)) for n, d in pairs), Fraction(0))
    if not beat or not 0 < rate * float(beat) <= 10_000:
        raise FieldError(f"“{rest[:30]}” is not a tempo that can be played")
    return Tempo(beat, rate, words)


@dataclass(frozen=True, slots=True)
class KeyField:
    """What a `K:` field says. `key` is None where it has a clef or a shift only; `shift` in semitones, None: unsaid."""

    key: Key | None
    octave: int | None = None
    transpose: int | None = None
    clef_shift: int | None = None
    doubt: str = ""


# `octave=-1`, but not the naturals in `D =c`, `Dmix =c` or `D maj=c`: no name of a property begins like a mode.
_PROPERTY = re.compile(
    r"(?<![A-Za-z#♯♭])(?!maj|min|mix|dor|phr|lyd|loc|ion|aeo)([a-zA-Z][a-zA-Z:]+|[mt])=\s*(\"[^\"]*\"|[^\s\"]+)"
)
_CLEF = re.compile(r"(?:^|\s)(treble|alto|tenor|bass|perc|none)(\d?)([+-]8)?(?=\s|$)")
_TONIC = re.compile(r"([A-Ga-g])([#b♯♭]?)")


def read_shift(text: str) -> tuple[int | None, int | None, int | None, str]:
    """`octave=`, `transpose=` (`t=`), the shift of a clef with `+8` or `-8` (4.6), and the rest of the text."""
    octave = transpose = clef = None
    for name, value in _PROPERTY.findall(text):
        value = value.strip('"')
        name = name.lower()
        if name == "octave" and re.fullmatch(r"[+-]?\d{1,2}", value):
            octave = int(value)
        elif name in ("transpose", "t") and re.fullmatch(r"[+-]?\d{1,3}", value):
            transpose = int(value)
        elif name == "clef":
            clef = {"+8": 12, "-8": -12}.get(value[-2:], 0)
    rest = _PROPERTY.sub(" ", text)
    bare = _CLEF.search(rest)
    if bare and not (bare[1] == "none" and not rest[: bare.start()].strip() and not bare[2] and not bare[3]):
        clef = {"+8": 12, "-8": -12}.get(bare[3] or "", 0)
        rest = rest[: bare.start()] + " " + rest[bare.end() :]
    return octave, transpose, clef, rest


@lru_cache(maxsize=512)
def read_key(text: str) -> KeyField:
    """`K:` in every form of 3.1.14 and 4.6."""
    octave, transpose, clef, rest = read_shift(text)
    rest = rest.strip()
    shifts = (octave, transpose, clef)
    if not rest:
        unsaid = shifts != (None, None, None) or bool(text.strip())
        return KeyField(None if unsaid else NO_KEY, *shifts)
    shown = rest[:40]
    if rest.split()[0].lower() == "none":
        return KeyField(_modified(Key(shown, "", "none", ()), rest[4:]), *shifts)
    if rest.startswith(("HP", "Hp")):
        # HP puts no signature on the music, Hp marks F sharp, C sharp (and G natural, which changes nothing).
        signature = (("F", 1), ("C", 1)) if rest.startswith("Hp") else ()
        return KeyField(Key(shown, "D" if rest.startswith("Hp") else "", "highland pipes", signature), *shifts)
    tonic = _TONIC.match(rest)
    if tonic is None or (tonic[1].islower() and not re.match(r"[a-g][#b♯♭]?(\s|m|$)", rest)):
        if re.match(r"(exp\b|[\^_=])", rest):
            after = rest[3:] if rest.startswith("exp") else rest
            return KeyField(_modified(Key(shown, "", "explicit", ()), after), *shifts)
        return KeyField(NO_KEY, *shifts, doubt=f"“{shown}” is not a key; the tune is read without a signature.")
    name = tonic[1].upper() + tonic[2].replace("♯", "#").replace("♭", "b")
    after = rest[tonic.end() :].strip()
    word = re.match(r"[A-Za-z]*", after)
    mode = word[0].lower() if word else ""
    after = after[len(mode) :]
    if mode[:3] == "exp":
        return KeyField(_modified(Key(shown, name, "explicit", ()), after), *shifts)
    doubt = ""
    found = _MODES.get(mode[:3]) if mode != "m" else _MODES["m"]
    if found is None:
        found = _MODES[""]
        doubt = f"“{mode}” is not a mode; the key is read as {name} {found[0]}."
    elif tonic[1].islower():
        doubt = f"A key is written with a capital letter: {name}."
    fifths = LINE_OF_FIFTHS.index(name[0]) - 1 + 7 * (name.count("#") - name.count("b")) + found[1]
    key = Key(shown, name, found[0], _signature(fifths))
    return KeyField(_modified(key, after), *shifts, doubt=doubt)


def _signature(fifths: int) -> tuple[tuple[str, int], ...]:
    """The signature of so many sharps (positive) or flats, in the order in which it is written."""
    marks: dict[str, int] = {}
    for n in range(abs(fifths)):
        letter = LINE_OF_FIFTHS[n % 7] if fifths > 0 else LINE_OF_FIFTHS[6 - n % 7]
        marks[letter] = marks.get(letter, 0) + (1 if fifths > 0 else -1)
    return tuple(marks.items())


def _modified(key: Key, text: str) -> Key:
    """A key with the accidentals that follow it: `=c`, `^f _b` (3.1.14)."""
    marks = dict(key.signature)
    for sign, letter in re.findall(r"(\^\^?|__?|=)\s*([A-Ga-g])", text):
        marks[letter.upper()] = ACCIDENTALS[sign]
    signature = tuple((letter, n) for letter, n in marks.items() if n)
    return Key(key.text, key.tonic, key.mode, signature)
