"""Engraves MusicXML as one system on a staff, and says where its notes stand. The engraver is Verovio."""

from __future__ import annotations

import re
import xml.etree.ElementTree as Xml
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from threading import local
from typing import Any

from companion.engraving.plain_svg import in_frame, plain_svg
from companion.engraving.staff_musicxml import note_id

SPACE = 180.0  # between two staff lines, in the engraver's own measure
HEAD = 1.26  # the width of a note head, in spaces
LINES = 4  # spaces from the top line to the bottom one
_OPTIONS = {
    "breaks": "auto", "header": "none", "footer": "none", "adjustPageHeight": True, "svgViewBox": True,
    "pageMarginTop": 0, "pageMarginBottom": 0, "pageMarginLeft": 0, "pageMarginRight": 0,
    "pageHeight": 20000, "minLastJustification": 0.0, "mnumInterval": 0,
    # Nearer to each other, and lines a little thicker, than on paper: it is read from afar.
    "spacingLinear": 0.15, "staffLineWidth": 0.2, "stemWidth": 0.24, "barLineWidth": 0.3,
}  # fmt: skip
_WIDTHS = (100, 100_000)  # what the engraver takes, in its pixels; a space has 18
_PLACE = re.compile(r"translate\(\s*(-?[\d.]+)[\s,]+(-?[\d.]+)\s*\)")
_SVG = "{http://www.w3.org/2000/svg}"
_kept = local()  # the toolkit takes a moment to make, and is not for two threads


@dataclass(frozen=True, slots=True)
class EngravedStaff:
    """A system: its shapes, its width and the y of its top line, and where the note heads stand, by the order of the
    notes: the left edge of each and its middle's y. All in the engraver's measure, `SPACE` to a staff space."""

    shapes: Xml.Element
    width: float
    top: float
    heads: tuple[tuple[float, float], ...]

    def picture(self, space: int, above: int, below: int, colour: str) -> tuple[str, tuple[int, int]]:
        """An SVG of plain shapes and its size (pixels).

        Parameters
        ----------
        space : pixels from one staff line to the next.
        above, below : spaces that are shown above the top line and below the bottom one.
        colour : of everything ("#e8e4da").

        The staff lines lie in the middle of a row of pixels: the top one in row `above * space`.
        """
        size = (round(self.width / SPACE * space), (above + LINES + below) * space + 1)
        unit = SPACE / space
        frame = (0.0, self.top - above * SPACE - unit / 2, size[0] * unit, size[1] * unit)
        return in_frame(self.shapes, frame, size, colour), size


def engrave(musicxml: str, width: float) -> EngravedStaff | None:
    """Engrave on one system.

    Parameters
    ----------
    musicxml : one part; the notes whose places are wanted have the ids that `note_id` gives.
    width : of the system, in staff spaces.

    Returns
    -------
    The system, as wide as that; None where the music needs more than one, or the engraver cannot read it.
    """
    toolkit = _toolkit()
    least, most = _WIDTHS
    toolkit.setOptions({**_OPTIONS, "pageWidth": min(max(round(width * 18), least), most)})
    if not toolkit.loadData(musicxml):
        return None
    svg = toolkit.renderToSVG(1)
    root = Xml.fromstring(svg)
    if toolkit.getPageCount() != 1 or len(_of_class(root, "system")) != 1:
        return None
    lines = [_line(one) for staff in _of_class(root, "staff") for one in staff.findall(f"{_SVG}path")]
    heads = _heads(root)
    if not lines or any(y != lines[0][1] for _, y in lines[:: LINES + 1]):
        return None
    return EngravedStaff(plain_svg(svg), max(x for x, _ in lines), lines[0][1], heads)


def _toolkit() -> Any:
    """The engraver of this thread. It is imported here: nobody who has no staff waits for it."""
    if not hasattr(_kept, "toolkit"):
        import verovio

        verovio.enableLog(verovio.LOG_OFF)
        _kept.toolkit = verovio.toolkit(False)
        # Each thread has to be told where the engraver's font is.
        _kept.toolkit.setResourcePath(str(Path(verovio.__file__).parent / "data"))
    return _kept.toolkit


def _of_class(root: Xml.Element, name: str) -> list[Xml.Element]:
    return [one for one in root.iter(f"{_SVG}g") if one.get("class") == name]


def _line(path: Xml.Element) -> tuple[float, float]:
    """Where a level line ends: ``M0 728 L24000 728``."""
    numbers = [float(one) for one in re.findall(r"-?[\d.]+", path.get("d", ""))]
    return numbers[2], numbers[3]


def _heads(root: Xml.Element) -> tuple[tuple[float, float], ...]:
    """Where the first head of each note stands."""
    notes = {one.get("id", ""): one for one in _of_class(root, "note")}
    found: list[tuple[float, float]] = []
    for order in count():
        if (note := notes.get(note_id(order))) is None:
            return tuple(found)
        head = next((use for use in note.iter(f"{_SVG}use") if _PLACE.match(use.get("transform", ""))), None)
        place = _PLACE.match(head.get("transform", "")) if head is not None else None
        found.append((float(place[1]), float(place[2])) if place else (0.0, 0.0))
    return tuple(found)
