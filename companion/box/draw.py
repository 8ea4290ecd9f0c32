"""A box drawn: as text, as SVG and as a PNG picture.

Both pictures come from one list of shapes. Each button shows its push note above its pull note; the two are told apart
by their place and by the key at the side, which has the words, not by colour alone. Rows stand as the player sees them
looking down: the outer row on top, the chin end to the left.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from xml.sax.saxutils import escape

from companion.box.box_values import Box, Row
from companion.box.pitch_names import name_of
from companion.errors import Place, UserError
from companion.whole_file import whole_file

_PAPER, _INK, _EDGE, _BUTTON = "#fbf7ee", "#22252b", "#8b8577", "#ffffff"
_PUSH, _PULL = "#12638a", "#9a4a00"  # both at least 4.5 to 1 on the white of a button
_STEP = 68.0  # from button to button along a row
_RADIUS = 30.0
_LEFT, _TOP = 120.0, 70.0


@dataclass(frozen=True, slots=True)
class Circle:
    """A button."""

    x: float
    y: float
    radius: float


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line."""

    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True, slots=True)
class Text:
    """Words; `anchor` is where `x` lies in them: "start" or "middle". `y` is their middle height."""

    x: float
    y: float
    words: str
    size: float
    colour: str
    anchor: str = "middle"
    bold: bool = False


Shape = Circle | Line | Text


def box_text(box: Box) -> str:
    """The layout in lines of text, each row's buttons in their places, half a button apart where they are."""
    cell = 6
    lines = [box.name, f"source: {box.source}", ""]
    for row in box.rows:
        lead = " " * round(row.offset * cell)
        numbers = "".join(f"{number:>{cell}}" for number in range(1, len(row.push) + 1))
        lines.append(f"{row.name + ' row':<12}{lead}{numbers}")
        for word, side in (("push", row.push), ("pull", row.pull)):
            notes = "".join(f"{_note(pitch):>{cell}}" for pitch in side)
            lines.append(f"  {word:<10}{lead}{notes}")
        lines.append("")
    if box.basses:
        lines.append("left hand, push/pull (the bass, then its chord)")
        for bass, chord in _pairs(box):
            lines.append("  " + "   ".join(f"{kind:<5} {names:<6}" for kind, names in (bass, chord) if names).rstrip())
    return "\n".join(lines).rstrip() + "\n"


def box_svg(box: Box) -> str:
    """The layout as an SVG picture."""
    shapes, width, height = _shapes(box)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" width="{width:g}" '
        f'height="{height:g}" font-family="sans-serif">',
        f"<title>{escape(box.name)}</title>",
        f'<rect width="{width:g}" height="{height:g}" fill="{_PAPER}"/>',
    ]
    for shape in shapes:
        if isinstance(shape, Circle):
            parts.append(
                f'<circle cx="{shape.x:g}" cy="{shape.y:g}" r="{shape.radius:g}" fill="{_BUTTON}" stroke="{_EDGE}" '
                f'stroke-width="2"/>'
            )
        elif isinstance(shape, Line):
            ends = f'x1="{shape.x1:g}" y1="{shape.y1:g}" x2="{shape.x2:g}" y2="{shape.y2:g}"'
            parts.append(f'<line {ends} stroke="{_EDGE}"/>')
        else:
            weight = ' font-weight="bold"' if shape.bold else ""
            parts.append(
                f'<text x="{shape.x:g}" y="{shape.y + shape.size * 0.36:g}" font-size="{shape.size:g}" '
                f'fill="{shape.colour}" text-anchor="{shape.anchor}"{weight}>{escape(shape.words)}</text>'
            )
    return "\n".join([*parts, "</svg>"]) + "\n"


def box_png(box: Box, path: Path, scale: float = 1.5) -> None:
    """Writes the layout as a PNG picture, `scale` pixels to each unit of the SVG.

    Raises
    ------
    UserError : the picture cannot be written there.
    """
    os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
    import pygame

    shapes, width, height = _shapes(box)
    pygame.font.init()
    surface = pygame.Surface((round(width * scale), round(height * scale)))
    surface.fill(_PAPER)
    for shape in shapes:
        if isinstance(shape, Circle):
            centre, radius = (shape.x * scale, shape.y * scale), shape.radius * scale
            pygame.draw.circle(surface, _EDGE, centre, radius + scale)
            pygame.draw.circle(surface, _BUTTON, centre, radius - scale)
        elif isinstance(shape, Line):
            ends = (shape.x1 * scale, shape.y1 * scale), (shape.x2 * scale, shape.y2 * scale)
            pygame.draw.line(surface, _EDGE, *ends, max(1, round(scale)))
        else:
            font = pygame.font.Font(None, round(shape.size * scale * 1.35))
            words = font.render(_plain(shape.words), True, shape.colour)
            x = shape.x * scale - (words.get_width() / 2 if shape.anchor == "middle" else 0)
            surface.blit(words, (x, shape.y * scale - words.get_height() / 2))
    try:
        with whole_file(path) as beside:
            pygame.image.save(surface, str(beside))
    except pygame.error as fault:
        raise UserError("the picture cannot be written there; choose another folder or name", Place(path)) from fault


def _plain(words: str) -> str:
    """The words without signs that pygame's own font lacks."""
    return words.replace("♯", "#").replace("♭", "b")


def _note(pitch: int | None) -> str:
    return "-" if pitch is None else name_of(pitch)


def _pairs(box: Box) -> list[tuple[tuple[str, str], tuple[str, str]]]:
    """The left hand two by two, in the order of the file: each button as its kind and its push and pull names."""
    named = [(bass.kind, f"{bass.push}/{bass.pull}") for bass in box.basses]
    named += [("", "")] * (len(named) % 2)
    return list(zip(named[::2], named[1::2], strict=True))


def _shapes(box: Box) -> tuple[list[Shape], float, float]:
    """All shapes, and the width and height of the picture."""
    longest = max(row.offset + len(row.push) for row in box.rows)
    width = _LEFT + longest * _STEP + 30
    shapes: list[Shape] = [Text(30, 34, box.name, 22, _INK, "start", bold=True)]
    y = _TOP + _RADIUS
    for row in box.rows:
        shapes += _row(row, y)
        y += _STEP * 1.08
    shapes.append(Text(30, y - 16, "above the line: push     below the line: pull", 15, _INK, "start"))
    y += 24
    if box.basses:
        shapes.append(Text(30, y, "left hand", 15, _INK, "start", bold=True))
        y += 44
        for index, ((kind, names), (other, others)) in enumerate(_pairs(box)):
            x = _LEFT + index * _STEP * 2.3
            shapes += _bass(x, y, kind, names) + (_bass(x + _STEP, y, other, others) if others else [])
        y += 60
    return shapes, width, y


def _row(row: Row, y: float) -> list[Shape]:
    shapes: list[Shape] = [Text(30, y, f"{row.name} row", 17, _INK, "start", bold=True)]
    for index, (push, pull) in enumerate(zip(row.push, row.pull, strict=True)):
        x = _LEFT + (index + row.offset + 0.5) * _STEP
        shapes += _button(x, y, _note(push), _note(pull))
        shapes.append(Text(x - _RADIUS + 3, y - _RADIUS + 2, str(index + 1), 11, _INK))
    return shapes


def _bass(x: float, y: float, kind: str, names: str) -> list[Shape]:
    push, pull = names.split("/")
    return [*_button(x, y, push, pull), Text(x, y + _RADIUS + 12, kind, 12, _INK)]


def _button(x: float, y: float, push: str, pull: str) -> list[Shape]:
    return [
        Circle(x, y, _RADIUS),
        Line(x - _RADIUS * 0.7, y, x + _RADIUS * 0.7, y),
        Text(x, y - 11, push, 16, _PUSH, bold=True),
        Text(x, y + 12, pull, 16, _PULL, bold=True),
    ]
