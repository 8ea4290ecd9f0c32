"""Reading a book of tunes from a file of any kind."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from companion.errors import Place, UserError
from companion.notation.book_values import Book
from companion.tune.names import Asked, parts_of
from companion.tune.tune import Tune

LARGEST = 10_000_000
"""Bytes. A book of two thousand tunes has about one million."""


def read_tune(
    path: Path, asked: Asked | None = None, voice: str | None = None, *, ornaments: Collection[str] = ()
) -> Tune:
    """One tune of a file, by its number or its name; None is the first. The others of a large book are not read.

    Raises
    ------
    UserError
        As `read_book` and `Book.tune` do.
    """
    return read_book(path, voice, only=(asked,), ornaments=ornaments).tune(asked)


def read_book(
    path: Path,
    voice: str | None = None,
    *,
    only: tuple[Asked | None] | None = None,
    ornaments: Collection[str] = (),
) -> Book:
    """The tunes of a file.

    Parameters
    ----------
    path : a file of ABC (`.abc`, `.txt`), MusicXML (`.musicxml`, `.xml`, `.mxl`), or a Standard MIDI File
        (`.mid`, `.midi`).
    voice : the voice, part or track that is the melody where a tune has several; None for the first (of a MIDI file:
        the one that is most like a melody).
    only : the one tune that is wanted (None in it: the first); those of other numbers may be left out.
    ornaments : the names of ornaments besides those of `ornament_signs.py`, as in a player's own table.

    Raises
    ------
    UserError
        Where there is no such file, or it is a folder, empty, binary, too large, or without a tune.
    """
    data = read_bytes(path)
    kind = path.suffix.lower()
    if kind in (".mid", ".midi") or data.startswith(b"MThd"):
        from companion.notation.midi_reader import read_midi

        return read_midi(data, file=path, track=voice)
    if kind in (".mxl", ".musicxml", ".xml") or data.startswith(b"PK\x03\x04") or data.lstrip()[:5] == b"<?xml":
        from companion.notation.musicxml_reader import read_musicxml

        return read_musicxml(data, file=path, voice=voice)
    from companion.notation.abc_reader import read_abc
    from companion.notation.abc_text import decode, one_number

    if b"\0" in data and not data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise UserError("This is not a text file: a book of tunes is written in ABC.", Place(path))
    text = decode(data)
    if only is not None:
        number, nth = (None if only[0] is None else parts_of(only[0])) or (None, 0)
        text = one_number(text, number, max(nth, 1))
    return read_abc(text, file=path, voice=voice, ornaments=ornaments)


def read_bytes(path: Path, largest: int = LARGEST) -> bytes:
    """The bytes of a file that may be a book of tunes.

    Raises
    ------
    UserError
        Where there is no such file, or it cannot be read, is a folder, empty or too large.
    """
    place = Place(path)
    try:
        if path.is_dir():
            raise UserError("This is a folder: name a file of tunes in it.", place)
        if not path.is_file():
            known = (
                "This is not a file that can be read." if path.exists() else "There is no such file: check its name."
            )
            raise UserError(known, place)
        with path.open("rb") as file:
            data = file.read(largest + 1)
    except (OSError, ValueError) as error:
        raise UserError(f"The file cannot be read ({getattr(error, 'strerror', None) or error}).", place) from error
    if len(data) > largest:
        raise UserError(f"The file is larger than {largest // 1_000_000} MB: split it into several books.", place)
    if not data.strip():
        raise UserError("The file is empty: there is no tune in it.", place)
    return data
