"""A tune as ABC (2.1). Reading it again gives the same tune."""

from __future__ import annotations

import re
from fractions import Fraction

from companion.notation.abc_fields import FieldError, read_key, read_meter
from companion.notation.spelling import LETTERS, Speller
from companion.tune.draft import Joint, Mark
from companion.tune.ornament_signs import SIGNS
from companion.tune.ticks import RES, Ticks, ticks
from companion.tune.tune import Atom, Span, Tune
from companion.tune.tune_values import Key, Meter, Note

_SYMBOLS = {sign.name: f"!{sign.abc[0]}!" for sign in SIGNS} | {
    "roll": "~", "staccato": ".", "up-bow": "!upbow!", "down-bow": "!downbow!", "to coda": "!dacoda!",
}  # fmt: skip
_SIGNS = {-2: "__", -1: "_", 0: "=", 1: "^", 2: "^^"}
_BARS_IN_LINE = 4


def write_abc(tune: Tune) -> str:
    """The tune as ABC: its header, its melody with all signs, ornaments, grace notes, chord symbols and fingerings.

    Broken rhythms come out as the lengths that they stand for. Voices beside the melody are not written.
    """
    return _header(tune) + _AbcWriter(tune).body()


def _symbol(name: str) -> str:
    """A sign over a note as ABC writes it."""
    return _SYMBOLS.get(name) or f"!{name.replace(' ', '')}!"


def _header(tune: Tune) -> str:
    lines = [f"X:{tune.number}"]
    lines += [f"T:{escaped(title)}" for title in tune.titles] or ["T:"]
    lines += [f"{name}:{escaped(text)}" for name, text in tune.fields if name not in "wsXTKMLQPR"]
    if tune.rhythm:
        lines.append(f"R:{escaped(tune.rhythm)}")
    if tune.course.order:
        lines.append(f"P:{tune.course.order}")
    lines += [f"M:{_meter_text(tune.meter)}", f"L:{tune.unit}"]
    if tune.tempo is not None:
        words = f'"{tune.tempo.words}" ' if tune.tempo.words else ""
        beat = f"{tune.tempo.beat.numerator}/{tune.tempo.beat.denominator}"
        lines.append(f"Q:{words}{beat}={tune.tempo.per_minute:g}")
    lines.append(f"K:{_key_text(tune.key)}")
    return "\n".join(lines) + "\n"


def escaped(text: str) -> str:
    """A text string that reads as `text` (8.2)."""
    plain = text.replace("\n", " ").strip()
    return plain.replace("\\", "\\\\").replace("%", "\\%").replace("&", "\\&")


def _key_text(key: Key) -> str:
    """The key as it was written, where that still says what it says; else its signature spelt out."""
    read = read_key(key.text).key
    if read is not None and read.signature == key.signature and not read_key(key.text).doubt:
        return key.text
    marks = " ".join(_SIGNS[alter] + letter.lower() for letter, alter in key.signature)
    return f"{key.tonic or 'C'} exp {marks}" if marks else "none"


def _meter_text(meter: Meter) -> str:
    try:
        if read_meter(meter.text).bar == meter.bar:
            return meter.text
    except FieldError:
        pass
    return "none" if meter.bar is None else f"{meter.bar.numerator}/{meter.bar.denominator}"


class _AbcWriter:
    """Writes the body; keeps the accidentals of the bar as a reader would."""

    def __init__(self, tune: Tune) -> None:
        self.tune = tune
        self.speller = Speller(tune.key)
        self.altered: dict[int, int] = {}
        self.meter = tune.meter.text
        self.unit = Fraction(RES) * tune.unit
        self.begun = -1  # the last note whose ornaments have been written
        self.tied: tuple[int, int, int] | None = None  # the spelling of a note tied to the next one
        self.covered: set[tuple[str, int]] = set()
        for n, span in enumerate(tune.course.spans):
            for note, *_ in tune.course.atoms[span.first : span.last]:
                for name in tune.notes[note].ornaments:
                    self.covered |= {(name, n), (name, n + 1)}

    def body(self) -> str:
        course = self.tune.course
        lines: list[str] = []
        now: list[str] = []
        bars = 0
        for at, item in enumerate(course.items):
            if isinstance(item, Mark):
                now.append(self._mark(item))
                continue
            span = course.spans[item]
            before = course.items[at - 1] if at else None
            barred = self._barred(at)
            if at and not barred and span.joint is not Joint.SOFT:
                bar = ".|" if span.joint is Joint.DOTTED else "|"
                now.insert(len(now) - self._endings_at_end(at), bar)
                barred = True
            now = self._jumps(now, item)
            if barred or before is None:
                self.altered.clear()
            if barred:
                bars += 1
                if bars % _BARS_IN_LINE == 0 and span.joint is Joint.PLAIN:
                    lines.append(" ".join(now))
                    now = []
            now.append(self._span(span))
        now = self._jumps(now, len(course.spans))
        if not self._barred(len(course.items)):
            now.append("|]")
        lines.append(" ".join(now))
        return "\n".join(line for line in lines if line) + "\n"

    def _barred(self, at: int) -> bool:
        """Whether the signs before item `at` hold a bar line."""
        items = self.tune.course.items
        while at > 0:
            before = items[at - 1]
            if not isinstance(before, Mark):
                return False
            if before.sign in ("end", "start", "double"):
                return True
            at -= 1
        return False

    def _endings_at_end(self, at: int) -> int:
        """How many signs before item `at` come after a bar line: endings and names of parts."""
        items, count = self.tune.course.items, 0
        while at - count > 0 and isinstance(items[at - count - 1], Mark):
            count += 1
        return count

    def _jumps(self, now: list[str], index: int) -> list[str]:
        """The signs of jumps at a bar line, put before it."""
        names = [kind for kind, at in self.tune.course.jumps if at == index and (kind, at) not in self.covered]
        if not names:
            return now
        marks = " ".join(_symbol(name) for name in names)
        at = len(now)
        while at > 0 and (now[at - 1].strip("|:.[]0123456789,") == "" or now[at - 1].startswith("[P:")):
            at -= 1
        if at == len(now):
            self.altered.clear()  # a bar line, even one that is not seen
            return [*now, marks, "[|]"] if index else [*now, marks, "|"]
        return [*now[:at], marks, *now[at:]]

    @staticmethod
    def _mark(mark: Mark) -> str:
        if mark.sign == "end":
            return ":" * (mark.times - 1) + "|"
        if mark.sign == "start":
            return "|" + ":" * (mark.times - 1)
        if mark.sign == "double":
            return "||"
        if mark.sign == "ending":
            return "[" + ",".join(str(n) for n in mark.numbers)
        # Brackets would end the field, or begin another one.
        name = re.sub(r"[\[\]]", " ", mark.name)
        return f"[P:{escaped(name)}]"

    def _span(self, span: Span) -> str:
        """The notes and rests between two signs."""
        out: list[str] = []
        if span.meter and span.meter != self.meter:
            self.meter = span.meter
            out.append(f"[M:{span.meter}]")
        now, end = span.onset, span.onset + span.length
        if span.more and span.first == span.last and span.length == self._bar_length(span) * (span.more + 1):
            self.tied = None
            return " ".join([*out, f"Z{span.more + 1}"])
        events: list[tuple[Atom | None, Ticks]] = []
        for atom in self.tune.course.atoms[span.first : span.last]:
            if atom[1] > now:
                events.append((None, atom[1] - now))
            events.append((atom, atom[2]))
            now = atom[1] + atom[2]
        if end > now:
            events.append((None, end - now))
        triplet = 0
        for n, (sounding, length) in enumerate(events):
            if not triplet and _is_third(length, self.unit):
                triplet = _run(events[n:], self.unit)
                out.append("(3" if triplet == 3 else f"(3:2:{triplet}")
            ratio = Fraction(length) / self.unit * (Fraction(3, 2) if triplet else 1)
            triplet = max(triplet - 1, 0)
            out.append(self._event(sounding, ratio))
        return " ".join(out)

    @staticmethod
    def _bar_length(span: Span) -> Ticks:
        """The length of a bar of rest: that of the meter, or a whole note in free meter."""
        try:
            bar = read_meter(span.meter).bar
        except FieldError:
            bar = None
        return RES if bar is None else ticks(bar)

    def _event(self, atom: Atom | None, ratio: Fraction) -> str:
        if atom is None:
            self.tied = None
            pieces = []
            longest = Fraction(64 * RES) / self.unit
            while ratio > longest:
                pieces.append("z" + _length(longest))
                ratio -= longest
            return " ".join([*pieces, "z" + _length(ratio)])
        index, _, _, pitch, tied = atom
        note = self.tune.notes[index]
        fresh = index != self.begun
        self.begun = index
        before = self._over(note) if fresh else ""
        under = note.under if fresh else ()
        carried, self.tied = self.tied, None
        heads = ""
        for one in (*under, pitch):
            heads += self._head(one, carried)
            spelled = self.speller.spell(one)
            if spelled != carried and _same_place(carried, spelled):
                carried = None  # its accidental is written out, and holds for the rest of the chord
        if under:
            heads = f"[{heads}]"
        self.tied = self.speller.spell(pitch) if tied else None
        return before + heads + _length(ratio) + ("-" if tied else "")

    def _over(self, note: Note) -> str:
        """What stands before a note: chord symbol, fingering, ornaments, grace notes."""
        carried, self.tied = self.tied, None
        out = f'"{escaped(note.chord)}"' if note.chord else ""
        out += f"!{note.finger}!" if note.finger is not None else ""
        out += "".join(_symbol(name) for name in note.ornaments)
        if note.grace:
            out += "{" + "".join(self._head(p, None) for p in note.grace) + "}"
        self.tied = carried
        return out

    def _head(self, pitch: int, carried: tuple[int, int, int] | None) -> str:
        """One note name, with an accidental where a reader would not know it from the bar, the key or a tie."""
        step, alter, octave = spelled = self.speller.spell(pitch)
        if carried == spelled or (
            alter == self.altered.get(step, self.speller.alters[step]) and not _same_place(carried, spelled)
        ):
            sign = ""
        else:
            sign = _SIGNS[alter]
            self.altered[step] = alter
        letter = LETTERS[step]
        if octave >= 5:
            return sign + letter.lower() + "'" * (octave - 5)
        return sign + letter + "," * (4 - octave)


def _same_place(carried: tuple[int, int, int] | None, spelled: tuple[int, int, int]) -> bool:
    return carried is not None and (carried[0], carried[2]) == (spelled[0], spelled[2])


def _length(ratio: Fraction) -> str:
    above, below = ratio.numerator, ratio.denominator
    if below == 1:
        return "" if above == 1 else str(above)
    return ("" if above == 1 else str(above)) + ("/" if below == 2 else f"/{below}")


def _is_third(length: Ticks, unit: Fraction) -> bool:
    """Whether a length is one of a triplet: two thirds of a length made of halves."""
    ratio = Fraction(length) / unit
    return length < 4 * RES and ratio.denominator % 3 == 0 and (ratio * Fraction(3, 2)).denominator % 3 != 0


def _run(events: list[tuple[Atom | None, Ticks]], unit: Fraction) -> int:
    """How many events belong to the triplet that begins with the first, at most nine."""
    count = 0
    for _, length in events[:9]:
        if not _is_third(length, unit):
            break
        count += 1
        if count == 3:
            break
    return count
