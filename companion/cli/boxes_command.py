"""`companion boxes`: the layouts there are, or one of them drawn."""

from __future__ import annotations

import argparse
from pathlib import Path

from companion.box.draw import box_png, box_svg, box_text
from companion.box.layout import box_names, load_box
from companion.cli.show import as_table, line
from companion.errors import UserError
from companion.whole_file import whole_file


def run(given: argparse.Namespace) -> None:
    """List the boxes, or draw one."""
    if given.box is None:
        if given.out is not None:
            raise UserError("name the box to draw: companion boxes bc-21 -o box.svg")
        boxes = [load_box(name) for name in box_names()]
        rows = [(box.id, box.name, sum(len(row.push) for row in box.rows), len(box.basses)) for box in boxes]
        as_table("Boxes", ("box", "name", "buttons", "basses"), rows, right=(2, 3))
        return
    box = load_box(given.box)
    if given.out is None:
        line(box_text(box))
        return
    out = Path(given.out)
    if out.suffix.lower() == ".png":
        box_png(box, out)
    elif out.suffix.lower() == ".svg":
        with whole_file(out) as beside:
            beside.write_text(box_svg(box), encoding="utf-8")
    else:
        raise UserError(f"“{out}” should end in .png or .svg")
    line(f"{out}: {box.name}")
