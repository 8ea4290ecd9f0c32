"""`companion record`: the whole record written as JSON lines, or such a file read into it."""

from __future__ import annotations

import argparse
from contextlib import closing
from pathlib import Path

from companion.cli.show import line
from companion.errors import UserError
from companion.places import own_data
from companion.store.record import FILE, open_record
from companion.whole_file import whole_file


def run(given: argparse.Namespace) -> None:
    """Export or import."""
    file = Path(given.file)
    if given.way == "export":
        _export(file)
    else:
        _import(file)


def _export(file: Path) -> None:
    if not (own_data() / FILE).exists():
        raise UserError("nothing is practised yet, so there is no record to export; `companion practise` begins one")
    count = 0
    with closing(open_record()) as record, whole_file(file) as beside:
        if record.notice:
            line(record.notice)
        with beside.open("w", encoding="utf-8", newline="\n") as out:
            for text in record.lines():
                out.write(text)
                count += 1
    line(f"{file}: {count} lines.")


def _import(file: Path) -> None:
    if not file.is_file():
        raise UserError(f"{file}: there is no such file; give one that `companion record export` wrote")
    with closing(open_record()) as record:
        if record.notice:
            line(record.notice)
        added = record.take_in(file)
    if not any((added.tunes, added.sittings, added.rounds, added.reviews)):
        line("The record had all of it already.")
        return
    line(
        f"Taken into the record: {added.tunes} tunes, {added.sittings} sittings, {added.rounds} rounds, "
        f"{added.reviews} reviews that were not there."
    )
