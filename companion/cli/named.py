"""Which tune of a book is meant by words of its title."""

from __future__ import annotations

from pathlib import Path

from companion.errors import UserError
from companion.notation import library

_NAMED = 4  # titles in a complaint


def number_of(book: Path, asked: str, voice: str | None = None) -> int:
    """The number of the tune that is asked for.

    Parameters
    ----------
    asked : words of a title ("lamp"); accents and articles aside.

    Raises
    ------
    UserError : no tune answers to the words, or several do.
    """
    if not library.plain(asked):
        raise UserError(f"“{asked[:40]}” names no tune; give its number (X:), or words of its title")
    found = library.find(library.listing(book, voice).tunes, title=asked)
    exact = [tune for tune in found if library.plain(asked) in map(library.plain, tune.titles)]
    numbers: list[int] = list(dict.fromkeys(tune.number for tune in exact or found))
    if not numbers:
        raise UserError(f"{book}: no tune in it is called “{asked[:40]}”; `companion tunes {book}` lists them")
    if len(numbers) > 1:
        some = ", ".join(f"{tune.number} “{tune.title}”" for tune in (exact or found)[:_NAMED])
        more = " …" if len(numbers) > _NAMED else ""
        raise UserError(
            f"{book}: several tunes answer to “{asked[:40]}” ({some}{more}); give the number of one of them"
        )
    return numbers[0]
