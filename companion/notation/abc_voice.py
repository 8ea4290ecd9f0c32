"""One voice of a tune body, read token by token into a `Melody` (ABC 2.1, section 4)."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from companion.notation.abc_decorations import FINGERS, JUMPS, MEANINGS, SHORTHAND, SILENT, jump_in_words
from companion.notation.abc_sounds import Sounds
from companion.notation.abc_text import text_string
from companion.notation.abc_tokens import NOTE, TOKEN, NoteToken, bar_token, ending_numbers, note_token, read_length
from companion.tune.draft import REST, Complaints, Joint, Mark, Melody
from companion.tune.ticks import Ticks, scaled

MOST_NOTES = 20_000
_CHORD_SYMBOL = re.compile(
    r"[A-G][b#♭♯♮=]?(?:maj|min|dim|aug|sus|add|no|omit|[mM°øo+\-]|[b#♭♯]?\d{1,2}|\([b#♭♯+\-]?\d{1,2}\)|,){0,8}"
    r"(?:/[A-Ga-g][b#♭♯♮]?)?(?:\s*\([^)]*\))?"
)
_GROUPS = sorted(TOKEN.groupindex, key=TOKEN.groupindex.__getitem__)
_IN_CHORD = ("sign", "bang", "plus", "text")


class TooLongError(Exception):
    """The tune has more notes than can be meant."""


class VoiceReader(Sounds):
    """Reads the music of one voice.

    Parameters
    ----------
    name : what the voice is called in the text.
    complaints : where problems go.
    field : called with an inline field: its letter, its text, its column.
    """

    def __init__(self, name: str, complaints: Complaints, field: Callable[[str, str, int], None]) -> None:
        super().__init__(name, complaints)
        self.symbols: dict[str, str] = SHORTHAND
        self.meanings: Mapping[str, str] = MEANINGS
        self.bang_breaks = False  # "!" stands for a line break (I:linebreak !)
        self.overlays: list[Melody] = []
        self.shifts: tuple[int | None, int | None, int | None] = (None, None, None)
        self._field = field
        self._beneath: tuple[object, ...] | None = None
        self._overlay_bars = 0
        # One handler a group of TOKEN, in the order of the groups.
        self._handlers: list[Callable[[str, int], None]] = [self.on_odd]
        self._handlers += [getattr(self, "on_" + name) for name in _GROUPS]

    def music(self, text: str, line: int, offset: int = 0) -> None:
        """Read a line of music; `offset` is the column before its first character."""
        self.line = line
        handlers = self._handlers
        offset += 1
        for match in TOKEN.finditer(text):
            handlers[match.lastindex or 0](match[0], match.start() + offset)
        if len(self.melody.drafts) > MOST_NOTES:
            raise TooLongError

    def finish(self) -> Melody:
        """The melody, once the last line has been read."""
        if self._beneath is not None:
            self._end_overlay()
        self._decorations_on_bar()
        self._close_span()
        self._handlers = []  # they refer back to this reader
        return self.melody

    # Chords, and what stands over notes ----------------------------------------------------------------------------

    def on_chord(self, token: str, column: int) -> None:
        """`[CEG]2`: as long as its first note, times what stands after it; the top note is the melody (4.17)."""
        inside, _, after = token[1:].rpartition("]")
        around, self._decorations = self._decorations, []
        heads: list[tuple[int, NoteToken, list[str], int | None]] = []
        first: Ticks | None = None
        for match in TOKEN.finditer(inside):
            at, kind = column + 1 + match.start(), match.lastgroup
            if kind == "note":
                parsed = note_token(match[0])
                length = self._lengths.get(parsed.length)
                if length is None:
                    length = self._length(parsed.length, at)
                first = length if first is None else first
                heads.append((self._pitch(parsed, at), parsed, self._decorations, self._finger))
                self._decorations, self._finger = [], None
            elif kind in _IN_CHORD:
                self._handlers[match.lastindex or 0](match[0], at)
            elif kind == "tie" and heads:
                heads[-1] = (heads[-1][0], heads[-1][1]._replace(tied=True), *heads[-1][2:])
            else:
                self.warn(at, f"“{match[0][:20]}” inside a chord is left out.")
        self._decorations = around
        outer = read_length(after.rstrip("-")) if after.rstrip("-") else (1, 1)
        if outer is None:
            self.error(column, f"The length “{after[:20]}” cannot be played.")
            outer = (1, 1)
        if first is None:
            self.warn(column, "A chord without notes is left out.")
            return
        pitch, top, own, finger = max(heads, key=lambda head: head[0])
        self._decorations = around + own
        self._finger = finger
        under = sorted(head[0] for head in heads)
        under.remove(pitch)
        tied = after.endswith("-") or top.tied
        self._sound(pitch, scaled(first, *outer), tied, column, tuple(under))
        if tied:
            self._tie = (top.place, pitch)

    def on_sign(self, token: str, column: int) -> None:
        """The shorthand of decorations, as it is or as `U:` defines it (4.14, 4.16)."""
        name = self.symbols.get(token)
        if name is None:
            self.warn(column, f"“{token}” is not a symbol of this tune; it is left out.")
        else:
            self.decorate(name, column)

    def decorate(self, name: str, column: int) -> None:
        """A symbol by its name, or the annotation that `U:` made of it."""
        self._due = True
        if name in self.meanings:
            self._decorations.append(self.meanings[name])
        elif name in FINGERS:
            self._finger = FINGERS[name]
        elif name.startswith('"'):
            self.on_text(name, column)
        elif name not in SILENT:
            self.warn(column, f"The symbol “{name[:30]}” is not known; it is left out.")

    def on_bang(self, token: str, column: int) -> None:
        """`!trill!`; a single `!` is a line break of old files (12.2)."""
        if len(token) > 2 and not self.bang_breaks:
            self.decorate(token[1:-1], column)
        elif len(token) > 2:
            # Two line breaks with music between them.
            self.music(token[1:-1], self.line, column)

    def on_plus(self, token: str, column: int) -> None:
        """`+trill+`, the dialect of 12.1.2; or a chord as in the earliest files (12.1.3)."""
        name = token[1:-1]
        if name in self.meanings or name in FINGERS or name in SILENT:
            self.decorate(name, column)
        elif re.fullmatch(rf"(?:{NOTE.pattern})+", name):
            self.warn(column, "A chord between + signs is old notation; write […] today.")
            self.on_chord(f"[{name}]", column)
        else:
            self.warn(column, f"“{token}” is not known; it is left out.")

    def on_text(self, token: str, column: int) -> None:
        """A chord symbol, or a jump in words; other text over a note is left out (4.18, 4.19)."""
        if len(token) < 2 or not token.endswith('"'):
            self.warn(column, "A quotation mark that is not closed.")
            return
        text = token[1:-1].strip()
        if text and text[0] in "ABCDEFG" and len(text) < 40:
            symbol = text_string(text)
            if _CHORD_SYMBOL.fullmatch(symbol):
                if self._chord is None:
                    self._chord = symbol
                    self._due = True
                return
        jump = jump_in_words(text)
        if jump is not None:
            self.warn(column, f"“{text[:20]}” in words is read as its symbol.")
            self._decorations.append(jump)
            self._due = True

    def on_grace(self, token: str, column: int) -> None:
        """`{gef}`, `{/g}` (4.12): pitches only; transparent to ties and broken rhythm."""
        tie, self._tie = self._tie, None
        self._due = True
        for match in TOKEN.finditer(token, 1, len(token) - 1):
            if match.lastgroup == "note":
                self._grace.append(self._pitch(note_token(match[0]), column + match.start()))
            elif match.lastgroup == "chord":
                for head in NOTE.finditer(match[0]):
                    self._grace.append(self._pitch(note_token(head[0]), column + match.start()))
        self._tie = tie

    def on_spacer(self, token: str, column: int) -> None:
        """`y`: space on paper; what is waiting for a note goes on waiting (6.1.2)."""

    def on_tie(self, token: str, column: int) -> None:
        """A tie away from its note (4.11)."""
        last = self._last
        if last is None or last.pitch == REST:
            self.warn(column, "A tie without a note before it is left out.")
            return
        last.tied = True
        if token == "-":
            self.warn(column, "A tie is written right after its note.")

    def on_micro(self, token: str, column: int) -> None:
        """Accidentals that the standard does not know (4.2): refused, the note is kept."""
        self.warn(column, f"The accidental of “{token[:12]}” is none of ^ ^^ = _ __; the note is read without it.")
        letter = re.search(r"[A-Ga-g].*", token)
        if letter is not None:
            self.on_note(letter[0], column)

    def on_odd(self, token: str, column: int) -> None:
        """Characters that are reserved or out of place (8.1)."""
        if token != "\\":
            self.warn(column, f"“{token}” says nothing here; it is left out.")

    def on_field(self, token: str, column: int) -> None:
        """An inline field (3.2)."""
        self._field(token[1], token[3:-1].strip(), column)

    # Bar lines and signs -------------------------------------------------------------------------------------------

    def on_bar(self, token: str, column: int) -> None:
        """A bar line of any shape (4.8), with the ending that may begin at it (4.9)."""
        bar = bar_token(token)
        if bar.odd:
            self.warn(column, "A colon on its own is left out.")
            return
        if self._beneath is not None:
            self._overlay_bars -= 1
            if self._overlay_bars > 0:
                self._close_span()
                return
            self._end_overlay()
        if self._decorations:
            self._decorations_on_bar()
        self._close_span()
        if self._altered:
            self._altered.clear()
        if self._broken:
            self.warn(column, "A broken rhythm over a bar line.")
        items = self.melody.items
        joint = Joint.DOTTED if bar.soft else Joint.PLAIN
        if bar.ends or bar.double or bar.starts:
            joint = Joint.STRONG
            if bar.ends:
                items.append(Mark("end", self.line, column, bar.ends))
            if bar.double:
                items.append(Mark("double", self.line, column))
            if bar.starts:
                items.append(Mark("start", self.line, column, bar.starts))
        if joint > self._joint:
            self._joint = joint
        if bar.numbers:
            self._begin_ending(bar.numbers, column)

    def on_ending(self, token: str, column: int) -> None:
        """`[1`, `[1,3`, `[1-3` (4.9, 4.10)."""
        self._begin_ending(ending_numbers(token[1:]), column)

    def _begin_ending(self, numbers: tuple[int, ...], column: int) -> None:
        if numbers:
            self._close_span()
            self.melody.items.append(Mark("ending", self.line, column, numbers=numbers))
            self._joint = Joint.ENDING

    def part(self, name: str, column: int) -> None:
        """The name of the part that follows (3.1.9)."""
        self._close_span()
        self.melody.items.append(Mark("part", self.line, column, name=name))

    def _decorations_on_bar(self) -> None:
        """What waits for a note but meets a bar line: signs of jumps hold there, the rest says nothing of a note."""
        kept = [d for d in self._decorations if d in JUMPS]
        self._decorations = []
        if kept:
            self._close_span()
            self.melody.jumps += [(JUMPS[name], len(self.melody.spans)) for name in kept]

    # Overlays ------------------------------------------------------------------------------------------------------

    def on_overlay(self, token: str, column: int) -> None:
        """`&` sets the time back by a bar line; what follows sounds beside the melody and is kept apart (7.4)."""
        if self._beneath is not None:
            self._end_overlay()
        self.warn(column, "What follows “&” sounds beside the melody and is left out.")
        bars = [span.onset for span in self.melody.spans]
        if len(self.melody.drafts) > self._span_first:
            bars.append(self._span_start)
        start = bars[-min(len(token), len(bars))] if bars else self._now
        self._beneath = (
            self.melody, self._now, self._last, self._span_first, self._span_start, self._span_place, self._joint,
            self._tie,
        )  # fmt: skip
        self._overlay_bars = len(token)
        self.melody = Melody("&")
        self._now = self._span_start = start
        self._span_first, self._last, self._tie = 0, None, None
        self._altered.clear()

    def _end_overlay(self) -> None:
        """Back to the melody."""
        self._close_span()
        self.overlays.append(self.melody)
        assert self._beneath is not None
        (
            self.melody, self._now, self._last, self._span_first, self._span_start, self._span_place, self._joint,
            self._tie,
        ) = self._beneath  # type: ignore[assignment]  # fmt: skip
        self._beneath = None
