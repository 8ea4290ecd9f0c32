"""`companion record`: the whole record written as JSON lines, such a file read into it, a damaged record rescued."""

from __future__ import annotations

import argparse
import tempfile
from contextlib import closing
from pathlib import Path

from companion.cli.show import line
from companion.errors import UserError
from companion.places import own_data
from companion.store.record import FILE, open_record
from companion.store.rescue import rescue
from companion.tables import read_tables
from companion.whole_file import whole_file


def run(given: argparse.Namespace) -> None:
    """Export or import."""
    file = Path(given.file)
    {"export": _export, "import": _import, "rescue": _rescue}[given.way](file)


def _export(file: Path) -> None:
    if not (own_data() / FILE).exists():
        raise UserError("you have not practised yet, so there is nothing to export; start with `companion practise`")
    count = 0
    with closing(open_record()) as record, whole_file(file) as beside:
        if record.notice:
            line(record.notice)
        with beside.open("w", encoding="utf-8", newline="\n") as out:
            for text in record.lines():
                out.write(text)
                count += 1
    line(f"{file}: your record, {count} lines.")


def _import(file: Path) -> None:
    if not file.is_file():
        raise UserError(f"{file}: there is no such file; name one that `companion record export` wrote")
    _take_in(file)


def _rescue(file: Path) -> None:
    """Take what can be read of a damaged record, or of a backup, into the record."""
    with rescue(file) as found, tempfile.TemporaryDirectory() as folder:
        lines = Path(folder) / "rescued.jsonl"
        with lines.open("w", encoding="utf-8", newline="\n") as out:
            out.writelines(found.lines())
        _take_in(lines)
    if found.lost:
        line(f"{found.lost} rows of {file.name} could not be read.")


def _take_in(file: Path) -> None:
    with closing(open_record()) as record:
        if record.notice:
            line(record.notice)
        added = record.take_in(file, read_tables().memory)
    if not any((added.tunes, added.sittings, added.rounds, added.reviews)):
        line("Your record has all of it already.")
        return
    line(
        f"New in your record: {added.tunes} tunes, {added.sittings} sittings, {added.rounds} rounds, "
        f"{added.reviews} reviews."
    )
