"""music21's reading of an ABC tune beside ours, and what explains a difference.

A difference is explained when a change to the text that the standard says changes neither pitch nor length nor bar
(it has a section) makes the two readings equal: then music21 reads that construct otherwise than the standard says.
Nothing here knows of any single tune.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from contextlib import nullcontext
from fractions import Fraction
from pathlib import Path
from unittest.mock import patch

import music21
from music21.abcFormat import ABCHandler, translate

from companion.notation.abc_reader import read_abc
from companion.tune.ticks import RES
from companion.tune.tune import Tune

FOLDER = Path(music21.__file__).parent / "corpus" / "oneills1850"
Heard = list[tuple[int, Fraction, int]]
"""Each note before ties are joined: its pitch, its length in whole notes, its bar."""


def tunes_of(path: Path) -> list[str]:
    """The text of each tune of a file."""
    pieces = re.split(r"(?m)^(?=X:)", path.read_bytes().decode("latin-1").replace("\r\n", "\n"))
    return [piece for piece in pieces if piece.startswith("X:")]


def theirs(text: str, *, cut: bool = True) -> Heard:
    """music21's reading, told that the text is ABC 2.1 (without that it does not carry accidentals through the bar).

    `cut` leaves it its way with a bar that is longer than the meter: it makes two of it, and of a note that lies
    over the cut.
    """
    handler = ABCHandler(abcVersion=(2, 1, 0))
    handler.process(text)
    with nullcontext() if cut else patch.object(translate, "reBar"):
        score = translate.abcToStreamScore(handler)
    out: Heard = []
    for note in score.parts[0].recurse().notes:
        if note.duration.isGrace or "ChordSymbol" in note.classes:
            continue
        length = Fraction(note.duration.quarterLength).limit_denominator(100_000) / 4
        out.append((max(p.midi for p in note.pitches), length, note.measureNumber))
    return out


def ours(tune: Tune) -> Heard:
    """Our reading, note by note before ties are joined."""
    return [
        (atom[3], Fraction(atom[2]) / RES, span.bar)
        for span in tune.course.spans
        for atom in tune.course.atoms[span.first : span.last]
    ]


def _music(change: Callable[[str], str]) -> Callable[[str], str]:
    """A change to the lines of music only."""

    def changed(text: str) -> str:
        return "\n".join(
            line if re.match(r"[A-Za-z]:|%", line) else change(line) for line in text.split("\n")
        )  # fmt: skip

    return changed


def _join(text: str) -> str:
    return re.sub(r"\\[ \t]*(?:%.*)?\n", "", text)


def _three_letters(text: str) -> str:
    return re.sub(r"(?m)^(K:\s*[A-G][#b]?\s*[A-Za-z]{3})[A-Za-z]+", r"\1", text)


RULES: list[tuple[str, Callable[[str], str]]] = [
    ("4.19 text over a note takes nothing away from it", _music(lambda s: re.sub(r'"[^"]*"', "", s))),
    ("4.11 a slur changes no rhythm", _music(lambda s: re.sub(r"\((?!\d)|\)", "", s))),
    ("4.12 grace notes take no time and no place in a tuplet", _music(lambda s: re.sub(r"\{[^}]*\}", "", s))),
    ("4.11 a tie changes no rhythm", _music(lambda s: s.replace("-", ""))),
    ("4.14 a decoration changes no rhythm", _music(lambda s: re.sub(r"![^!|\s]*!|(?<![(|])\.|[~HLMOPSTuv]", "", s))),
    ("4.4 space around a broken rhythm says nothing", _music(lambda s: re.sub(r"\s*([<>]+)\s*", r"\1", s))),
    ("6.1.1 a continued line is one line", _join),
    ("2.2.5 comments say nothing", lambda s: re.sub(r"(?m)^%.*\n|%.*", "", s)),
    ("8.1 reserved and unknown characters are left out", _music(lambda s: re.sub(r"[*#;?@i-tw]", "", s))),
    ("4.13 space after a tuplet sign says nothing", _music(lambda s: re.sub(r"(\(\d)\s+", r"\1", s))),
    ("12.1.3 a chord between + signs", _music(lambda s: re.sub(r"\+([^+]*)\+", r"[\1]", s))),
    ("4.13 (3:2:3 is (3", _music(lambda s: re.sub(r"\((\d):2:\1(?!\d)", r"(\1", s))),
    ("3.1.14 only the first three letters of a mode count", _three_letters),
]  # fmt: skip
"""What changes nothing under the standard: the section with what it says, and the change."""

LONG = "4.8 only a bar line ends a bar (music21 cuts one that is longer than the meter)"


def explain(text: str) -> tuple[list[str], list[str]]:
    """The classes that explain the differences in one tune: those of notes and those of bars.

    "unexplained" stands for what none of them explains; both are empty where the readings agree.
    """
    tune = read_abc(text).tunes[0]
    mine = ours(tune)
    their = _try(text, cut=True)
    notes: list[str] = []
    if their is None or _notes(their) != _notes(mine):
        their = _try(text)
        if their is not None and _notes(their) == _notes(mine):
            notes = [LONG]
        else:
            notes, their = _explain_notes(text, mine)
    if notes == ["unexplained"] or their is None:
        return notes, []
    return notes, _explain_bars(tune, mine, their)


def _try(text: str, *, cut: bool = False) -> Heard | None:
    """music21's reading, None where it fails."""
    try:
        return theirs(text, cut=cut)
    except Exception:
        return None


def _notes(heard: Heard) -> list[tuple[int, Fraction]]:
    return [(pitch, length) for pitch, length, _ in heard]


def _explain_notes(text: str, mine: Heard) -> tuple[list[str], Heard | None]:
    """The fewest changes, one or all that apply, that make the readings equal."""
    applied: list[tuple[str, str]] = []
    everything = text
    for name, change in RULES:
        if change(text) != text:
            applied.append((name, change(text)))
        everything = change(everything)
    for name, changed in applied:
        their = _try(changed)
        if their is not None and _same(changed, mine) and _notes(their) == _notes(mine):
            return [name], their
    their = _try(everything)
    if their is not None and _same(everything, mine) and _notes(their) == _notes(mine):
        return [_several(text, mine)], their
    special = _special(everything)
    return ([special] if special else ["unexplained"]), None


def _same(changed: str, mine: Heard) -> bool:
    """Whether we too read the changed text as the one before: the change says nothing."""
    return _notes(ours(read_abc(changed).tunes[0])) == _notes(mine)


def _several(text: str, mine: Heard) -> str:
    """Which changes are needed together: those without which the readings differ again."""
    needed = []
    for name, _ in RULES:
        changed = text
        for other, change in RULES:
            if other != name:
                changed = change(changed)
        their = _try(changed)
        if their is None or _notes(their) != _notes(mine):
            needed.append(name.split()[0])
    return "together: " + ", ".join(needed)


def _special(everything: str) -> str:
    """Differences that no change of the text removes, told by what stands in it."""
    bare = "\n".join(line for line in everything.split("\n") if not re.match(r"[A-Za-z]:|%", line))
    if re.search(r"[<>]\(\d", bare):
        return "4.4, 4.13 a broken rhythm into a tuplet"
    if re.search(r"[A-Ga-gz][,']*[\d/]*[<>]+[A-Ga-gz][,']*[\d/]*[<>]", bare):
        return "4.4 a note between two broken rhythms has both"
    if re.search(r"[<>]\s*\||\|\s*[<>]", bare):
        return "4.4 a broken rhythm over a bar line"
    return ""


def _explain_bars(tune: Tune, mine: Heard, their: Heard) -> list[str]:
    """Bars: music21 counts what stands between any two signs, and cuts what is longer than the meter."""
    if [bar for _, _, bar in mine] == [bar for _, _, bar in their]:
        return []
    breaks_mine = [
        n
        for n, span in enumerate(tune.course.spans)
        for _ in tune.course.atoms[span.first : span.last]
    ]  # fmt: skip
    breaks_their = [bar for _, _, bar in their]
    if len(breaks_their) != len(breaks_mine):
        return ["unexplained"]
    full = tune.meter.bar
    previous = None
    classes: set[str] = set()
    for at in range(1, len(breaks_mine)):
        here, there = breaks_mine[at] != breaks_mine[at - 1], breaks_their[at] != breaks_their[at - 1]
        if here == there:
            if here and mine[at][2] == mine[at - 1][2]:
                classes.add("4.8 a bar that a sign splits counts once")
            continue
        span = tune.course.spans[breaks_mine[at]]
        if there and full is not None and Fraction(span.length) / RES > full:
            classes.add(LONG)
        else:
            previous = at
    if previous is not None:
        return ["unexplained"]
    return sorted(classes) or ["3.1.6 a short first bar is a pick-up, numbered 0"]
