"""The bars of a piece as MusicXML for the engraver: each note with an id, and the beams and triplets of the staff."""

from __future__ import annotations

import xml.etree.ElementTree as Xml
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from companion.engraving.staff_tune import StaffPiece, staff_tune
from companion.notation.musicxml_writer import write_musicxml
from companion.tune.ticks import whole
from companion.tune.tune import Span, Tune
from companion.tune.tune_values import Meter

_BEAMS = {"eighth": 1, "16th": 2, "32nd": 3, "64th": 4}
_AFTER_BEAMS = "notations"


@dataclass(frozen=True, slots=True)
class _Written:
    """One note head as it is written: its element, where it begins in its bar, its length."""

    element: Xml.Element
    at: Fraction
    length: Fraction

    @property
    def beams(self) -> int:
        return _BEAMS.get(self.element.findtext("type", ""), 0)

    @property
    def uneven(self) -> bool:
        """Whether it is one of a triplet."""
        return self.element.find("time-modification") is not None


def note_id(order: int) -> str:
    """The id of the first head of a note, by its order in what is written."""
    return f"note-{order}"


def staff_musicxml(piece: StaffPiece, start: Fraction, end: Fraction) -> str:
    """The bars of a piece from `start` to `end` (two of its bar lines) as MusicXML.

    The notes are those that `notes_within` names, in that order; the first head of each has the id `note_id` gives.
    """
    tune = staff_tune(piece, start, end)
    root = Xml.fromstring(write_musicxml(tune))
    _tidy(root, begins=start == 0, ends=end == piece.laid.length)
    order = -1
    for measure, span in zip(root.iter("measure"), tune.course.spans, strict=True):
        heads = [one for one in measure.iter("note") if one.find("rest") is None]
        for element, atom in zip(heads, tune.course.atoms[span.first : span.last], strict=True):
            if atom[0] > order:
                order = atom[0]
                element.set("id", note_id(order))
        written = _written(heads, tune, span)
        shift = piece.laid.bar - whole(span.length) if span.bar == 0 and span.first == 0 else Fraction(0)
        for group in _groups(written, piece.meter, shift):
            _beam(group)
        for triplet in _triplets(written):
            _bracket(triplet)
    return Xml.tostring(root, encoding="unicode")


def _tidy(root: Xml.Element, *, begins: bool, ends: bool) -> None:
    """Leave out the part's name; the metre where the piece does not begin, the last bar line where it does not end."""
    for name in root.iter("part-name"):
        name.text = None
    for time in root.iter("time"):
        if not begins:
            time.set("print-object", "no")
    for measure in root.iter("measure"):
        for line in measure.findall("barline"):
            if not ends:
                measure.remove(line)


def _written(heads: Sequence[Xml.Element], tune: Tune, span: Span) -> list[_Written]:
    atoms = tune.course.atoms[span.first : span.last]
    return [
        _Written(element, whole(onset - span.onset), whole(length))
        for element, (_, onset, length, _, _) in zip(heads, atoms, strict=True)
    ]


def _groups(written: Sequence[_Written], meter: Meter, shift: Fraction) -> Iterator[list[_Written]]:
    """The notes of a bar that share a beam: short ones one after the other, within a beat (in common time two)."""
    beat = meter.beats[0] if meter.beats else Fraction(1, 4)
    if meter.bar in (1, Fraction(1, 2)) and beat == Fraction(1, 4):
        beat = Fraction(1, 2)
    group: list[_Written] = []
    for one in written:
        joins = group and one.beams and one.at == group[-1].at + group[-1].length
        if not joins or (one.at + shift) // beat != (group[-1].at + shift) // beat:
            if len(group) > 1:
                yield group
            group = []
        if one.beams:
            group.append(one)
    if len(group) > 1:
        yield group


def _beam(group: Sequence[_Written]) -> None:
    """Write the beams of notes that share one; a single shorter note among them has a hook."""
    for level in range(1, max(one.beams for one in group) + 1):
        for has, run in groupby(enumerate(group), key=lambda pair: pair[1].beams >= level):
            places = [n for n, _ in run] if has else []
            for n in places:
                if len(places) == 1:
                    kind = "forward hook" if n == 0 else "backward hook"
                else:
                    kind = "begin" if n == places[0] else "end" if n == places[-1] else "continue"
                _put(group[n].element, level, kind)


def _put(element: Xml.Element, level: int, kind: str) -> None:
    beam = Xml.Element("beam", number=str(level))
    beam.text = kind
    place = next((n for n, child in enumerate(element) if child.tag == _AFTER_BEAMS), len(element))
    element.insert(place, beam)


def _triplets(written: Sequence[_Written]) -> Iterator[list[_Written]]:
    """The notes that make a triplet together: uneven ones that fill an even length."""
    triplet: list[_Written] = []
    for one in written:
        if not one.uneven:
            triplet = []
            continue
        triplet.append(one)
        filled = sum((each.length for each in triplet), start=Fraction(0)).denominator
        if filled & (filled - 1) == 0:
            if len(triplet) > 1:
                yield triplet
            triplet = []


def _bracket(triplet: Sequence[_Written]) -> None:
    for one, kind in ((triplet[0], "start"), (triplet[-1], "stop")):
        notations = one.element.find("notations")
        if notations is None:
            notations = Xml.SubElement(one.element, "notations")
        Xml.SubElement(notations, "tuplet", type=kind)
