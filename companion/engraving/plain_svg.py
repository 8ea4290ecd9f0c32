"""An engraver's SVG as plain shapes: what is drawn by reference is put in its place, what needs a style is left out.

A small reader of SVG (SDL's) knows paths, polygons, ellipses and transforms, but neither `use` nor `symbol`, no text
and no style sheet. Here each reference becomes a group with the shape itself; texts, styles and definitions go.
"""

from __future__ import annotations

import xml.etree.ElementTree as Xml
from collections.abc import Iterable, Iterator

_SVG = "{http://www.w3.org/2000/svg}"
_LINKS = ("{http://www.w3.org/1999/xlink}href", "href")
_SHAPES = {"path", "polygon", "polyline", "ellipse", "circle", "rect", "line"}
_GROUPS = {"g", "svg"}
_HIDDEN = "placeholder"  # the class of what the engraver keeps a place for, and hides by its style
_UNSEEN = frozenset({"id", "class", "style", "color"})
_DEEPEST = 8  # references within references


def plain_svg(svg: str) -> Xml.Element:
    """The drawing of an SVG as one group of plain shapes, in the measure of its innermost `viewBox`.

    Shapes that are drawn by reference are only filled, as letters are; the others keep what they say of their stroke.

    Raises
    ------
    xml.etree.ElementTree.ParseError : where the text is no XML.

    Examples
    --------
    >>> inside = '<defs><path id="a" d="M0 0H1V1Z"/></defs><use href="#a" x="2"/>'
    >>> Xml.tostring(plain_svg(f'<svg xmlns="http://www.w3.org/2000/svg">{inside}</svg>'), encoding="unicode")
    '<g><g transform="translate(2, 0)"><path d="M0 0H1V1Z" stroke="none" /></g></g>'
    """
    root = Xml.fromstring(svg)
    known = {named: one for one in root.iter() if (named := one.get("id"))}
    group = Xml.Element("g")
    group.extend(_plain(root, known, 0))
    return group


def in_frame(group: Xml.Element, frame: tuple[float, float, float, float], size: tuple[int, int], colour: str) -> str:
    """Plain shapes as an SVG of `size` pixels in one colour ("#e8e4da").

    Parameters
    ----------
    frame : the part of the drawing that is shown: left, top, width and height in its own measure.
    """
    box = " ".join(f"{one:g}" for one in frame)
    root = Xml.Element(
        "svg", xmlns="http://www.w3.org/2000/svg", width=str(size[0]), height=str(size[1]), viewBox=box,
        preserveAspectRatio="none",
    )  # fmt: skip
    Xml.SubElement(root, "g", fill=colour, stroke=colour).append(group)
    return Xml.tostring(root, encoding="unicode")


def _plain(elements: Iterable[Xml.Element], known: dict[str, Xml.Element], depth: int) -> Iterator[Xml.Element]:
    for one in elements:
        tag = one.tag.removeprefix(_SVG)
        if tag == "use":
            yield from _referred(one, known, depth)
        elif tag in _SHAPES:
            yield Xml.Element(tag, _kept(one))
        elif tag in _GROUPS and _HIDDEN not in one.get("class", "").split():
            yield from _grouped(_plain(one, known, depth), one.get("transform", ""))


def _referred(use: Xml.Element, known: dict[str, Xml.Element], depth: int) -> Iterator[Xml.Element]:
    """What a `use` draws, where it draws it. One that leads back to itself draws nothing."""
    target = known.get(next((use.get(link, "") for link in _LINKS if use.get(link)), "").removeprefix("#"))
    if target is None or depth > _DEEPEST:
        return
    moves = [use.get("transform", "")]
    if use.get("x") or use.get("y"):
        moves.append(f"translate({use.get('x', '0')}, {use.get('y', '0')})")
    # A symbol is a group that is seen only by reference.
    inside = target if target.tag == f"{_SVG}symbol" else [target]
    for group in _grouped(_plain(inside, known, depth + 1), " ".join(filter(None, moves))):
        for shape in group.iter():
            if shape.tag in _SHAPES:
                shape.set("stroke", "none")
        yield group


def _grouped(shapes: Iterable[Xml.Element], transform: str) -> Iterator[Xml.Element]:
    """Shapes as one group, where there are any."""
    if inner := list(shapes):
        group = Xml.Element("g", {"transform": transform} if transform else {})
        group.extend(inner)
        yield group


def _kept(element: Xml.Element) -> dict[str, str]:
    """The attributes that place and shape an element."""
    return {name: value for name, value in element.attrib.items() if name not in _UNSEEN and name[0] != "{"}
