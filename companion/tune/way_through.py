"""From repeat signs, endings and part names to the order of play.

The signs are read as players read them (ABC 2.1, 4.8 to 4.10 and 3.1.9): the end of a repeat goes back to its `|:`,
or where that is left out to the latest double bar or end of a repeat, or to the beginning; a repeat that nothing ends
is ended by the end of the tune; a tune with variant endings is played as often as they say.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from companion.tune.draft import Complaints, DraftSpan, Mark, Melody
from companion.tune.ticks import Ticks

MOST_STEPS = 20_000
"""More bars than this in one round cannot be meant."""


@dataclass(slots=True)
class Section:
    """A stretch that is played as one: `lead` once before the first time, `body` each time, then the ending of that
    time. `explicit` says that a `|:` began it, `closed` that a repeat sign ended it."""

    lead: list[int] = field(default_factory=list)
    body: list[int] = field(default_factory=list)
    endings: list[tuple[tuple[int, ...], list[int]]] = field(default_factory=list)
    tail: list[int] = field(default_factory=list)
    name: str = ""
    explicit: bool = False
    closed: bool = False
    opening: int = 2
    times: int = 1
    line: int = 0
    column: int = 0

    @property
    def empty(self) -> bool:
        """Whether nothing stands in it yet."""
        return not (self.body or self.endings or self.lead)

    def passes(self) -> int:
        """How often it is played."""
        if self.endings:
            top = max(n for numbers, _ in self.endings for n in numbers)
            return max(top, self.times, 2 if self.explicit or self.closed else 1)
        return self.times

    def spans(self, turn: int, of: int, with_lead: bool) -> list[int]:
        """The spans of one pass."""
        out = [*self.lead, *self.body] if with_lead else list(self.body)
        chosen = [spans for numbers, spans in self.endings if turn in numbers]
        if chosen:
            out += chosen[0]
        if turn == of:
            out += self.tail
        return out


class _Builder:
    """Reads the items of a melody in order into sections."""

    def __init__(self, spans: list[DraftSpan], complaints: Complaints) -> None:
        self.all = spans
        self.complaints = complaints
        self.sections: list[Section] = []
        self.now = Section()
        self.ending: list[int] | None = None  # the ending that is open
        self.boundary = False  # a double bar or the end of a repeat: what follows begins a new section
        self.name = ""

    def span(self, index: int) -> None:
        if self.boundary:
            self.close()
        if self.ending is not None:
            self.ending.append(index)
        else:
            self.now.body.append(index)

    def mark(self, mark: Mark) -> None:
        getattr(self, "_" + mark.sign)(mark)

    def close(self) -> None:
        """The section that is open is whole; a new one begins."""
        if not self.now.empty:
            self.sections.append(self.now)
        self.now = Section(name=self.name)
        self.ending = None
        self.boundary = False

    def _start(self, mark: Mark) -> None:
        now = self.now
        lead: list[int] = []
        if not now.empty and not self.boundary:
            if now.explicit and not now.closed and not now.endings:
                self.complaints.warn(
                    mark.line, mark.column,
                    "A repeat begins before the one before it has ended; what lies between is played once.",
                )  # fmt: skip
            if not now.endings and not now.closed and self._short(now.body):
                lead, self.now = now.lead + now.body, Section()
        self.close()
        self.now = Section(
            lead=lead, name=self.name, explicit=True, opening=mark.times, line=mark.line, column=mark.column
        )

    def _short(self, body: list[int]) -> bool:
        """Whether spans are no more than a pick-up."""
        spans = [self.all[i] for i in body]
        length: Ticks = sum((s.length for s in spans), start=0)
        return bool(spans) and spans[0].full is not None and length < spans[0].full

    def _end(self, mark: Mark) -> None:
        now = self.now
        if self.boundary and not now.closed and not now.endings:
            # A double bar just before the sign (`|| :|`): the sign still ends what stands before it.
            self.boundary = False
        if self.ending is not None:
            self._split_ending(mark)
            now = self.now
        if self.ending is not None:
            now.closed = True
            self.ending = None
            self.boundary = True
        elif now.body and not self.boundary:
            now.closed = True
            now.times = max(mark.times, now.opening)
            self.boundary = True
        elif now.empty and not self.sections:
            self.complaints.warn(mark.line, mark.column, "The end of a repeat with nothing before it.")

    def _split_ending(self, mark: Mark) -> None:
        """The last ending runs on into a section of its own (no double bar between): it is as long as the first."""
        now = self.now
        first, last = now.endings[0][1], now.endings[-1][1]
        if len(now.endings) < 2 or len(last) <= len(first) or not first:
            return
        rest = last[len(first) :]
        del last[len(first) :]
        self.complaints.warn(
            mark.line, mark.column, "An ending runs on into a repeat; it is taken to be as long as the first ending."
        )
        self.close()
        self.now.body = rest

    def _double(self, mark: Mark) -> None:
        del mark
        if self.ending is not None:
            self.ending = None
            self.boundary = True
        elif not self.now.explicit or self.now.closed:
            self.boundary = True

    def _ending(self, mark: Mark) -> None:
        now = self.now
        seen = {n for numbers, _ in now.endings for n in numbers}
        if now.endings and (1 in mark.numbers or seen & set(mark.numbers)):
            if self.ending is not None:
                self._split_ending(mark)
            if self.now is now:
                self.close()
            now = self.now
        elif not now.endings and now.closed and 1 in mark.numbers and self.boundary:
            # `… :|1 … :|2 …`: the first ending is meant to begin here.
            self.complaints.warn(mark.line, mark.column, "A first ending begins at a bar line, not at a repeat sign.")
            now.closed, now.times = False, 1
        elif not now.endings and now.closed:
            # `… :|2 …` with no first ending marked: the second time goes straight on.
            self.complaints.warn(mark.line, mark.column, "A second ending without a first one; reading goes on.")
            return
        elif now.empty and self.sections and self.sections[-1].endings and self.sections[-1].name == now.name:
            now = self.now = self.sections.pop()
        self.ending = []
        self.boundary = False
        now.endings.append((mark.numbers, self.ending))

    def _part(self, mark: Mark) -> None:
        self.name = mark.name
        if self.now.empty:
            self.now.name = mark.name
            return
        now = self.now
        if not (now.explicit or now.closed or now.endings or now.lead) and self._short(now.body):
            self.now = Section(lead=now.body, name=mark.name)
            self.boundary = False
            return
        self.close()

    def finish(self) -> list[Section]:
        now = self.now
        if now.explicit and now.body and not now.closed and not now.endings:
            now.times = now.opening
            self.complaints.warn(
                now.line, now.column, "A repeat begins here and is not ended; the end of the tune is taken as its end."
            )
        alone = not now.endings and not now.explicit and not now.closed and not now.name
        if alone and self._short(now.body) and self.sections and not now.lead:
            self.sections[-1].tail += now.body
        elif not now.empty:
            self.sections.append(now)
        return self.sections


def sections(melody: Melody, complaints: Complaints) -> list[Section]:
    """The sections of a melody in written order."""
    builder = _Builder(melody.spans, complaints)
    for item in melody.items:
        if isinstance(item, int):
            builder.span(item)
        else:
            builder.mark(item)
    return builder.finish()
