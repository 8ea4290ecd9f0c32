"""Which tune of a book is meant by its number, or by words of its title."""

from __future__ import annotations

from pathlib import Path

from companion.errors import UserError
from companion.notation import tune_index
from companion.tables import read_tables
from companion.tune.names import name_of, parts_of

_NAMED = 4  # titles in a complaint


def name_in(book: Path, asked: str, voice: str | None = None) -> str:
    """The name (`companion.tune.names`) of the tune that is asked for.

    Parameters
    ----------
    asked : its number ("3"), which of several with that number ("3.2"), or words of a title ("lamp"); accents and
        articles aside. Whether there is a tune of that number is found when it is read.

    Raises
    ------
    UserError : no tune answers to the words, or several do.
    """
    parts = parts_of(asked)
    if parts is not None:
        return name_of(*parts)
    if not tune_index.plain(asked):
        raise UserError(f"“{asked[:40]}” names no tune; give its number (X:) or words of its title")
    found = tune_index.find(tune_index.listing(book, voice, read_tables().ornaments.names).tunes, title=asked)
    exact = [tune for tune in found if tune_index.plain(asked) in map(tune_index.plain, tune.titles)]
    answers = exact or found
    if not answers:
        raise UserError(f"{book}: no tune in it is called “{asked[:40]}”; `companion tunes {book}` lists them")
    if len(answers) > 1:
        some = ", ".join(f"{tune.name} “{tune.title}”" for tune in answers[:_NAMED])
        more = " …" if len(answers) > _NAMED else ""
        raise UserError(f"{book}: several tunes match “{asked[:40]}” ({some}{more}); give the number of one of them")
    return answers[0].name
