"""Symbol lines: `s:`, decorations and chord symbols written beneath a line of music (ABC 2.1, 4.15 and 5.1)."""

from __future__ import annotations

import re

from companion.notation.abc_voice import VoiceReader
from companion.tune.draft import NO_EXTRAS, REST, Draft

_SYMBOL = re.compile(r"!([^!\s]+)!|(\"[^\"]*\")|(\*)|(\|)|\S")


class SymbolLines:
    """Where the symbol lines of each voice stand.

    A symbol line is aligned with the notes from where the one before it ended (5.1); adjacent ones begin at the same
    note. In a file without a version of 2.1 or later it is aligned with the line of music right above (10.6).
    """

    def __init__(self) -> None:
        self._places: dict[int, list[int]] = {}  # voice: where the last line of music, and the last s: line, begin
        self._next: dict[int, tuple[int, int]] = {}

    def music(self, voice: VoiceReader) -> None:
        """A line of music follows."""
        self._places[id(voice)] = [len(voice.melody.drafts)]

    def read(self, voice: VoiceReader, text: str, strict: bool) -> None:
        """Put the symbols of a line on the notes."""
        key = id(voice)
        drafts = voice.melody.drafts
        last_start, seen = self._next.get(key, (0, -1))
        if seen == len(drafts):
            start = last_start  # adjacent to the symbol line before: the same notes
        elif strict:
            start = max(seen, 0)
        else:
            start = self._places.get(key, [0])[0]
        self._next[key] = (start, len(drafts))
        self._place(voice, text, start)

    def more(self, voice: VoiceReader, text: str, line: int) -> None:
        """The continuation of a symbol line: after the symbols that it goes on from."""
        voice.line = line
        start = self._places.get(id(voice), [0, 0])[-1]
        self._place(voice, text, start)

    def _place(self, voice: VoiceReader, text: str, start: int) -> None:
        drafts = voice.melody.drafts
        ends = [span.last for span in voice.melody.spans]
        at = start
        for match in _SYMBOL.finditer(text):
            name, quoted, _, bar = match.groups()
            if bar:
                at = self._next_bar(drafts, ends, start, at)
                continue
            while at < len(drafts) and drafts[at].pitch == REST:
                at += 1
            if at >= len(drafts):
                break
            if name or quoted:
                _add(voice, drafts[at], name or quoted, match.start() + 1)
            at += 1
        self._places.setdefault(id(voice), [start])[1:] = [at]

    @staticmethod
    def _next_bar(drafts: list[Draft], ends: list[int], start: int, at: int) -> int:
        """The first note of the next bar; where the bar has just been filled, that is where we are."""
        if at in ends and at > start:
            return at
        return next((end for end in ends if end > at), len(drafts))


def _add(voice: VoiceReader, draft: Draft, name: str, column: int) -> None:
    """One symbol on a note, as if it stood before it."""
    ornaments, grace, chord, under, finger = draft.extras
    kept = (voice._decorations, voice._chord, voice._finger)
    voice._decorations, voice._chord, voice._finger = list(ornaments), chord, finger
    voice.decorate(name, column)
    draft.extras = (tuple(dict.fromkeys(voice._decorations)), grace, voice._chord, under, voice._finger)
    if draft.extras == NO_EXTRAS:
        draft.extras = NO_EXTRAS
    voice._decorations, voice._chord, voice._finger = kept
