"""`companion pieces`: a tune cut into bars, phrases, halves, parts, joins and the round."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import Any

from companion.cli.opening import open_tune
from companion.cli.show import as_json, as_table
from companion.lesson.model import Piece

SCHEMA = "companion.pieces/1"


def run(given: argparse.Namespace) -> None:
    """Print the pieces of a tune."""
    opened = open_tune(given.book, given.tune, given.box, given.voice)
    if given.json:
        as_json(report(opened.pieces))
        return
    rows = [
        (piece.name, piece.kind.value, piece.first, piece.last, piece.difficulty, _known_from(piece))
        for piece in opened.pieces
    ]
    as_table(opened.tune.title, ("piece", "kind", "first", "last", "difficulty", "as"), rows, right=(2, 3, 4))


def _known_from(piece: Piece) -> str:
    """The piece that it is the same as, or nearly."""
    if piece.like is not None and piece.differs is not None:
        return f"{piece.like} but for note {piece.differs - piece.first + 1}"
    return piece.same_as or ""


def report(pieces: Sequence[Piece]) -> dict[str, Any]:
    """The JSON of the pieces."""
    return {
        "schema": SCHEMA,
        "pieces": [
            {
                "name": piece.name,
                "kind": piece.kind.value,
                "first": piece.first,
                "last": piece.last,
                "same_as": piece.same_as,
                "like": piece.like,
                "differs": piece.differs,
                "times": piece.times,
                "difficulty": piece.difficulty,
            }
            for piece in pieces
        ],
    }
