"""One tune of an ABC book: its header, then its body line by line (ABC 2.1, 2.2, 3 and 7)."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from companion.notation.abc_decorations import MEANINGS, SHORTHAND
from companion.notation.abc_fields import (
    FREE,
    NO_KEY,
    FieldError,
    default_unit,
    read_key,
    read_meter,
    read_shift,
    read_tempo,
    read_unit,
)
from companion.notation.abc_symbols import SymbolLines
from companion.notation.abc_text import text_string, uncomment
from companion.notation.abc_voice import MOST_NOTES, TooLongError, VoiceReader
from companion.tune.build_tune import Heading, build
from companion.tune.draft import Complaints, Melody
from companion.tune.tune import Tune
from companion.tune.tune_values import Key, Meter, Tempo

LONGEST_LINE = 20_000
LONGEST_TUNE = 400_000
FIELD = re.compile(r"([A-Za-z+]):")
_VOICE = re.compile(r"\[V:([^\]]*)\]")
STRING_FIELDS = frozenset("ABCDFGHNORSTWwZ")
_IN_BODY = frozenset("IKLMmNPQRrsTUVWw")
_HEADER_ONLY = frozenset("ABCDFGHOSZ")
_UNUSED = frozenset("EJYabcdefghijklnopqtuvxyz")


@dataclass(slots=True)
class Defaults:
    """What a file header sets for every tune (2.2.2), and what a tune begins with."""

    meter: Meter = FREE
    unit: Fraction | None = None
    fields: list[tuple[str, str]] = field(default_factory=list)
    symbols: dict[str, str] = field(default_factory=lambda: dict(SHORTHAND))
    meanings: Mapping[str, str] = field(default_factory=lambda: MEANINGS)
    propagate: str = "pitch"
    plus_decorations: bool = False
    bang_breaks: bool = False
    strict: bool = False
    macros: list[tuple[str, str]] = field(default_factory=list)

    def copy(self) -> Defaults:
        """The same, to be changed by one tune."""
        return Defaults(
            self.meter, self.unit, list(self.fields), dict(self.symbols), self.meanings, self.propagate,
            self.plus_decorations, self.bang_breaks, self.strict, list(self.macros),
        )  # fmt: skip


class TuneReader:
    """Reads the lines of one tune."""

    def __init__(self, defaults: Defaults, number: int, line: int, voice: str | None = None) -> None:
        self.set = defaults.copy()
        self.number = number
        self.line = line
        self.wanted = voice
        self.complaints = Complaints()
        self.titles: list[str] = []
        self.key: Key = NO_KEY
        self.tempo: Tempo | None = None
        self.order = ""
        self.order_place = (0, 0)
        self.rhythm = next((text for name, text in self.set.fields if name == "R"), "")
        self.voices: dict[str, VoiceReader] = {}
        self.declared: dict[str, tuple[int | None, int | None, int | None]] = {}
        self.shift: tuple[int | None, int | None, int | None] = (None, None, None)
        self.now: VoiceReader | None = None
        self.symbol_lines = SymbolLines()
        self._tempo_text: tuple[str, int, int] | None = None
        self._last_field = ""
        self._read = 0

    # The header ----------------------------------------------------------------------------------------------------

    def header(self, name: str, text: str, line: int, column: int) -> None:
        """One field of the header."""
        self._last_field = name
        if name == "T":
            self.titles.append(text_string(text))
        elif name == "K":
            self._key_field(text, line, column)
        elif name == "P":
            self.order, self.order_place = text, (line, column)
        elif name == "Q":
            self._tempo_text = (text, line, column)
        elif name == "V":
            self._declare(text, line, column)
        elif name == "R":
            self.rhythm = text_string(text)
        elif name in STRING_FIELDS:
            self.set.fields.append((name, text_string(text)))
        elif name in "MLUIm":
            apply_setting(self.set, self.complaints, name, text, line, column)
        elif name in _UNUSED or name == "s":
            self.complaints.warn(line, column, f"The field {name}: means nothing here; it is left out.")

    def more(self, text: str) -> None:
        """The continuation of the last field (3.3)."""
        name = self._last_field
        if name == "T" and self.titles:
            self.titles[-1] += " " + text_string(text)
        elif name == "P":
            self.order += text
        elif name == "R":
            self.rhythm += " " + text_string(text)
        elif name in STRING_FIELDS and self.set.fields:
            before, old = self.set.fields[-1]
            self.set.fields[-1] = (before, old + " " + text_string(text))

    def _key_field(self, text: str, line: int, column: int) -> None:
        read = read_key(text)
        if read.doubt:
            self.complaints.warn(line, column, read.doubt)
        self.key = read.key or NO_KEY
        self.shift = (read.octave, read.transpose, read.clef_shift)

    def _declare(self, text: str, line: int, column: int) -> None:
        """A voice named in the header (7): its properties."""
        name, _, rest = text.strip().partition(" ")
        if name:
            self.declared[name[:20]] = read_shift(rest)[:3]
        else:
            self.complaints.warn(line, column, "A voice (V:) without a name.")

    def begin_body(self) -> None:
        """The header is complete: what it says holds from here on."""
        if self.set.unit is None:
            self.set.unit = default_unit(self.set.meter)
        if self._tempo_text is not None:
            text, line, column = self._tempo_text
            try:
                self.tempo = read_tempo(text, self.set.unit)
            except FieldError as error:
                self.complaints.warn(line, column, f"{error}; it is left out.")
        # Music without V: in the body belongs to the voice of the header, where there is just one.
        self.now = self._voice(next(iter(self.declared)) if len(self.declared) == 1 else "")

    # The body ------------------------------------------------------------------------------------------------------

    def body(self, text: str, line: int) -> None:
        """One line of the body, without its comment."""
        now = self.now
        assert now is not None
        match = FIELD.match(text)
        if match is not None and self._is_field(match[1], text):
            name = match[1]
            now.line = line
            if name == "+":
                self._continue_in_body(text[2:].strip(), line)
                return
            self._last_field = name
            self.body_field(name, text[2:].strip(), match.end() + 1)
            return
        if len(text) > LONGEST_LINE:
            self.complaints.error(line, 1, f"The line is longer than {LONGEST_LINE} characters.")
            text = text[:LONGEST_LINE]
        self._read += len(text)
        if self._read > LONGEST_TUNE:
            self.complaints.error(line, 1, f"The tune has more than {LONGEST_TUNE} characters of music.")
            raise TooLongError
        if self.set.macros:
            text = self._expand(text)
        try:
            if "[V:" in text:
                self._voices_in_line(text, line)
            else:
                self.symbol_lines.music(now)
                now.music(text, line)
        except TooLongError:
            self.complaints.error(line, 1, f"The tune has more than {MOST_NOTES} notes.")
            raise

    def _voices_in_line(self, text: str, line: int) -> None:
        """A line of music in which the voice changes (7)."""
        at = 0
        for match in [*_VOICE.finditer(text), None]:
            end = match.start() if match else len(text)
            now = self.now
            assert now is not None
            if text[at:end].strip():
                self.symbol_lines.music(now)
                now.music(text[at:end], line, at)
            if match is not None:
                now.line = line
                self._switch(match[1], match.start() + 1)
                at = match.end()

    def _is_field(self, name: str, text: str) -> bool:
        """Whether a line that looks like a field is one: `d:|` is music (3)."""
        if name in _IN_BODY or name == "+":
            return True
        if name in _HEADER_ONLY:
            return not re.match(r".:\s*[|:\]]|.:\s*$", text)
        return name in _UNUSED and name not in "abcdefgxyz"

    def _continue_in_body(self, text: str, line: int) -> None:
        now = self.now
        assert now is not None
        if self._last_field == "s":
            self.symbol_lines.more(now, text, line)
        elif self._last_field in STRING_FIELDS:
            self.more(text)

    def body_field(self, name: str, text: str, column: int) -> None:
        """A field in the body, on its own line or inline (3.2)."""
        now = self.now
        assert now is not None
        line = now.line
        if name == "K":
            self._key_in_body(now, text, column)
        elif name == "M":
            try:
                now.set_meter(read_meter(text))
            except FieldError as error:
                self.complaints.warn(line, column, f"{error}; it is left out.")
        elif name == "L":
            try:
                now.set_unit(read_unit(text))
            except FieldError as error:
                self.complaints.warn(line, column, f"{error}; it is left out.")
        elif name == "P":
            if text:
                now.part(text_string(text), column)
        elif name == "V":
            self._switch(text, column)
        elif name == "Q":
            self._tempo_in_body(now, text, column)
        elif name == "I":
            self.directive(text, line, column)
        elif name == "U":
            apply_setting(self.set, self.complaints, "U", text, line, column)
            for voice in self.voices.values():
                voice.symbols = self.set.symbols
        elif name == "s":
            self.symbol_lines.read(now, text, self.set.strict)
        elif name == "m":
            apply_setting(self.set, self.complaints, "m", text, line, column)
        elif name == "R" and not self.rhythm:
            self.rhythm = text_string(text)
        elif name in "NWw" or name in _HEADER_ONLY:
            if name in _HEADER_ONLY:
                self.complaints.warn(line, column, f"The field {name}: belongs in the header of the tune.")
            self.set.fields.append((name, text_string(text)))
        elif name not in "rRT":
            self.complaints.warn(line, column, f"The field {name}: means nothing here; it is left out.")

    def _key_in_body(self, now: VoiceReader, text: str, column: int) -> None:
        read = read_key(text)
        if read.doubt:
            self.complaints.warn(now.line, column, read.doubt)
        if read.key is not None:
            now.set_key(read.key)
        if (read.octave, read.transpose, read.clef_shift) != (None, None, None):
            now.shifts = _over(now.shifts, (read.octave, read.transpose, read.clef_shift))
            now.set_shift(_semitones(now.shifts))

    def _tempo_in_body(self, now: VoiceReader, text: str, column: int) -> None:
        try:
            tempo = read_tempo(text, self.set.unit or Fraction(1, 8))
        except FieldError as error:
            self.complaints.warn(now.line, column, f"{error}; it is left out.")
            return
        if self.tempo is None and not now.melody.drafts:
            self.tempo = tempo
        elif tempo is not None and tempo != self.tempo:
            self.complaints.warn(now.line, column, "A change of tempo within the tune is left out.")

    def _switch(self, text: str, column: int) -> None:
        """`V:` in the body: what follows belongs to that voice (7)."""
        name, _, rest = text.strip().partition(" ")
        name = name[:20]
        line = self.now.line if self.now else self.line
        if rest:
            self.declared[name] = _over(self.declared.get(name, (None, None, None)), read_shift(rest)[:3])
        self.now = self._voice(name)
        if rest:
            self.now.shifts = _over(self.now.shifts, self.declared[name])
            self.now.set_shift(_semitones(self.now.shifts))
        self.now.line = line
        del column

    def _voice(self, name: str) -> VoiceReader:
        """The reader of a voice; a new one begins as the header says."""
        found = self.voices.get(name)
        if found is not None:
            return found
        first = self.voices.get("")
        if first is not None and len(self.voices) == 1 and not first.melody.drafts:
            # Nothing has been read yet: what stands before the first V: is about that voice.
            del self.voices[""]
            first.melody.name = name
            voice = first
        else:
            voice = VoiceReader(name, self.complaints, self.body_field)
            voice.set_meter(self.set.meter)
            voice.set_unit(self.set.unit or Fraction(1, 8))
            voice.set_key(self.key)
        voice.symbols, voice.meanings = self.set.symbols, self.set.meanings
        voice.bang_breaks = self.set.bang_breaks
        voice.set_propagation(self.set.propagate)
        voice.shifts = _over(self.shift, self.declared.get(name, (None, None, None)))
        voice.set_shift(_semitones(voice.shifts))
        self.voices[name] = voice
        return voice

    def directive(self, text: str, line: int, column: int) -> None:
        """`I:` and `%%` (3.1.17, 11): those that change what is played."""
        before = (self.set.propagate, self.set.bang_breaks)
        apply_setting(self.set, self.complaints, "I", text, line, column)
        if before != (self.set.propagate, self.set.bang_breaks):
            for voice in self.voices.values():
                voice.bang_breaks = self.set.bang_breaks
            if self.now is not None and before[0] != self.set.propagate:
                self.now.set_propagation(self.set.propagate)

    def _expand(self, text: str) -> str:
        from companion.notation.abc_macros import expand

        return expand(text, self.set.macros)

    # The end -------------------------------------------------------------------------------------------------------

    def finish(self) -> Tune:
        """The tune, once its last line has been read."""
        melodies = {name: reader.finish() for name, reader in self.voices.items()}
        overlays = [m for reader in self.voices.values() for m in reader.overlays]
        self.voices, self.now = {}, None  # they refer back to this reader
        chosen = self._choose(melodies)
        others = tuple(m for name, m in melodies.items() if name != chosen and m.drafts) + tuple(overlays)
        if len([m for m in melodies.values() if m.drafts]) > 1:
            self.complaints.warn(self.line, 1, f"The tune has several voices; “{chosen}” is taken as the melody.")
        heading = Heading(
            self.number, tuple(self.titles), self.rhythm, self.set.meter, self.key, self.tempo,
            self.set.unit or Fraction(1, 8), tuple(self.set.fields), self.order, self.order_place, self.line,
        )  # fmt: skip
        return build(heading, melodies.get(chosen, Melody()), others, self.complaints)

    def _choose(self, melodies: dict[str, Melody]) -> str:
        """The voice of the melody: the one that is asked for, else the first that has notes (7)."""
        names = [n for n in self.declared if n in melodies] + [n for n in melodies if n not in self.declared]
        full = [n for n in names if any(d.pitch >= 0 for d in melodies[n].drafts)] or names
        if self.wanted is None:
            return full[0] if full else ""
        for name in full:
            if name.lower() == self.wanted.lower():
                return name
        known = ", ".join(f"“{n}”" for n in full)
        if len(full) > 1:
            self.complaints.error(self.line, 1, f"There is no voice “{self.wanted}”; choose one of {known}.")
        elif full:  # in a book, whose other tunes may have the voice
            self.complaints.warn(self.line, 1, f"There is no voice “{self.wanted}”; the only one is used.")
        return full[0] if full else ""


def _over(
    old: tuple[int | None, int | None, int | None], new: tuple[int | None, int | None, int | None]
) -> tuple[int | None, int | None, int | None]:
    """Shifts with those that are newly said in place of the old."""
    a, b, c = (n if n is not None else o for o, n in zip(old, new, strict=True))
    return a, b, c


def _semitones(shifts: tuple[int | None, int | None, int | None]) -> int:
    """By how much octave=, transpose= and the 8 of a clef raise what is written (4.6)."""
    octave, transpose, clef = shifts
    return 12 * (octave or 0) + (transpose or 0) + (clef or 0)


def apply_setting(settings: Defaults, complaints: Complaints, name: str, text: str, line: int, column: int) -> None:
    """A field that sets something for what follows: `M:`, `L:`, `U:`, `I:`, `m:`."""
    try:
        if name == "M":
            settings.meter = read_meter(text)
        elif name == "L":
            settings.unit = read_unit(text)
        elif name == "U":
            _define(settings, text)
        elif name == "m":
            target, _, made = text.partition("=")
            if not target.strip() or len(target) > 31 or len(made) > 200 or len(settings.macros) > 100:
                raise FieldError("A macro (m:) is written “m: ~G3 = G{A}G{F}G”")
            settings.macros.append((target.strip(), uncomment(made).strip()))
        elif name == "I":
            _instruct(settings, text)
    except FieldError as error:
        complaints.warn(line, column, f"{error}; it is left out.")


def _define(settings: Defaults, text: str) -> None:
    """`U: T = !trill!` (4.16)."""
    match = re.match(r"([H-Wh-w~])\s*=\s*(?:!([^!\s]+)!|\+([^+\s]+)\+|(\"[^\"]*\"))\s*$", text)
    if match is None:
        raise FieldError("A symbol (U:) is defined as “U: T = !trill!”, with a letter from H to W or h to w, or ~")
    settings.symbols = {**settings.symbols, match[1]: match[2] or match[3] or match[4]}


def _instruct(settings: Defaults, text: str) -> None:
    """The instructions that change what is played (3.1.17, 6.1.1, 11.3, 12.1.2)."""
    words = text.split()
    if not words:
        return
    name, values = words[0].lower(), [w.lower() for w in words[1:]]
    if name == "propagate-accidentals":
        if not values or values[0] not in ("not", "octave", "pitch"):
            raise FieldError("propagate-accidentals is one of not, octave, pitch")
        settings.propagate = values[0]
    elif name == "linebreak":
        settings.bang_breaks = "!" in values
    elif name == "continueall":
        settings.bang_breaks = values[:1] in (["true"], ["1"], ["yes"])
    elif name == "decoration":
        settings.plus_decorations = "+" in values
    elif name == "abc-include":
        raise FieldError("abc-include is not followed: a book is read by itself")
    elif name == "abc-version" and values:
        settings.strict = is_strict(values[0])


def is_strict(version: str) -> bool:
    """Whether a version of ABC is 2.1 or later (12.3)."""
    match = re.match(r"(\d{1,3})(?:\.(\d{1,3}))?", version)
    return match is not None and (int(match[1]), int(match[2] or 0)) >= (2, 1)
