"""`companion render` of a whole lesson: many pieces at several tempi, a file each, in one folder."""

from __future__ import annotations

import argparse
import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from companion.cli.show import line
from companion.cli.sounded import LONGEST, SoundRequest
from companion.cli.written import write
from companion.errors import Place, UserError
from companion.lesson.lesson_values import Kind, Piece
from companion.lesson.pieces import piece_named
from companion.screen.words import spoken_piece, stored_piece
from companion.sound.files import MIDI, SOUND
from companion.sound.tempi import parse_tempo

ENDINGS = (*(ending[1:] for ending in SOUND), MIDI[0][1:])
KINDS = {"bars": Kind.BAR, "phrases": Kind.PHRASE, "halves": Kind.HALF, "parts": Kind.PART, "joins": Kind.JOIN}


def run(given: argparse.Namespace, made: SoundRequest) -> None:
    """Write the files, with a bar that shows how far it is."""
    if given.format not in ENDINGS:
        raise UserError(f"--format takes one of {', '.join(ENDINGS)}, not “{given.format[:20]}”")
    if given.format == MIDI[0][1:] and given.recording is not None:
        raise UserError("a recording cannot be written as MIDI; choose wav, flac, ogg or mp3")
    pieces = chosen(made.opened.pieces, given.pieces if given.pieces is not None else made.wish.piece.name)
    tempi = _tempi(given.tempi, made)
    wanted = [
        (name_of(number, piece, tempo, given.format), replace(made, wish=replace(made.wish, piece=piece, bpm=bpm)))
        for number, piece in enumerate(pieces, 1)
        for tempo, bpm in tempi
    ]
    if any(one.seconds > LONGEST for _, one in wanted):
        raise UserError("a file would last more than three hours; ask for fewer rounds or shorter pieces")
    folder = Path(given.out)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UserError(f"this folder cannot be made ({error.strerror}); name another", Place(folder)) from None
    _write_all(folder, wanted)
    line(f"{folder}: {len(wanted)} files of {made.title}, {sum(one.seconds for _, one in wanted) / 60:.1f} minutes")


def chosen(pieces: Sequence[Piece], text: str) -> tuple[Piece, ...]:
    """The pieces that a list of names and kinds ("all", "bars", …, "A bar 1") asks for, in the lesson's order."""
    found: set[str] = set()
    for word in (" ".join(one.lower().split()) for one in text.split(",")):
        if word == "all":
            found |= {piece.name for piece in pieces}
        elif word in KINDS:
            found |= {piece.name for piece in pieces if piece.kind is KINDS[word]}
        else:
            found.add(piece_named(pieces, stored_piece(word)).name)
    chosen_ = tuple(piece for piece in pieces if piece.name in found)
    if not chosen_:
        raise UserError(f"this tune has no {text[:40]}; `companion pieces` lists what it has")
    return chosen_


def name_of(number: int, piece: Piece, tempo: str, ending: str) -> str:
    """A file's name that sorts in the order of the lesson and holds nothing that a file system minds."""
    plain = re.sub(r"[^\w %-]+", " ", f"{number:02} {spoken_piece(piece.name)} {tempo}").strip()
    return f"{' '.join(plain.split())}.{ending}"


def _tempi(text: str | None, made: SoundRequest) -> list[tuple[str, float]]:
    if text is None:
        return [(f"{made.wish.bpm:.0f}", made.wish.bpm)]
    target = made.rounds.course.target
    found = [(one.strip().lower().removesuffix("bpm").strip(), parse_tempo(one, target)) for one in text.split(",")]
    # Shares are padded, so that 50% comes before 100%.
    return [(f"{float(name[:-1]):03.0f}%" if name.endswith("%") else name, bpm) for name, bpm in found]


def _write_all(folder: Path, wanted: Sequence[tuple[str, SoundRequest]]) -> None:
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as progress:
        bar = progress.add_task("writing", total=len(wanted))
        for name, one in wanted:
            write(one, folder / name)
            progress.advance(bar)
