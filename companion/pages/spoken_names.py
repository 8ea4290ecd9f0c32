"""Keys and kinds of tune as players say them: "Edor" in a book is "E dorian", "slip-jig" a slip jig."""

from __future__ import annotations

import re

from companion.notation.abc_fields import read_key

_PLAIN = {"ionian": "major", "aeolian": "minor"}  # the same notes, and nobody says it otherwise
_ODD = {"none": "no key", "highland pipes": "pipes", "explicit": "own sharps and flats"}
_TOGETHER = {
    "slipjig": "slip jig",
    "hopjig": "hop jig",
    "doublejig": "double jig",
    "singlejig": "single jig",
    "setdance": "set dance",
    "barn dance": "barndance",
    "horn pipe": "hornpipe",
}


def spoken_key(written: str) -> str:
    """A key as it is written in a book ("Edor", "D", "Em"), as a player says it ("E dorian", "D major", "E minor")."""
    key = read_key(written).key
    if key is None:
        return ""
    if key.mode in _ODD:
        return f"{key.tonic} {_ODD[key.mode]}" if key.mode == "explicit" and key.tonic else _ODD[key.mode]
    tonic = key.tonic[0] + key.tonic[1:].replace("#", "♯").replace("b", "♭")
    return f"{tonic} {_PLAIN.get(key.mode, key.mode)}"


def spoken_rhythm(written: str) -> str:
    """A kind of tune as it is written in a book ("Slip-Jig", "SLIPJIG"), as a player says it ("slip jig")."""
    plain = " ".join(re.split(r"[\s_-]+", written.strip().casefold()))
    return _TOGETHER.get(plain, plain)
