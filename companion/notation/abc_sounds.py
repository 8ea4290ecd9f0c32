"""What sounds in a voice: notes, chords, rests, and the rhythm that is due to them (ABC 2.1, 4.1 to 4.5, 4.13, 4.17).

The reader keeps what holds on from token to token and from line to line: the key, the accidentals of the bar, the
length that a broken rhythm or a tuplet asks of the next note, and what is waiting for the next note (grace notes,
decorations, a chord symbol).
"""

from __future__ import annotations

from fractions import Fraction

from companion.notation.abc_decorations import JUMPS
from companion.notation.abc_fields import FREE, is_compound
from companion.notation.abc_tokens import TUPLET_TIME, NoteToken, note_token, read_length
from companion.tune.draft import NO_EXTRAS, REST, Complaints, Draft, DraftSpan, Extras, Joint, Jump, Melody
from companion.tune.ticks import RES, Ticks, scaled, ticks
from companion.tune.tune_values import Key, Meter

_LONGEST = 64 * RES
_STEPS = "CDEFGAB"


class Sounds:
    """The state of a voice while it is read, and everything that takes time."""

    def __init__(self, name: str, complaints: Complaints) -> None:
        self.melody = Melody(name)
        self.complaints = complaints
        self.propagate = "pitch"
        self._shift = 0  # semitones by which all that is written sounds higher
        self.line = 0
        self._by_place = False
        self._key = [0] * 7
        self._sounding = [0] * 7  # key and shift together
        self._altered: dict[int, int] = {}  # the accidentals of the bar, by step or by place
        self._meter = FREE
        self._full: Ticks | None = None
        self._unit: Ticks = RES // 8
        self._lengths: dict[str, Ticks] = {"": self._unit}
        self._now: Ticks = 0
        self._last: Draft | None = None
        self._written: Ticks = 0  # the length of the last note before a broken rhythm changed it
        self._tie: tuple[int, int] | None = None  # place and pitch of a note that is tied to the next
        self._broken = 0  # how deep, positive for >, negative for <
        self._broken_from: Ticks = 0
        self._tuplets: list[list[int]] = []  # p, q, notes still to come
        self._decorations: list[str] = []
        self._grace: list[int] = []
        self._chord: str | None = None
        self._finger: int | None = None
        self._due = False  # whether a rhythm or anything over the note is waiting
        self._after: list[Jump] = []
        self._joint = Joint.SOFT
        self._span_first = 0
        self._span_start: Ticks = 0
        self._span_place = (0, 0)
        self._span_more = 0

    def warn(self, column: int, message: str) -> None:
        """Something on this line that was read on from."""
        self.complaints.warn(self.line, column, message)

    def error(self, column: int, message: str) -> None:
        """Something on this line that cannot be played."""
        self.complaints.error(self.line, column, message)

    def set_key(self, key: Key) -> None:
        """The key from here on."""
        self._key = [0] * 7
        for letter, alter in key.signature:
            self._key[_STEPS.index(letter)] = alter
        self.set_shift(self._shift)

    def set_shift(self, semitones: int) -> None:
        """By how much what is written sounds higher (octave=, transpose=, a clef with 8)."""
        self._shift = semitones
        self._sounding = [alter + semitones for alter in self._key]

    def set_meter(self, meter: Meter) -> None:
        """The meter from here on."""
        self._meter = meter
        self._full = None if meter.bar is None else ticks(meter.bar)

    def set_unit(self, unit: Fraction) -> None:
        """The unit note length from here on."""
        self._unit = ticks(unit)
        self._lengths = {"": self._unit}

    def set_propagation(self, how: str) -> None:
        """How far an accidental reaches: "not", "octave" or "pitch" (11.3)."""
        self.propagate = how
        self._by_place = how == "octave"
        self._altered.clear()

    def on_note(self, token: str, column: int) -> None:
        """A note, by the shortest way: most have no accidental, and nothing is waiting for them (4.1)."""
        parsed = note_token(token)
        natural, step, place, alter, text, tied = parsed
        length = self._lengths.get(text)
        if length is None:
            length = self._length(text, column)
        if alter is None and self._tie is None and not self._altered:
            pitch = natural + self._sounding[step]
            if not 0 <= pitch <= 127:
                pitch = self._pitch(parsed, column)
        else:
            pitch = self._pitch(parsed, column)
        if self._due:
            self._sound(pitch, length, tied, column, ())
        else:
            drafts = self.melody.drafts
            if len(drafts) == self._span_first:
                self._span_place = (self.line, column)
            self._written = length
            self._last = draft = Draft(self._now, length, pitch, tied, NO_EXTRAS, self.line, column)
            drafts.append(draft)
            self._now += length
            self._tie = None
        if tied:
            self._tie = (place, pitch)

    def _pitch(self, parsed: NoteToken, column: int) -> int:
        """The pitch of a note: its accidental, else that of the bar, else that of the key (4.2, 11.3)."""
        natural, step, place, alter, _, _ = parsed
        if alter is not None:
            if self.propagate != "not":
                self._altered[place if self._by_place else step] = alter
            if self._tie is not None and self._tie[0] == place:
                self._tie = None  # what is written out holds, for other notes of a chord too
        elif self._tie is not None and self._tie[0] == place:
            # A tied note keeps the accidental of the note to which it is tied, over the bar line too.
            return self._tie[1]
        elif self._altered:
            alter = self._altered.get(place if self._by_place else step)
            if alter is None:
                alter = self._key[step]
        else:
            alter = self._key[step]
        pitch = natural + alter + self._shift
        if not 0 <= pitch <= 127:
            self.error(column, "A note that is too high or too low to be played.")
            return min(max(pitch, 0), 127)
        return pitch

    def _length(self, text: str, column: int) -> Ticks:
        """A length that has not been met yet under this unit."""
        read = read_length(text)
        length = self._unit
        if read is not None:
            length = scaled(self._unit, *read)
        if read is None or length > _LONGEST:
            shown = text if len(text) <= 20 else text[:20] + "…"
            self.error(column, f"The length “{shown}” cannot be played.")
            return self._unit
        self._lengths[text] = length
        return length

    def _sound(self, pitch: int, length: Ticks, tied: bool, column: int, under: tuple[int, ...]) -> None:
        """A note, a chord or a rest of the length that is written, in the rhythm that is due."""
        if self._tuplets:
            length = self._in_tuplet(length)
        self._written = length
        if self._broken:
            length = self._in_broken(length, column)
        extras = NO_EXTRAS
        if self._decorations or self._grace or self._chord is not None or self._finger is not None or under:
            extras = self._extras(pitch, under)
        drafts = self.melody.drafts
        if len(drafts) == self._span_first:
            self._span_place = (self.line, column)
        self._last = draft = Draft(self._now, length, pitch, tied, extras, self.line, column)
        drafts.append(draft)
        self._now += length
        self._tie = None
        self._due = bool(self._tuplets or self._grace)

    def _extras(self, pitch: int, under: tuple[int, ...]) -> Extras:
        """What is waiting for the note, taken off the list. A rest takes all but grace notes, and keeps nothing."""
        for name in self._decorations:
            if name in JUMPS:
                self._jump_on_note(JUMPS[name])
        made = (tuple(dict.fromkeys(self._decorations)), tuple(self._grace), self._chord, under, self._finger)
        self._decorations, self._chord, self._finger = [], None, None
        if pitch == REST:
            return NO_EXTRAS
        self._grace = []
        return made

    def _jump_on_note(self, kind: Jump) -> None:
        """A sign of a jump on a note: a segno holds from the note on, the rest from the end of its bar on.

        A coda on the first note of a bar holds from that bar line on.
        """
        at_start = len(self.melody.drafts) == self._span_first
        if kind == "segno" or (kind == "coda" and at_start):
            self._close_span()
            self.melody.jumps.append((kind, len(self.melody.spans)))
        else:
            self._after.append(kind)

    def _close_span(self) -> None:
        """What has sounded since the last sign is a span."""
        melody = self.melody
        count = len(melody.drafts)
        if count > self._span_first:
            melody.items.append(len(melody.spans))
            melody.spans.append(
                DraftSpan(
                    self._span_first, count, self._span_start, self._now - self._span_start, self._full, self._joint,
                    *self._span_place, self._span_more, 0, self._meter.text,
                )
            )  # fmt: skip
            self._span_first, self._span_start = count, self._now
            self._joint = Joint.SOFT
            self._span_more = 0
        if self._after:
            melody.jumps += [(kind, len(melody.spans)) for kind in self._after]
            self._after = []

    # Rhythm --------------------------------------------------------------------------------------------------------

    def _in_tuplet(self, length: Ticks) -> Ticks:
        for tuplet in self._tuplets:
            length = scaled(length, tuplet[1], tuplet[0])
            tuplet[2] -= 1
        self._tuplets = [t for t in self._tuplets if t[2] > 0]
        return length

    def _in_broken(self, length: Ticks, column: int) -> Ticks:
        """The second note of a broken pair; the first has its length already (4.4)."""
        depth, self._broken = self._broken, 0
        if length != self._broken_from:
            self.warn(column, "A broken rhythm between notes of different lengths.")
        return _broken(length, -depth)

    def on_broken(self, token: str, column: int) -> None:
        """`>` and `<`: the note before is dotted or cut here, the note after when it comes."""
        last = self._last
        if len(token) > 8:
            self.error(column, "A broken rhythm deeper than can be played.")
        elif last is None or self._broken:
            self.warn(column, f"“{token}” without a note before it is left out.")
        elif len(self.melody.drafts) == self._span_first:
            self.warn(column, f"“{token}” after a bar line is left out.")
        else:
            depth = len(token) if token[0] == ">" else -len(token)
            made = _broken(last.length, depth)
            self._now += made - last.length
            last.length = made
            self._broken, self._broken_from = depth, self._written
            self._due = True

    def on_tuplet(self, token: str, column: int) -> None:
        """`(3`, `(3:2:4`, `(3::2` (4.13)."""
        p_text, _, rest = token[1:].partition(":")
        q_text, _, r_text = rest.partition(":")
        if max(len(p_text), len(q_text), len(r_text)) > 2 or not int(p_text):
            shown = token if len(token) <= 20 else token[:20] + "…"
            self.error(column, f"“{shown}” is not a tuplet that can be played.")
            return
        p = int(p_text)
        q = int(q_text or 0) or TUPLET_TIME.get(p) or (3 if is_compound(self._meter) else 2)
        r = int(r_text or 0) or p
        if p < 2 or (p > 9 and not q_text):
            self.warn(column, f"“{token}” is an unusual tuplet: {p} in the time of {q}.")
        if self._tuplets and self._tuplets[-1] == [p, q, r]:
            self.warn(column, f"“{token}” is written twice; it is read once.")
        elif len(self._tuplets) < 4:
            self._tuplets.append([p, q, r])
            self._due = True

    def on_rest(self, token: str, column: int) -> None:
        """`z` and `x` (4.5)."""
        length = self._lengths.get(token[1:])
        if length is None:
            length = self._length(token[1:], column)
        self._sound(REST, length, False, column, ())

    def on_bars(self, token: str, column: int) -> None:
        """`Z` and `X`: rests of whole bars (4.5)."""
        count = int(token[1:5] or 1)
        if any(d.pitch != REST for d in self.melody.drafts[self._span_first :]):
            # Old files write Z for z: rests of whole bars cannot share a bar with notes.
            self.warn(column, f"“{token}” in a bar with notes is read as a rest of that bar.")
            self.on_rest("z" + token[1:], column)
        elif len(token) > 4:
            self.error(column, f"A rest of {token[1:20]} bars cannot be played.")
        elif count:
            self._broken, self._tuplets = 0, []
            begun = len(self.melody.drafts) > self._span_first
            self._sound(REST, (self._full or RES) * count, False, column, ())
            self._span_more += count if begun else count - 1


def _broken(length: Ticks, depth: int) -> Ticks:
    """A note before `depth` signs `>` (negative: `<`); the note after them is its mirror image."""
    part = 2 ** abs(depth)
    return scaled(length, 2 * part - 1, part) if depth > 0 else scaled(length, 1, part)
