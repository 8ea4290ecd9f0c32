"""The `companion` command: reads the arguments, runs the command's own file, says any mistake in one sentence.

Only the standard library is imported here, so that `--help` comes at once.
"""

from __future__ import annotations

import argparse
import importlib
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

from companion.cli.arguments import parser
from companion.errors import UserError


def _settle(given: argparse.Namespace) -> None:
    """Put the demo tunes where no book is named, and the tune's own name where its title is."""
    from companion.pages.books_at_hand import demo_book

    book = Path(given.book) if given.book else demo_book()
    if given.book is None and given.command != "practise":
        if given.command == "lesson" and given.write:
            raise UserError("name the book to write the lesson beside: companion lesson my-tunes.abc --write")
        given.book = str(book)
        print(f"No book named: these are the demo tunes ({book.name}).", file=sys.stderr)
    if given.tune is not None:
        from companion.cli.named import name_in

        given.tune = name_in(book, given.tune, given.voice)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command. Gives 0 when done, 2 for a mistake of the user's, 1 for a fault of ours."""
    try:
        given = parser().settled(sys.argv[1:] if arguments is None else arguments)
        if "book" in given:
            given.tune = getattr(given, "tune", None)
            _settle(given)
        command = importlib.import_module(f"companion.cli.{given.command}_command")
        command.run(given)
        sys.stdout.flush()
    except UserError as mistake:
        print(f"companion: {mistake}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        return 130
    except Exception as fault:
        if os.environ.get("COMPANION_DEBUG"):
            raise
        print(
            f"companion: our fault, not yours ({type(fault).__name__}: {fault}); "
            "please report it (COMPANION_DEBUG=1 shows where)",
            file=sys.stderr,
        )
        return 1
    return 0


def entry() -> NoReturn:
    """The console script."""
    sys.exit(main())
