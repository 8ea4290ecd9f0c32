"""The tokens of a line of music (ABC 2.1, section 4), and what the most common of them mean, remembered."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

_LENGTH = r"\d*[\d/]*"
_NUMBERS = r"\d{1,3}(?:[,-]\d{1,3})*"

TOKEN = re.compile(
    r"(?P<note>(?:\^\^?|__?|=)?[A-Ga-g][,']*[\d/]*-?)"
    rf"|(?P<bar>(?:\.(?=\|))?(?:[|:]|\[(?=[|\]:]))(?:[|:\]]|\[(?=[|\]:]))*(?:{_NUMBERS})?)"
    r"|(?P<broken>>+|<+)"
    r"|(?P<tuplet>\(\d+(?::\d*)?(?::\d*)?)"
    r"|(?P<sign>\.(?![(|)-])|[~H-Wh-w])"
    r"|(?P<text>\"[^\"]*\"?)"
    r"|(?P<grace>\{[^{}]*\})"
    r"|(?P<rest>[zx][\d/]*)"
    r"|(?P<tie>\.?-)"
    r"|(?P<bars>[ZX]\d*)"
    r"|(?P<field>\[[A-Za-z]:[^\]]*\])"
    rf"|(?P<ending>\[{_NUMBERS})"
    r"|(?P<chord>\[(?:[^\[\]|\"!]|\"[^\"]*\"|![^!\s]*!)*\][\d/]*-?)"
    r"|(?P<bang>!(?:[^!|\[\]:\s]*!)?)"
    r"|(?P<plus>\+[^+|\s]{1,40}\+)"
    r"|(?P<spacer>y[\d/]*)"
    r"|(?P<overlay>&+)"
    r"|(?P<micro>[\^_=]+\d*/?\d*[A-Ga-g][,']*[\d/]*-?)"
    r"|(?P<odd>[^\s()`$.])"
)
"""One token of music. What it skips (space, slurs, back quotes, `$`) says nothing about pitch or time."""

NOTE = re.compile(r"(\^\^?|__?|=)?([A-Ga-g])([,']*)([\d/]*)(-?)")
_STEP = {"C": 0, "D": 1, "E": 2, "F": 3, "G": 4, "A": 5, "B": 6}
_SEMITONES = (0, 2, 4, 5, 7, 9, 11)
_ALTER = {"^": 1, "^^": 2, "_": -1, "__": -2, "=": 0}
_CACHED = 20_000


class NoteToken(NamedTuple):
    """A note as written: the pitch of its place without accidentals, its step (C is 0) and its place on the staff
    (steps from middle C), the alteration that is written (None: none), its length as text, and whether it is tied."""

    natural: int
    step: int
    place: int
    alter: int | None
    length: str
    tied: bool


@lru_cache(maxsize=_CACHED)
def note_token(token: str) -> NoteToken:
    """What a note token says (4.1 to 4.3)."""
    match = NOTE.match(token)
    assert match is not None  # the token was found with the same pattern
    sign, letter, octaves, length, tie = match.groups()
    step = _STEP[letter.upper()]
    octave = octaves.count("'") - octaves.count(",") + letter.islower()
    return NoteToken(
        60 + _SEMITONES[step] + 12 * octave,
        step,
        step + 7 * octave,
        _ALTER[sign] if sign else None,
        length,
        bool(tie),
    )


def read_length(text: str) -> tuple[int, int] | None:
    """A length as a fraction of the unit: `3/2`, `/`, `//`, `/4`, `3//` (4.3); None where it is not a length."""
    if len(text) > 24:
        return None
    head, slash, tail = text.partition("/")
    above = int(head) if head else 1
    below = 1
    if slash:
        for piece in tail.split("/"):
            below *= int(piece) if piece else 2
    # `//` splits into two empty pieces: a slash with nothing after it halves.
    return (above, below) if above and below and above <= 10**9 and below <= 10**9 else None


class BarToken(NamedTuple):
    """A bar line: how often what ends here and what begins here is played (0: no repeat sign), whether it is double,
    dotted or invisible (`soft`), and the endings that begin with it."""

    ends: int
    starts: int
    double: bool
    soft: bool
    numbers: tuple[int, ...]
    odd: bool


@lru_cache(maxsize=_CACHED)
def bar_token(token: str) -> BarToken:
    """What a bar line says (4.8, 4.9)."""
    shape = token.rstrip("0123456789,-")
    numbers = ending_numbers(token[len(shape) :])
    soft = shape.startswith(".") or shape in ("[|]", "[]")
    shape = shape.lstrip(".")
    if not shape.strip(":"):
        half = len(shape) // 2
        return BarToken(len(shape) - half + 1, half + 1, False, False, numbers, len(shape) == 1)
    before = len(shape) - len(shape.lstrip(":"))
    after = len(shape) - len(shape.rstrip(":"))
    middle = shape.strip(":")
    if not before and not after and ":" in middle:
        before = 1  # `|:|` in old files: the end of a repeat
    double = len(middle.replace(":", "")) > 1 and not soft
    return BarToken(before + 1 if before else 0, after + 1 if after else 0, double, soft, numbers, False)


def ending_numbers(text: str) -> tuple[int, ...]:
    """`1,3` or `1-3,5` as numbers (4.10)."""
    numbers: list[int] = []
    for piece in text.split(","):
        first, _, last = piece.partition("-")
        if first.isdecimal():
            top = int(last) if last.isdecimal() else int(first)
            numbers += range(int(first), min(top, int(first) + 99) + 1)
    return tuple(n for n in numbers if 0 < n < 100)


TUPLET_TIME = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
"""In the time of how many `(p` is played (4.13); the others depend on the meter."""
