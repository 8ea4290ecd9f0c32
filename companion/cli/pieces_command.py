"""`companion pieces`: a tune cut into bars, phrases, halves, parts, joins and the round."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import Any

from companion.cli.ready_tune import open_tune
from companion.cli.show import as_json, as_table, line
from companion.lesson.lesson_values import Kind, Piece
from companion.screen.words import spoken_piece

SCHEMA = "companion.pieces/1"


def run(given: argparse.Namespace) -> None:
    """Print the pieces of a tune."""
    opened = open_tune(given.book, given.tune, given.box, given.voice)
    if given.json:
        as_json(report(opened.pieces))
        return
    notes = opened.round.notes
    rows = [
        (
            spoken_piece(piece.name),
            _kind(piece),
            _bars(notes[piece.first].bar, notes[piece.last].bar),
            len(piece.notes(len(notes))) * piece.times,
            f"{piece.difficulty:.1f}",
            _known_from(piece),
        )
        for piece in opened.pieces
    ]
    as_table(opened.tune.title, ("piece", "kind", "bars", "notes", "difficulty", "the same as"), rows, right=(3, 4))
    line("bars: counted through the whole tune; difficulty: points, by [difficulty] in config/lesson.toml.")


def _kind(piece: Piece) -> str:
    """The kind of a piece, as people call it."""
    return "several times" if piece.kind is Kind.ROUNDS else spoken_piece(piece.kind.value)


def _bars(first: int, last: int) -> str:
    """The written bars of a piece: "9", "9–10"; one that leads back: "16–1"."""
    return f"{first}" if first == last else f"{first}–{last}"


def _known_from(piece: Piece) -> str:
    """The piece that it is the same as, or nearly."""
    if piece.like is not None and piece.differs is not None:
        return f"{spoken_piece(piece.like)} but for note {piece.differs - piece.first + 1}"
    return spoken_piece(piece.same_as or "")


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
