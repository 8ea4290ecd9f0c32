"""How ABC and MusicXML write the signs of ornaments, a row each.

What is played for a sign stands in `config/ornaments.toml`. A name there that has no row here needs none: it is written
as it is, `!name!` in ABC (without its blanks) and `<other-ornament>name</other-ornament>` in MusicXML.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class OrnamentSign:
    """One sign.

    Attributes
    ----------
    name : as a note has it in `Note.ornaments`, and a row of `config/ornaments.toml` among its `names`.
    abc : what may stand between exclamation marks in ABC; the first is written.
    shorthand : the one sign that stands for the first of them (ABC 2.1, 4.14); "" where there is none.
    musicxml : its element in MusicXML; "" where it has none of its own.
    class_name : the class by which music21 knows that element.
    """

    name: str
    abc: tuple[str, ...]
    shorthand: str = ""
    musicxml: str = ""
    class_name: str = ""


SIGNS = (
    OrnamentSign("roll", ("roll",), "~"),
    OrnamentSign("trill", ("trill", "trill("), "T", "trill-mark", "Trill"),
    OrnamentSign("mordent", ("lowermordent", "mordent"), "M", "mordent", "Mordent"),
    OrnamentSign("upper mordent", ("uppermordent", "pralltriller"), "P", "inverted-mordent", "InvertedMordent"),
    OrnamentSign("turn", ("turn", "turnx"), "", "turn", "Turn"),
    OrnamentSign("inverted turn", ("invertedturn", "invertedturnx"), "", "inverted-turn", "InvertedTurn"),
    # Not in the standards; ornaments of the box that a tutor may name with U: (common practice).
    OrnamentSign("cut", ("cut",)),
    OrnamentSign("tap", ("tap",)),
    OrnamentSign("triplet", ("triplet",)),
    OrnamentSign("cran", ("cran",)),
)


def in_abc(names: Iterable[str]) -> dict[str, str]:
    """What names of ornaments are called in ABC, where they have no row here: what stands there, and the name."""
    known = {sign.name for sign in SIGNS}
    return {name.replace(" ", ""): name for name in names if name not in known}
