"""ABC books: the lines of a file, told apart into file header, tunes and free text (ABC 2.1, 2.2)."""

from __future__ import annotations

import re
from collections.abc import Collection
from pathlib import Path

from companion.errors import Place, UserError
from companion.notation.abc_decorations import MEANINGS
from companion.notation.abc_text import uncomment
from companion.notation.abc_tune import FIELD, LONGEST_LINE, Defaults, TuneReader, apply_setting, is_strict
from companion.notation.abc_voice import TooLongError
from companion.notation.book_values import Book, told_apart
from companion.tune.draft import Complaints
from companion.tune.fast_values import no_collection
from companion.tune.ornament_signs import in_abc
from companion.tune.tune import Tune
from companion.tune.tune_values import Problem

_LINES = re.compile(r"\r\n|\r|\n")


def read_abc(text: str, *, file: Path | None = None, voice: str | None = None, ornaments: Collection[str] = ()) -> Book:
    """Every tune of an ABC text.

    Parameters
    ----------
    text : the text of a file.
    file : where it comes from, for the error.
    voice : the voice that is the melody where a tune has several; None for the first.
    ornaments : the names of ornaments besides those of `ornament_signs.py`, as in a player's own table.

    Returns
    -------
    Book
        Its tunes in written order; `problems` are those outside any tune.

    Raises
    ------
    UserError
        Where there is no tune in the text.
    """
    reader = _BookReader(voice, Defaults(meanings={**in_abc(ornaments), **MEANINGS}))
    with no_collection():
        for number, line in enumerate(_LINES.split(text.lstrip("\ufeff")), 1):
            reader.line(line, number)
        tunes = reader.finish()
    if not tunes:
        raise UserError("There is no tune here: a tune in ABC begins with a line “X:1”.", Place(file))
    return Book(told_apart(tunes), tuple(reader.complaints.problems))


class _BookReader:
    """Goes through the lines of a book; `tune` is the tune that is open, `in_body` whether its key has come."""

    def __init__(self, voice: str | None, defaults: Defaults) -> None:
        self.voice = voice
        self.defaults = defaults
        self.complaints = Complaints()
        self.tunes: list[Tune] = []
        self.numbers: dict[int, int] = {}  # the line on which each was first
        self.tune: TuneReader | None = None
        self.in_body = False
        self.full = False  # the tune is too long: the rest of its lines is left out
        self.before_tunes = True  # still where a file header may stand
        self.header_open = True
        self.text_block = False
        self.loose: list[tuple[int, str]] = []  # lines before any X:, for a tune without one
        self.gap = 0  # an empty line inside an open header
        self.strays: list[tuple[int, str]] = []  # lines in a header that are no fields

    def line(self, raw: str, number: int) -> None:
        text = raw.rstrip()
        if text.startswith("%"):
            self._percent(text, number)
            return
        if self.text_block:
            return
        if not text:
            self._empty(number)
            return
        if "%" in text:
            text = uncomment(text).rstrip()
            if not text:
                return  # a line with nothing but a comment is no empty line (2.2.5)
        if text[0].isspace() and FIELD.match(text.lstrip()) and (self.tune is None or not self.in_body):
            text = text.lstrip()
        if text.startswith("X:"):
            self._begin(text[2:].strip(), number)
        elif self.tune is None:
            self._outside(text, number)
        elif self.in_body:
            self._body(text, number)
        else:
            self._header(text, number)

    def _percent(self, text: str, number: int) -> None:
        """Comments, directives, the version of the file (2.1, 11.0.2)."""
        if number == 1 and text.startswith("%abc"):
            self.defaults.strict = is_strict(text[5:])
        elif text.startswith("%%"):
            directive = text[2:].strip()
            if directive.startswith("begintext"):
                self.text_block = True
            elif directive.startswith("endtext"):
                self.text_block = False
            elif self.tune is not None:
                self.tune.directive(directive, number, 3)
            elif self.header_open:
                apply_setting(self.defaults, self.complaints, "I", directive, number, 3)

    def _empty(self, number: int) -> None:
        """An empty line ends a tune and the file header (2.2.1)."""
        if self.tune is not None and not self.in_body:
            self.gap = number  # a header goes on where more fields follow
        elif self.tune is not None:
            self._end()
        if self.before_tunes and self.loose:
            self.header_open = False

    def _begin(self, text: str, number: int) -> None:
        if self.tune is not None:
            if not self.gap:
                self.tune.complaints.warn(number, 1, "A tune ends with an empty line; the next one begins here.")
            self._end()
        self.before_tunes = self.header_open = False
        self.loose.clear()
        found = re.match(r"\d{1,9}", text)
        reader = TuneReader(self.defaults, int(found[0]) if found else len(self.tunes) + 1, number, self.voice)
        if text and (found is None or found[0] != text):
            reader.complaints.warn(number, 3, f"“{text[:20]}” is not a reference number.")
        if (before := self.numbers.setdefault(reader.number, number)) != number:
            reader.complaints.warn(
                number, 3, f"Line {before} has a tune {reader.number} already; give this one a number of its own."
            )
        self.tune, self.in_body, self.full, self.gap = reader, False, False, 0
        self.strays.clear()

    def _outside(self, text: str, number: int) -> None:
        """A line that belongs to no tune: the file header, or free text."""
        if not self.before_tunes:
            return
        self.loose.append((number, text))
        match = FIELD.match(text)
        if self.header_open and match is not None and match[1] in "ABCDFGHILMmNORSUZr":
            name, rest = match[1], text[2:].strip()
            if name in "MLUIm":
                apply_setting(self.defaults, self.complaints, name, rest, number, 3)
            elif name != "r":
                self.defaults.fields.append((name, rest))

    def _header(self, text: str, number: int) -> None:
        tune = self.tune
        assert tune is not None
        match = FIELD.match(text)
        if match is None:
            if self.gap:
                self._end()  # free text after a tune that is documented only
                return
            self.strays.append((number, text))
            return
        if self.gap:
            tune.complaints.warn(self.gap, 1, "An empty line inside the header of a tune.")
            self.gap = 0
        name, rest = match[1], text[2:].strip()
        if name == "+":
            tune.more(rest)
            return
        self._settle_strays(tune)
        tune.header(name, rest, number, 3)
        if name == "K":
            tune.begin_body()
            self.in_body = True

    def _settle_strays(self, tune: TuneReader) -> None:
        """Lines in a header that are no fields, with a field after them: text that runs on (10.1)."""
        for number, text in self.strays:
            if tune._last_field != "H":
                tune.complaints.warn(number, 1, "A header line that is not a field is read as part of the one before.")
            tune.more(text.strip())
        self.strays.clear()

    def _body(self, text: str, number: int) -> None:
        if self.full or self.tune is None:
            return
        try:
            self.tune.body(text, number)
        except TooLongError:
            self.full = True

    def _end(self) -> None:
        """The open tune is complete."""
        tune = self.tune
        if tune is None:
            return
        if not self.in_body:
            place = self.strays[0][0] if self.strays else tune.line
            tune.complaints.warn(place, 1, "The tune has no key (K:); it is read without a signature.")
            tune.begin_body()
            self.in_body = True
            for number, text in self.strays:
                self._body(text, number)
        self.strays = []
        self.tunes.append(tune.finish())
        self.tune = None
        self.in_body = False
        self.gap = 0

    def finish(self) -> list[Tune]:
        self._end()
        if not self.tunes and any(t.startswith("K:") for _, t in self.loose):
            self._without_number()
        return self.tunes

    def _without_number(self) -> None:
        """A file with one tune and no `X:`, as ABC 2.0 allowed it (10.5.1)."""
        lines, self.loose = self.loose, []
        self.defaults.fields.clear()
        first = lines[0][0]
        self._begin("1", first)
        if self.tune is not None:
            self.tune.complaints.warn(first, 1, "A tune begins with its reference number (X:1).")
        for number, text in lines:
            self.line(text, number)
        self._end()


def problems_of(book: Book) -> list[Problem]:
    """Every problem of a book, in the order of its lines."""
    return sorted([*book.problems, *(p for t in book.tunes for p in t.problems)], key=lambda p: (p.line, p.column))


__all__ = ["LONGEST_LINE", "problems_of", "read_abc"]
