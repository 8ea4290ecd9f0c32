"""What the decorations of ABC mean (ABC 2.1, 4.14 and 4.16)."""

from __future__ import annotations

import re

from companion.tune.draft import Jump
from companion.tune.ornament_signs import SIGNS

SHORTHAND = {
    ".": "staccato",
    "H": "fermata",
    "L": "accent",
    "O": "coda",
    "S": "segno",
    "u": "upbow",
    "v": "downbow",
} | {sign.shorthand: sign.abc[0] for sign in SIGNS if sign.shorthand}
"""The shorthand of 4.14: each sign and the name of the symbol it stands for."""

MEANINGS = (
    {
        "arpeggio": "arpeggio",
        ">": "accent",
        "accent": "accent",
        "emphasis": "accent",
        "fermata": "fermata",
        "invertedfermata": "fermata",
        "tenuto": "tenuto",
        "+": "plus",
        "plus": "plus",
        "snap": "snap",
        "slide": "slide",
        "wedge": "wedge",
        "upbow": "up-bow",
        "downbow": "down-bow",
        "open": "open",
        "thumb": "thumb",
        "breath": "breath",
        "staccato": "staccato",
        "segno": "segno",
        "coda": "coda",
        "D.S.": "D.S.",
        "D.C.": "D.C.",
        "dacoda": "to coda",
        "dacapo": "D.C.",
        "fine": "fine",
        # Of the drafts of ABC 2.2; where a coda or a fine stands in the tune, a D.C. goes there anyway.
        "D.C.alcoda": "D.C.",
        "D.C.alfine": "D.C.",
        "D.S.alcoda": "D.S.",
        "D.S.alfine": "D.S.",
    }
    | {written: sign.name for sign in SIGNS for written in sign.abc}
    | {d: d for d in ("pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff", "sfz")}
)
"""What the name of a symbol means: ornaments, marks, dynamics."""

SILENT = frozenset(
    [
        "trill)",
        "crescendo(",
        "crescendo)",
        "diminuendo(",
        "diminuendo)",
        "<(",
        "<)",
        ">(",
        ">)",
        "shortphrase",
        "mediumphrase",
        "longphrase",
        "nil",
        "none",
    ]
)
"""Symbols of the standard that say nothing about a single note."""

FINGERS = {str(n): n for n in range(6)}
"""`!0!` to `!5!`."""

WORDS = re.compile(
    r"[\^_<>@]?[\d.,+-]*\s*(?:(?P<fine>fine|fin)|(?P<to>to\s+coda|da\s+coda)|(?P<coda>coda)|(?P<segno>segno)"
    r"|(?:d\.?\s?(?P<from>[cs])\.?|da(?:l)?\s+(?P<word>capo|segno))(?:\s*al\s*(?:fine|coda))?)\.?",
    re.IGNORECASE,
)
"""Words over the music that old books have in place of a symbol: "Fine", "D.C. al Fine"."""


def jump_in_words(text: str) -> Jump | None:
    """The jump that words over the music ask for; None where they say something else."""
    found = WORDS.fullmatch(text.strip())
    if found is None:
        return None
    if found["from"] or found["word"]:
        return "D.C." if (found["from"] or found["word"]).lower() in ("c", "capo") else "D.S."
    names: dict[str, Jump] = {"fine": "fine", "to": "to coda", "coda": "coda", "segno": "segno"}
    return next(jump for name, jump in names.items() if found[name])


JUMPS: dict[str, Jump] = {
    "segno": "segno",
    "coda": "coda",
    "to coda": "to coda",
    "fine": "fine",
    "D.C.": "D.C.",
    "D.S.": "D.S.",
}
"""Meanings that say where to go on."""
