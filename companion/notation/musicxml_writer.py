"""A tune as MusicXML 4.0 (https://www.w3.org/2021/06/musicxml40/), a partwise score of one part.

Each span of the tune is a measure, a pick-up with `implicit="yes"`; repeats, endings and jumps are written as signs.
"""

from __future__ import annotations

import math
import xml.etree.ElementTree as Xml
from fractions import Fraction

from companion.notation.spelling import LETTERS, Speller
from companion.tune.draft import Mark
from companion.tune.ornament_signs import SIGNS
from companion.tune.ticks import Ticks, whole
from companion.tune.tune import Span, Tune
from companion.tune.tune_values import Note

_TYPES = ["whole", "half", "quarter", "eighth", "16th", "32nd", "64th", "128th", "256th"]
_ORNAMENTS = {sign.name: sign.musicxml for sign in SIGNS if sign.musicxml}
_ARTICULATIONS = {"staccato": "staccato", "accent": "accent", "tenuto": "tenuto", "breath": "breath-mark"}
_TECHNICAL = {"up-bow": "up-bow", "down-bow": "down-bow"}
_JUMPS = {
    "segno": {"segno": "segno"}, "coda": {"coda": "coda"}, "to coda": {"tocoda": "coda"}, "fine": {"fine": "yes"},
    "D.C.": {"dacapo": "yes"}, "D.S.": {"dalsegno": "segno"},
}  # fmt: skip


def write_musicxml(tune: Tune) -> str:
    """The tune as MusicXML text. Ornaments without a sign in MusicXML (a roll) are `other-ornament` by their name."""
    root = Xml.Element("score-partwise", version="4.0")
    work = Xml.SubElement(root, "work")
    Xml.SubElement(work, "work-title").text = tune.title
    composer = tune.field("C")
    if composer:
        identification = Xml.SubElement(root, "identification")
        Xml.SubElement(identification, "creator", type="composer").text = composer
    part_list = Xml.SubElement(root, "part-list")
    score_part = Xml.SubElement(part_list, "score-part", id="P1")
    Xml.SubElement(score_part, "part-name").text = "Melody"
    part = Xml.SubElement(root, "part", id="P1")
    _MusicXmlWriter(tune, part).measures()
    Xml.indent(root)
    head = '<?xml version="1.0" encoding="UTF-8"?>\n'
    return head + Xml.tostring(root, encoding="unicode") + "\n"


class _MusicXmlWriter:
    """Writes the measures of a part."""

    def __init__(self, tune: Tune, part: Xml.Element) -> None:
        self.tune, self.part = tune, part
        self.speller = Speller(tune.key)
        lengths = [whole(a[2]) for a in tune.course.atoms] + [whole(s.length) for s in tune.course.spans]
        lengths += [whole(a[1]) for a in tune.course.atoms]
        self.divisions = math.lcm(*((x * 4).denominator for x in lengths)) if lengths else 1
        self.meter = ""
        self.begun = -1
        self.tied = False
        self.ending: tuple[int, ...] | None = None

    def measures(self) -> None:
        items = self.tune.course.items
        before: list[Mark] = []
        measure: Xml.Element | None = None
        count = 0
        for item in items:
            if isinstance(item, Mark):
                before.append(item)
                continue
            if measure is not None:
                self._right(measure, before)
            measure = Xml.SubElement(self.part, "measure")
            span = self.tune.course.spans[item]
            count += 1
            measure.set("number", str(span.bar))
            if span.bar == 0 or (item and self.tune.course.spans[item - 1].bar == span.bar):
                measure.set("implicit", "yes")
            self._left(measure, before)
            self._attributes(measure, span, first=count == 1)
            self._directions(measure, item, ("segno", "coda"))
            self._span(measure, span)
            self._directions(measure, item + 1, ("to coda", "fine", "D.C.", "D.S."))
            before = []
        if measure is not None:
            self._right(measure, before, last=True)

    def _left(self, measure: Xml.Element, marks: list[Mark]) -> None:
        starts = [m for m in marks if m.sign == "start"]
        endings = [m for m in marks if m.sign == "ending"]
        if not starts and not endings:
            return
        line = Xml.SubElement(measure, "barline", location="left")
        if starts:
            Xml.SubElement(line, "bar-style").text = "heavy-light"
        if endings:
            self.ending = endings[-1].numbers
            Xml.SubElement(line, "ending", number=_numbers(self.ending), type="start")
        if starts:
            Xml.SubElement(line, "repeat", direction="forward")

    def _right(self, measure: Xml.Element, marks: list[Mark], last: bool = False) -> None:
        ends = [m for m in marks if m.sign == "end"]
        double = any(m.sign == "double" for m in marks)
        stops = self.ending is not None and (bool(marks) or last)
        if not (ends or double or stops or last):
            return
        line = Xml.SubElement(measure, "barline", location="right")
        Xml.SubElement(line, "bar-style").text = (
            "light-heavy" if ends or last else "light-light" if double else "regular"
        )
        if stops and self.ending is not None:
            kind = "stop" if ends or not last else "discontinue"
            Xml.SubElement(line, "ending", number=_numbers(self.ending), type=kind)
            self.ending = None
        if ends:
            repeat = Xml.SubElement(line, "repeat", direction="backward")
            if ends[0].times > 2:
                repeat.set("times", str(ends[0].times))

    def _attributes(self, measure: Xml.Element, span: Span, first: bool) -> None:
        if not first and span.meter == self.meter:
            return
        attributes = Xml.SubElement(measure, "attributes")
        if first:
            Xml.SubElement(attributes, "divisions").text = str(self.divisions)
            self._key(attributes)
        self._time(attributes, span)
        if first:
            clef = Xml.SubElement(attributes, "clef")
            Xml.SubElement(clef, "sign").text = "G"
            Xml.SubElement(clef, "line").text = "2"
            self._tempo(measure)
        self.meter = span.meter

    def _key(self, attributes: Xml.Element) -> None:
        key = Xml.SubElement(attributes, "key")
        alters = self.speller.alters
        fifths = sum(alters)
        order = "FCGDAEB" if fifths > 0 else "BEADGCF"
        if alters == [(1 if fifths > 0 else -1) if x in order[: abs(fifths)] else 0 for x in LETTERS]:
            Xml.SubElement(key, "fifths").text = str(fifths)
            if self.tune.key.mode in ("major", "minor", "dorian", "phrygian", "lydian", "mixolydian", "aeolian",
                                      "ionian", "locrian"):  # fmt: skip
                Xml.SubElement(key, "mode").text = self.tune.key.mode
            return
        for letter, alter in self.tune.key.signature:
            Xml.SubElement(key, "key-step").text = letter
            Xml.SubElement(key, "key-alter").text = str(alter)

    def _time(self, attributes: Xml.Element, span: Span) -> None:
        from companion.notation.abc_fields import FieldError, read_meter

        try:
            meter = read_meter(span.meter)
        except FieldError:
            meter = self.tune.meter
        time = Xml.SubElement(attributes, "time")
        if meter.bar is None:
            Xml.SubElement(time, "senza-misura")
            return
        above, _, below = meter.text.replace("(", "").replace(")", "").replace(" ", "").partition("/")
        if meter.text in ("C", "C|"):
            above, below = ("4", "4") if meter.text == "C" else ("2", "2")
            time.set("symbol", "common" if meter.text == "C" else "cut")
        elif not below.isdecimal():
            above, below = str(meter.bar.numerator), str(meter.bar.denominator)
        Xml.SubElement(time, "beats").text = above
        Xml.SubElement(time, "beat-type").text = below

    def _tempo(self, measure: Xml.Element) -> None:
        tempo = self.tune.tempo
        if tempo is not None:
            direction = Xml.SubElement(measure, "direction", placement="above")
            kind = Xml.SubElement(direction, "direction-type")
            Xml.SubElement(kind, "words").text = tempo.words or f"{tempo.per_minute:g}"
            Xml.SubElement(direction, "sound", tempo=f"{tempo.per_minute * float(tempo.beat) * 4:g}")

    def _directions(self, measure: Xml.Element, index: int, kinds: tuple[str, ...]) -> None:
        for kind, at in self.tune.course.jumps:
            if at == index and kind in kinds:
                direction = Xml.SubElement(measure, "direction", placement="above")
                shape = Xml.SubElement(direction, "direction-type")
                if kind in ("segno", "coda"):
                    Xml.SubElement(shape, kind)
                else:
                    names = {"to coda": "To Coda", "fine": "Fine"}
                    Xml.SubElement(shape, "words").text = names.get(kind, kind)
                Xml.SubElement(direction, "sound", _JUMPS[kind])

    def _span(self, measure: Xml.Element, span: Span) -> None:
        now = span.onset
        for index, onset, length, pitch, tied in self.tune.course.atoms[span.first : span.last]:
            if onset > now:
                self._rest(measure, onset - now)
            note = self.tune.notes[index]
            self._note(measure, note, length, pitch, tied, fresh=index != self.begun)
            self.begun = index
            now = onset + length
        if span.onset + span.length > now:
            self._rest(measure, span.onset + span.length - now)

    def _rest(self, measure: Xml.Element, length: Ticks) -> None:
        note = Xml.SubElement(measure, "note")
        Xml.SubElement(note, "rest")
        self._duration(note, whole(length))
        self.tied = False

    def _note(self, measure: Xml.Element, note: Note, length: Ticks, pitch: int, tied: bool, fresh: bool) -> None:
        if fresh:
            if note.chord:
                self._harmony(measure, note.chord)
            for grace in note.grace:
                small = Xml.SubElement(measure, "note")
                Xml.SubElement(small, "grace")
                self._pitch(small, grace)
                Xml.SubElement(small, "voice").text = "1"
                Xml.SubElement(small, "type").text = "eighth"
        heads = [pitch, *(sorted(note.under, reverse=True) if fresh else [])]
        ends, self.tied = self.tied and not fresh, tied
        for n, head in enumerate(heads):
            element = Xml.SubElement(measure, "note")
            if n:
                Xml.SubElement(element, "chord")
            self._pitch(element, head)
            Xml.SubElement(element, "duration").text = str(whole(length) * 4 * self.divisions)
            if ends and not n:
                Xml.SubElement(element, "tie", type="stop")
            if tied and not n:
                Xml.SubElement(element, "tie", type="start")
            Xml.SubElement(element, "voice").text = "1"
            _shape(element, whole(length))
            if not n:
                self._notations(element, note, fresh, ends, tied)

    def _duration(self, element: Xml.Element, length: Fraction) -> None:
        Xml.SubElement(element, "duration").text = str(length * 4 * self.divisions)
        Xml.SubElement(element, "voice").text = "1"
        _shape(element, length)

    def _pitch(self, element: Xml.Element, pitch: int) -> None:
        step, alter, octave = self.speller.spell(pitch)
        made = Xml.SubElement(element, "pitch")
        Xml.SubElement(made, "step").text = LETTERS[step]
        if alter:
            Xml.SubElement(made, "alter").text = str(alter)
        Xml.SubElement(made, "octave").text = str(octave)

    @staticmethod
    def _harmony(measure: Xml.Element, chord: str) -> None:
        """A chord symbol: its root, and the rest of it as the text of its kind."""
        harmony = Xml.SubElement(measure, "harmony")
        root = Xml.SubElement(harmony, "root")
        Xml.SubElement(root, "root-step").text = chord[0]
        rest = chord[1:]
        if rest[:1] in ("b", "#", "♭", "♯"):
            Xml.SubElement(root, "root-alter").text = "-1" if rest[0] in "b♭" else "1"
            rest = rest[1:]
        kind = Xml.SubElement(harmony, "kind", text=rest)
        kind.text = {"": "major", "m": "minor", "7": "dominant", "m7": "minor-seventh"}.get(rest, "other")

    @staticmethod
    def _notations(element: Xml.Element, note: Note, fresh: bool, ends: bool, tied: bool) -> None:
        made = Xml.Element("notations")
        for kind, there in (("stop", ends), ("start", tied)):
            if there:
                Xml.SubElement(made, "tied", type=kind)
        groups: dict[str, list[tuple[str, str]]] = {"ornaments": [], "technical": [], "articulations": []}
        for name in note.ornaments if fresh else ():
            if name in _ORNAMENTS:
                groups["ornaments"].append((_ORNAMENTS[name], ""))
            elif name in _ARTICULATIONS:
                groups["articulations"].append((_ARTICULATIONS[name], ""))
            elif name in _TECHNICAL:
                groups["technical"].append((_TECHNICAL[name], ""))
            elif name == "fermata":
                Xml.SubElement(made, "fermata")
            elif name not in _JUMPS:
                groups["ornaments"].append(("other-ornament", name))
        if fresh and note.finger is not None:
            groups["technical"].append(("fingering", str(note.finger)))
        for group, members in groups.items():
            if members:
                parent = Xml.SubElement(made, group)
                for tag, text in members:
                    Xml.SubElement(parent, tag).text = text or None
        if len(made):
            element.append(made)


def _numbers(numbers: tuple[int, ...]) -> str:
    return ",".join(str(n) for n in numbers)


def _shape(element: Xml.Element, length: Fraction) -> None:
    """The note's shape on paper, where one has this length; triplets with their ratio."""
    for actual, normal in ((1, 1), (3, 2), (5, 4)):
        written = length * actual / normal
        for dots, times in ((0, Fraction(1)), (1, Fraction(3, 2)), (2, Fraction(7, 4))):
            plain = written / times
            if plain.numerator == 1 and plain.denominator in (1, 2, 4, 8, 16, 32, 64, 128, 256):
                Xml.SubElement(element, "type").text = _TYPES[plain.denominator.bit_length() - 1]
                for _ in range(dots):
                    Xml.SubElement(element, "dot")
                if actual > 1:
                    ratio = Xml.SubElement(element, "time-modification")
                    Xml.SubElement(ratio, "actual-notes").text = str(actual)
                    Xml.SubElement(ratio, "normal-notes").text = str(normal)
                return
