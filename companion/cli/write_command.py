"""`companion write`: tunes in another notation, for other programs and for paper."""

from __future__ import annotations

import argparse
from pathlib import Path

from companion.cli.show import line
from companion.errors import UserError
from companion.notation import Book, read_book
from companion.tables import read_tables
from companion.tune.tune import Tune
from companion.whole_file import whole_file

ENDINGS = (".abc", ".musicxml", ".mid")


def run(given: argparse.Namespace) -> None:
    """Write the book, or one tune of it. ABC holds a whole book, the other formats one tune."""
    out = Path(given.out)
    ending = out.suffix.lower()
    if ending not in ENDINGS:
        raise UserError(f"“{out}” should end in {', '.join(ENDINGS[:-1])} or {ENDINGS[-1]}")
    book = read_book(Path(given.book), given.voice, ornaments=read_tables().ornaments.names)
    whole = ending == ".abc" and given.tune is None
    tunes = [tune for tune in book.tunes if not tune.errors] if whole else [_playable(book, given.tune)]
    if not tunes:
        raise UserError(f"{given.book}: none of its tunes can be written; `companion tunes` says what is wrong")
    with whole_file(out) as beside:
        beside.write_bytes(_bytes(tunes, ending))
    left = len(book.tunes) - len(tunes) if whole else 0
    note = f"; {left} with errors left out" if left else ""
    line(f"{out}: {tunes[0].title}{note}" if len(tunes) == 1 else f"{out}: {len(tunes)} tunes{note}")


def _playable(book: Book, asked: str | None) -> Tune:
    tune = book.tune(asked)
    if tune.errors:
        raise UserError(f"“{tune.title}” cannot be written: {tune.errors[0].message}")
    return tune


def _bytes(tunes: list[Tune], ending: str) -> bytes:
    if ending == ".abc":
        from companion.notation.abc_writer import write_abc

        return ("%abc-2.1\n\n" + "\n".join(write_abc(tune) for tune in tunes)).encode()
    if ending == ".musicxml":
        from companion.notation.musicxml_writer import write_musicxml

        return write_musicxml(tunes[0]).encode()
    from companion.notation.midi_writer import midi_bytes

    return midi_bytes(tunes[0])
