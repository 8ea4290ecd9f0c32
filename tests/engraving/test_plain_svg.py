"""An SVG with references as one of plain shapes."""

from __future__ import annotations

import io
import xml.etree.ElementTree as Xml

import pygame

from companion.engraving.plain_svg import in_frame, plain_svg

HEAD = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
SQUARE = "M0 0H2V2H0Z"


def plain(inside: str) -> str:
    return Xml.tostring(plain_svg(f"<svg {HEAD}>{inside}</svg>"), encoding="unicode")


def test_a_reference_becomes_the_shape_where_it_is_drawn() -> None:
    shape = f'<defs><g id="head"><path transform="scale(1,-1)" d="{SQUARE}"/></g></defs>'
    drawn = plain(f'{shape}<g class="note"><use xlink:href="#head" transform="translate(7, 9) scale(0.5)"/></g>')
    inner = f'<g><path transform="scale(1,-1)" d="{SQUARE}" stroke="none" /></g>'
    assert drawn == f'<g><g><g transform="translate(7, 9) scale(0.5)">{inner}</g></g></g>'


def test_a_symbol_is_seen_only_by_reference_and_moved_by_x_and_y() -> None:
    drawn = plain(f'<symbol id="s"><path d="{SQUARE}"/></symbol><use href="#s" x="3" y="4"/><use href="#s" x="5"/>')
    assert drawn.count("<path") == 2
    assert 'transform="translate(3, 4)"' in drawn
    assert 'transform="translate(5, 0)"' in drawn


def test_strokes_are_kept_and_texts_styles_and_hidden_things_go() -> None:
    line = '<path d="M0 1 L9 1" stroke-width="13" class="x" id="y"/>'
    hidden = '<g class="section placeholder"><ellipse cx="1" cy="1" rx="9" ry="9"/></g>'
    drawn = plain(f"<style>a {{}}</style><desc>b</desc><text>c</text>{hidden}{line}")
    assert drawn == '<g><path d="M0 1 L9 1" stroke-width="13" /></g>'


def test_a_reference_to_itself_or_to_nothing_draws_nothing() -> None:
    assert "<path" not in plain('<g id="a"><use href="#a"/></g><use href="#none"/><use/>')


def test_a_small_reader_draws_it_in_its_colour() -> None:
    group = plain_svg(f'<svg {HEAD}><defs><path id="a" d="{SQUARE}"/></defs><use href="#a" x="12" y="21"/></svg>')
    svg = in_frame(group, (10.0, 20.0, 10.0, 5.0), (100, 50), "#ff8000")
    picture = pygame.image.load(io.BytesIO(svg.encode()), "drawing.svg")
    assert picture.get_size() == (100, 50)
    assert picture.get_bounding_rect() == pygame.Rect(20, 10, 20, 20)
    assert picture.get_at((30, 20)) == pygame.Color(255, 128, 0, 255)
