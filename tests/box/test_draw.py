"""A box drawn as text, SVG and PNG shows every reed that it has."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest

from companion.box.draw import box_png, box_svg, box_text
from companion.box.layout import box_names, load_box
from companion.box.pitch_names import name_of
from companion.errors import UserError

SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("name", box_names())
def test_text_and_svg_show_every_reed_in_order(name: str) -> None:
    box = load_box(name)
    lines = box_text(box).splitlines()
    words = [text.text for text in ElementTree.fromstring(box_svg(box)).iter(f"{SVG}text")]
    for row in box.rows:
        start = next(i for i, line in enumerate(lines) if line.startswith(f"{row.name} row"))
        for offset, side in ((1, row.push), (2, row.pull)):
            names = [name_of(pitch) for pitch in side if pitch is not None]
            assert lines[start + offset].split()[1:] == names
            assert [word for word in words if word in names] != []
            for note in names:
                assert words.count(note) >= names.count(note)
    assert box.source in lines[1]


def test_rows_lie_half_a_button_apart_in_text_and_svg() -> None:
    box = load_box("bc-21")
    lines = box_text(box).splitlines()
    outer, inner = (next(line for line in lines if line.startswith(f"{row} row")) for row in "BC")
    assert inner.index("1") - outer.index("1") == 3  # a button is six signs wide
    xs = [float(c.attrib["cx"]) for c in ElementTree.fromstring(box_svg(box)).iter(f"{SVG}circle")]
    assert xs[11] - xs[0] == (xs[1] - xs[0]) / 2


def test_the_png_is_a_picture_of_the_same_size(tmp_path: Path) -> None:
    import pygame

    box = load_box("bc-21")
    box_png(box, tmp_path / "box.png", scale=1.0)
    picture = pygame.image.load(str(tmp_path / "box.png"))
    root = ElementTree.fromstring(box_svg(box))
    assert picture.get_size() == (round(float(root.attrib["width"])), round(float(root.attrib["height"])))
    circles = list(root.iter(f"{SVG}circle"))
    for circle in circles:  # white inside the rim, above the notes
        x, y, radius = (float(circle.attrib[key]) for key in ("cx", "cy", "r"))
        assert picture.get_at((round(x), round(y - radius + 4)))[:3] == (255, 255, 255)


def test_a_picture_that_cannot_be_written(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="there is no folder"):
        box_png(load_box("d-10"), tmp_path / "no" / "such" / "folder.png")
