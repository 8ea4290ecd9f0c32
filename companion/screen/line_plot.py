"""Where the bellows line runs: its stretches, and how time and opening become pixels within its picture."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from companion.box.box_values import Bellows
from companion.screen.line_pages import LinePage, pages
from companion.screen.page_values import LineNote, PracticePage, Shown
from companion.screen.revealed import first_notes, shown_now
from companion.screen.window_layout import Layout

_FLATTEST = 0.2  # smallest range of opening that fills the height, so that small moves do not look large
_EDGE = 1.6  # hundredths of the height kept free left of the first note
_WIDTHS = (0.64, 1.18)  # of a number of one and of two figures, in ems
_PRESSED = 0.66  # as far as a number is pressed together where notes are short
APART = 0.2  # ems between two numbers
_USUAL = 0.8  # so many of the notes have room for a number that is not pressed together
_LEVEL, _TILT = 0.5, 0.06  # the opening of a hidden note, and how far a first note goes from there
# Hundredths of the height above and below the line: the playhead's head, a stroke, a figure; a figure, a mark.
ABOVE, BELOW = 7.4, 8.0
AIR = 4.8  # ... and for the sign of the air button
_BELOW_BARE = 4.8  # with the staff above it the line goes without its fingers


@dataclass(frozen=True, slots=True)
class Plot:
    """How time and opening become pixels within the line's own picture; `read` is the em of the numbers, `below` what
    is kept free below the line, in hundredths of the window's height."""

    width: int
    height: int
    unit: float
    read: int
    scale: float  # pixels a whole note
    low: float
    high: float
    top: float
    bottom: float
    pages: tuple[LinePage, ...]
    edge: float
    below: float

    def x(self, at: float, start: float) -> float:
        """The x of a time in a picture that begins at `start`."""
        return self.edge + (at - start) * self.scale

    def y(self, opening: float) -> float:
        """The y of an opening."""
        share = (opening - self.low) / (self.high - self.low)
        return self.bottom - share * (self.bottom - self.top)


@dataclass(frozen=True, slots=True)
class Segment:
    """The stretch of the line that one note takes: times and openings at its beginning and end."""

    at: float
    end: float
    before: float
    after: float


def segments(notes: tuple[LineNote, ...]) -> tuple[Segment, ...]:
    """The line's stretches, one a note; where the first one begins is inferred from how fast the bellows move."""
    if not notes:
        return ()
    rates = [abs(b.fingered.opening - a.fingered.opening) / b.length for a, b in pairwise(notes) if b.length > 0]
    rate = sorted(rates)[len(rates) // 2] if rates else 0.2
    first = notes[0]
    way = 1 if first.fingered.press.bellows is Bellows.PULL else -1
    before = min(1.0, max(0.0, first.fingered.opening - way * rate * first.length))
    found = []
    for step in notes:
        found.append(Segment(step.at, step.at + step.length, before, step.fingered.opening))
        before = step.fingered.opening
    return tuple(found)


def shown_lines(page: PracticePage, shown: Shown) -> tuple[Segment, ...]:
    """The line's stretches as they are shown: level where they are hidden, a first note up or down from there."""
    if shown is Shown.ALL:
        return segments(page.notes)
    first = first_notes(page) if shown is Shown.FIRST_NOTES else frozenset()
    found = []
    for n, note in enumerate(page.notes):
        tilt = _TILT if note.fingered.press.bellows is Bellows.PULL else -_TILT
        found.append(Segment(note.at, note.at + note.length, _LEVEL, _LEVEL + (tilt if n in first else 0.0)))
    return tuple(found)


def _room(notes: tuple[LineNote, ...], read: int) -> float:
    """How many pixels a whole note must have at least so that the numbers stay apart at the em `read`."""
    needs = []
    for note in notes:
        wide = _WIDTHS[len(str(note.fingered.press.button)) > 1]
        needs.append((wide / max(note.length, 1e-6), (_PRESSED * wide + APART) / max(note.length, 1e-6)))
    usual = sorted(wide for wide, _ in needs)[int(_USUAL * (len(needs) - 1))]
    return read * max(usual + APART / _common(notes), *(pressed for _, pressed in needs))


def _common(notes: tuple[LineNote, ...]) -> float:
    """The length of a common note, rather a short one (whole notes)."""
    return max(sorted(note.length for note in notes)[len(notes) // 4], 1e-6)


def plot_of(glance: PracticePage, layout: Layout) -> Plot:
    (width, height), h, read = layout.line.size, layout.tall, layout.read
    below = _BELOW_BARE if layout.staff.height else BELOW
    lines = shown_lines(glance, shown_now(glance))
    openings = [line.after for line in lines] + [lines[0].before]
    low, high = min(openings), max(openings)
    if high - low < _FLATTEST:
        middle = (low + high) / 2
        low, high = middle - _FLATTEST / 2, middle + _FLATTEST / 2
    edge = _EDGE * h
    found = pages(glance.bars, glance.length, (width - edge) / _room(glance.notes, read))
    span = found[0].end - found[0].start
    scale = (width - edge - 1.2 * h) / span
    top, bottom = ABOVE * h, height - below * h
    if glance.air:
        top = min(top + AIR * h, bottom - 1.5 * h)
    return Plot(width, height, h, read, scale, low, high, top, bottom, found, edge, below)
