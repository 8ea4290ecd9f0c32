"""MusicXML and compressed MusicXML (MXL), through music21: the melody part with its signs.

What is dangerous is refused before anything is parsed: a declaration of entities, a document or an archive that is
too large once unpacked.
"""

from __future__ import annotations

import io
import re
import zipfile
from fractions import Fraction
from pathlib import Path
from typing import Any

from companion.errors import Place, UserError, raised_by
from companion.notation.abc_fields import FREE, NO_KEY, FieldError, default_unit, read_meter
from companion.notation.book_values import Book
from companion.tune.build_tune import Heading, build
from companion.tune.draft import NO_EXTRAS, REST, Complaints, Draft, DraftSpan, Extras, Joint, Jump, Mark, Melody
from companion.tune.ornament_signs import SIGNS
from companion.tune.ticks import Ticks, ticks
from companion.tune.tune_values import Key, Meter, Tempo

LARGEST = 4_000_000
"""Bytes of a document; a long tune has about 200,000."""
MOST_NOTES = 10_000
MOST_MEMBERS = 64

_EXPRESSIONS = {sign.class_name: sign.name for sign in SIGNS if sign.class_name} | {
    "Fermata": "fermata",
    "Staccato": "staccato", "Accent": "accent", "Tenuto": "tenuto", "BreathMark": "breath", "UpBow": "up-bow",
    "DownBow": "down-bow",
}  # fmt: skip
_JUMPS: dict[str, Jump] = {
    "Segno": "segno", "Coda": "coda", "Fine": "fine", "DaCapo": "D.C.", "DaCapoAlFine": "D.C.", "DaCapoAlCoda": "D.C.",
    "DalSegno": "D.S.", "DalSegnoAlFine": "D.S.", "DalSegnoAlCoda": "D.S.",
}  # fmt: skip


def read_musicxml(data: bytes, *, file: Path | None = None, voice: str | None = None) -> Book:
    """The tune of a MusicXML document or an MXL archive.

    Parameters
    ----------
    data : the bytes of the file.
    file : where it comes from, for errors.
    voice : the name or number (from 1) of the part that is the melody; None for the first.

    Raises
    ------
    UserError
        Where it is no MusicXML, is dangerous or too large, or holds no notes.
    """
    place = Place(file)
    if data[:2] == b"PK":
        data = _unpacked(data, place)
    text = _checked(data, place)
    from music21 import converter

    try:
        score = converter.parseData(text, format="musicxml", forceSource=True)
        parts = list(score.parts)
    except Exception as error:  # whatever a broken document makes the parser do
        raise UserError("This is not MusicXML that can be read.", place) from error
    if not parts:
        raise UserError("There is no part in this MusicXML.", place)
    complaints = Complaints()
    part = _choose(parts, voice, complaints)
    try:
        return Book((_PartReader(score, part, complaints, _other_ornaments(text, parts.index(part))).tune(),))
    except Exception as error:
        if not raised_by(error, "music21"):  # it hands on much that a broken document says; the rest is a fault of ours
            raise
        raise UserError("This MusicXML says something that cannot be read as a tune.", place) from error


def _unpacked(data: bytes, place: Place) -> bytes:
    """The document of an MXL archive; refuses what would unpack to more than a tune."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = archive.infolist()
            if len(members) > MOST_MEMBERS or sum(m.file_size for m in members) > LARGEST:
                raise UserError("This archive unpacks to more than a tune can be: it is not read.", place)
            names = [m.filename for m in members]
            root = next((n for n in names if n.lower().endswith((".xml", ".musicxml")) and "META-INF" not in n), None)
            if "META-INF/container.xml" in names:
                with archive.open("META-INF/container.xml") as member:
                    container = member.read(100_000).decode("utf-8", errors="replace")
                found = re.search(r"full-path\s*=\s*[\"']([^\"']+)", container)
                root = found[1] if found and found[1] in names else root
            if root is None:
                raise UserError("There is no MusicXML in this archive.", place)
            with archive.open(root) as member:
                unpacked = member.read(LARGEST + 1)
    except Exception as error:
        if not raised_by(error, "zipfile"):  # a broken archive has many ways to fail in it
            raise
        raise UserError("This is not an MXL archive that can be opened.", place) from error
    if len(unpacked) > LARGEST:
        raise UserError("This archive unpacks to more than a tune can be: it is not read.", place)
    return unpacked


def _checked(data: bytes, place: Place) -> str:
    """The document as text, once it holds nothing dangerous."""
    if len(data) > LARGEST:
        raise UserError(f"This MusicXML is larger than {LARGEST // 1_000_000} MB: that is more than a tune.", place)
    encoding = "utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig"
    text = data.decode(encoding, errors="replace")
    if "<!ENTITY" in text.upper() or re.search(r"<!DOCTYPE[^>]*\[", text, re.IGNORECASE):
        raise UserError("This XML declares entities of its own: it is not read.", place)
    if "<score-partwise" not in text and "<score-timewise" not in text:
        raise UserError("This is not MusicXML: it has no score in it.", place)
    if text.count("<note") > MOST_NOTES or text.count("<measure") > MOST_NOTES:
        raise UserError(f"This MusicXML has more than {MOST_NOTES} notes: that is more than a tune.", place)
    # The encoding has been taken off; a declaration of it in a text would contradict that.
    return re.sub(r"^\s*<\?xml[^>]*\?>", "", text)


def _other_ornaments(text: str, nth: int) -> list[list[str]]:
    """The ornaments by name (a roll) of each note of part `nth` (from 0), in order: music21 leaves the names out."""
    parts = re.findall(r"<part\s.*?</part>", text, re.DOTALL) if "<score-partwise" in text else [text]
    found: list[list[str]] = []
    for note in re.findall(r"<note\b.*?</note>", parts[nth] if nth < len(parts) else "", re.DOTALL):
        if "<rest" in note or "<grace" in note or "<chord" in note:
            continue
        found.append(re.findall(r"<other-ornament[^>]*>\s*([^<]*?)\s*</other-ornament>", note))
    return found


def _choose(parts: list[Any], voice: str | None, complaints: Complaints) -> Any:
    if len(parts) > 1:
        names = [str(p.partName or n) for n, p in enumerate(parts, 1)]
        chosen = 0
        if voice is not None:
            wanted = [n for n, name in enumerate(names, 1) if voice.lower() in (name.lower(), str(n))]
            chosen = wanted[0] - 1 if wanted else 0
            if not wanted:
                complaints.error(0, 0, f"There is no part “{voice}”; choose one of {', '.join(names)}.")
        complaints.warn(0, 0, f"The file has {len(parts)} parts; “{names[chosen]}” is taken as the melody.")
        return parts[chosen]
    return parts[0]


class _PartReader:
    """Goes through the measures of one part."""

    def __init__(self, score: Any, part: Any, complaints: Complaints, others: list[list[str]]) -> None:
        self.score, self.part, self.complaints = score, part, complaints
        self.others = others
        self.melody = Melody()
        self.now: Ticks = 0
        self.meter: Meter = FREE
        self.first_meter: Meter | None = None
        self.grace: list[int] = []
        self.seen = 0
        self.brackets: dict[int, tuple[int, ...]] = {}
        for bracket in part.recurse().getElementsByClass("RepeatBracket"):
            first = bracket.getFirst()
            if first is not None:
                self.brackets[id(first)] = tuple(int(n) for n in bracket.numberRange)

    def tune(self) -> Any:
        """The tune of the part."""
        measures = list(self.part.getElementsByClass("Measure"))
        joint = Joint.PLAIN
        for n, measure in enumerate(measures):
            joint = self._left(measure, joint, first=n == 0)
            self._measure(measure, joint)
            joint = self._right(measure)
        meta = self.score.metadata
        title = (meta.title or meta.movementName or "") if meta is not None else ""
        composer = meta.composer if meta is not None else None
        meter = self.first_meter or FREE
        heading = Heading(
            1, (title,) if title else (), "", meter, self._key(), self._tempo(), default_unit(meter),
            (("C", composer),) if composer else (),
        )  # fmt: skip
        return build(heading, self.melody, (), self.complaints)

    def _left(self, measure: Any, joint: Joint, first: bool) -> Joint:
        items = self.melody.items
        line = measure.leftBarline
        if line is not None and getattr(line, "direction", "") == "start":
            items.append(Mark("start", 0, 0, 2))
            joint = Joint.STRONG
        if id(measure) in self.brackets:
            items.append(Mark("ending", 0, 0, numbers=self.brackets[id(measure)]))
            joint = Joint.ENDING
        return Joint.SOFT if first and joint is Joint.PLAIN else joint

    def _right(self, measure: Any) -> Joint:
        line = measure.rightBarline
        if line is None:
            return Joint.PLAIN
        if getattr(line, "direction", "") == "end":
            self.melody.items.append(Mark("end", 0, 0, int(line.times or 2)))
            return Joint.STRONG
        if line.type in ("double", "final", "heavy-heavy", "heavy-light"):
            self.melody.items.append(Mark("double", 0, 0))
            return Joint.STRONG
        return Joint.PLAIN

    def _measure(self, measure: Any, joint: Joint) -> None:
        melody = self.melody
        for sign in measure.getElementsByClass("TimeSignature"):
            text = {"common": "C", "cut": "C|"}.get(sign.symbol or "", sign.ratioString)
            try:
                self.meter = read_meter(text)
            except FieldError:
                self.meter = FREE
        if measure.getElementsByClass("SenzaMisuraTimeSignature"):
            self.meter = FREE
        if self.first_meter is None:
            self.first_meter = self.meter
        first, start = len(melody.drafts), self.now
        chords = {c.offset: c.figure for c in measure.getElementsByClass("ChordSymbol")}
        jumps: list[Jump] = []
        for mark in measure.recurse().getElementsByClass("RepeatExpression"):
            kind = _JUMPS.get(type(mark).__name__)
            if kind == "coda" and "to" in str(mark.getText() or "").lower():
                kind = "to coda"
            if kind in ("segno", "coda"):
                melody.jumps.append((kind, len(melody.spans)))
            elif kind is not None:
                jumps.append(kind)
        voices = list(measure.voices)
        source = voices[0] if voices else measure
        for element in source.notesAndRests:
            if "ChordSymbol" in element.classes:
                continue
            at = start + ticks(Fraction(element.offset).limit_denominator(100_000) / 4)
            if at > self.now:
                melody.drafts.append(Draft(self.now, at - self.now, REST, False, NO_EXTRAS, 0, 0))
                self.now = at
            self._sound(element, chords)
        if len(melody.drafts) > first:
            full = None if self.meter.bar is None else ticks(self.meter.bar)
            melody.items.append(len(melody.spans))
            melody.spans.append(
                DraftSpan(
                    first, len(melody.drafts), start, self.now - start, full, joint, 0, 0, meter=self.meter.text
                )
            )  # fmt: skip
        melody.jumps += [(kind, len(melody.spans)) for kind in jumps]

    def _sound(self, element: Any, chords: dict[Any, str]) -> None:
        if element.duration.isGrace:
            self.grace += [p.midi for p in element.pitches]
            return
        length = ticks(Fraction(element.duration.quarterLength).limit_denominator(100_000) / 4)
        if element.isRest or not element.pitches:  # without a pitch: of percussion
            self.seen += not element.isRest
            if length:
                self.melody.drafts.append(Draft(self.now, length, REST, False, NO_EXTRAS, 0, 0))
            self.now += length
            return
        others = self.others[self.seen] if self.seen < len(self.others) else []
        self.seen += 1
        pitches = sorted(p.midi for p in element.pitches)
        tie = element.tie
        if tie is None and element.isChord:
            tie = element.notes[-1].tie
        extras = self._extras(element, others, tuple(pitches[:-1]), chords.get(element.offset))
        tied = tie is not None and tie.type in ("start", "continue")
        self.melody.drafts.append(Draft(self.now, length, pitches[-1], tied, extras, 0, 0))
        self.now += length
        self.grace = []

    def _extras(self, element: Any, others: list[str], under: tuple[int, ...], chord: str | None) -> Extras:
        names: list[str] = []
        finger: int | None = None
        for mark in [*element.expressions, *element.articulations]:
            kind = type(mark).__name__
            if kind == "Fingering" and str(mark.fingerNumber).isdecimal():
                finger = int(mark.fingerNumber)
            elif kind in _EXPRESSIONS:
                names.append(_EXPRESSIONS[kind])
        names += [name for name in others if name]
        if not (names or self.grace or chord or under or finger is not None):
            return NO_EXTRAS
        return tuple(dict.fromkeys(names)), tuple(self.grace), chord.replace("-", "b") if chord else None, under, finger

    def _key(self) -> Key:
        found = self.part.recurse().getElementsByClass("KeySignature")
        sign = found[0] if len(found) else None
        if sign is None:
            return NO_KEY
        altered = {p.step: int(p.accidental.alter) for p in sign.alteredPitches if p.accidental is not None}
        order = "FCGDAEB" if sum(altered.values()) >= 0 else "BEADGCF"
        signature = tuple((letter, altered[letter]) for letter in order if altered.get(letter))
        tonic, mode = "", "none"
        if "Key" in sign.classes:
            tonic, mode = sign.tonic.name.replace("-", "b"), sign.mode
        elif sign.sharps is not None:
            tonic, mode = sign.asKey("major").tonic.name.replace("-", "b"), "major"
        text = f"{tonic}{'' if mode == 'major' else mode[:3]}" if tonic else "none"
        return Key(text, tonic, mode, signature)

    def _tempo(self) -> Tempo | None:
        for mark in self.part.recurse().getElementsByClass("MetronomeMark"):
            rate = mark.getQuarterBPM()
            if rate:
                return Tempo(Fraction(1, 4), round(float(rate), 3), str(mark.text or ""))
        return None
