"""What the decorations of ABC mean (ABC 2.1, 4.14 and 4.16)."""

from __future__ import annotations

from companion.tune.draft import Jump

SHORTHAND = {
    ".": "staccato",
    "~": "roll",
    "H": "fermata",
    "L": "accent",
    "M": "lowermordent",
    "O": "coda",
    "P": "uppermordent",
    "S": "segno",
    "T": "trill",
    "u": "upbow",
    "v": "downbow",
}
"""The shorthand of 4.14: each sign and the name of the symbol it stands for."""

MEANINGS = {
    "trill": "trill",
    "trill(": "trill",
    "lowermordent": "mordent",
    "mordent": "mordent",
    "uppermordent": "upper mordent",
    "pralltriller": "upper mordent",
    "roll": "roll",
    "turn": "turn",
    "turnx": "turn",
    "invertedturn": "inverted turn",
    "invertedturnx": "inverted turn",
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
    # Not in the standard; ornaments of the box that a tutor may name with U: (common practice).
    "cut": "cut",
    "tap": "tap",
    "triplet": "triplet",
    "cran": "cran",
} | {d: d for d in ("pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff", "sfz")}
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

JUMPS: dict[str, Jump] = {
    "segno": "segno",
    "coda": "coda",
    "to coda": "to coda",
    "fine": "fine",
    "D.C.": "D.C.",
    "D.S.": "D.S.",
}
"""Meanings that say where to go on."""
