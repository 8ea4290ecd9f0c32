"""`companion lesson`: how a tune is learnt, as a lesson file to start from."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from pathlib import Path

from companion.cli.ready_tune import Opened, open_tune
from companion.cli.show import line
from companion.errors import Place, UserError
from companion.lesson.lesson_rules import LessonRules
from companion.lesson.lesson_values import Kind, Piece
from companion.lesson.tutor import lesson_beside, read_lessons, says
from companion.tune.beat_names import beat_name
from companion.tune.tune import Tune
from companion.whole_file import whole_file


def run(given: argparse.Namespace) -> None:
    """Print the lesson of a tune, or write it: to a file that is named, or beside the book, where it is used."""
    opened = open_tune(given.book, given.tune, given.box, given.voice)
    text = "\n".join(_lesson(opened, Path(given.book))) + "\n"
    if given.write:
        path = lesson_beside(Path(given.book))
        text = _added(path, text, opened)
    elif given.output is not None:
        path = Path(given.output)
        if path.exists():
            raise UserError("this file exists already; name another, or remove it first", Place(path))
    else:
        print(text, end="")
        return
    with whole_file(path) as beside:
        beside.write_text(text, encoding="utf-8")
    line(f"The lesson of “{opened.tune.title}” is in {path}. Change what you like.")


def _added(path: Path, text: str, opened: Opened) -> str:
    """The lesson behind those that the file has already."""
    if not path.exists():
        return text
    file = read_lessons(path)
    for index in range(len(file.data.get("lesson", []))):
        if says(file, index, opened.tune.name):
            message = f"it has a lesson for tune {opened.tune.name} already; change that one, or remove it first"
            raise file.wrong(message, "lesson", index)
    return file.text.rstrip() + "\n\n" + text


def _lesson(opened: Opened, book: Path) -> Iterator[str]:
    """The lines of the file."""
    beside = lesson_beside(book)
    tune, lesson = opened.tune, opened.lesson
    target, beat = opened.target
    yield f"# How “{tune.title}” is learnt (box: {opened.box.name})."
    yield "# Change any entry, or remove it and it is worked out."
    yield f"# Keep it beside the book and `companion practise` uses it: {beside.name} beside {book.name}."
    yield from _numbers(opened.tables.lesson)
    yield "[[lesson]]"
    yield f"tune = {_name(tune)}"
    yield f"target = {target:g}{'':<9}# the tempo to reach, in {beat_name(beat)}s a minute"
    phrases = ", ".join(f"{_key(part)} = {starts}" for part, starts in _phrases(opened).items())
    yield f"phrases = {{ {phrases} }}    # the bars at which phrases begin"
    yield "# What is learnt, in this order. “round” is the whole tune."
    yield "# Bars side by side can be a piece too: “A bars 2 to 3”."
    yield "order = ["
    for piece in lesson.pieces:
        yield f"    {_text(piece.name)},{_remark(piece)}"
    yield "]"
    yield "# Your own sentence for a piece, shown when its turn comes."
    yield "[lesson.say]"
    said = lesson.sentences or {lesson.pieces[0].name: "…"}
    for name, sentence in said.items():
        yield f"{'' if lesson.sentences else '# '}{_text(name)} = {_text(sentence)}"
    yield "# How single notes are to be played, as in a file of pins."
    yield "# [[pins]]"
    yield f"# tune = {_name(tune)}"
    yield "# bar = 1"
    yield "# note = 1"
    yield "# finger = 2"


def _numbers(rules: LessonRules) -> Iterator[str]:
    """The numbers by which every lesson goes, as remarks."""
    low, step = rules.rungs[0], rules.rungs[min(rules.stride, len(rules.rungs) - 1)] - rules.rungs[0]
    enough = ", ".join(f"{kind.value} {share:.0%}" for kind, share in rules.enough)
    yield f"# Each piece: heard, right in order {rules.in_order_needed} times, then in time from {low:.0%} on."
    up, down = rules.clean_needed, rules.failed_lower
    yield f"# Faster by {step:.0%} or so after {up} clean rounds in a row, slower after {down} that fail;"
    yield f"# good enough at: {enough}. (These numbers are in config/lesson.toml.)"


def _phrases(opened: Opened) -> dict[str, list[int]]:
    """The bars at which phrases begin, by part."""
    bars = {p.first: p for p in opened.pieces if p.kind is Kind.BAR}
    found: dict[str, list[int]] = {}
    for part in dict.fromkeys(span.part for span in opened.round.bars):
        own = [p for p in opened.pieces if p.kind is Kind.BAR and p.name.startswith(f"{part} bar ")]
        number = {p.first: at for at, p in enumerate(own, 1)}
        starts = {number[p.first] for p in opened.pieces if _opens(p, part) and p.first in number and p.first in bars}
        found[part] = sorted({1, *opened.tutor.phrases.get(part, ()), *starts})
    return found


def _opens(piece: Piece, part: str) -> bool:
    return piece.kind is Kind.PHRASE and piece.name.startswith(f"{part} phrase ")


def _remark(piece: Piece) -> str:
    """What is known of a piece."""
    if piece.like is not None:
        return f"    # the same as {piece.like} but for one note"
    return f"    # difficulty {piece.difficulty:.1f}"


def _text(text: str) -> str:
    """A TOML string: its escapes are those of JSON."""
    return json.dumps(text, ensure_ascii=False)


def _name(tune: Tune) -> str:
    """Which tune of its book it is, in TOML."""
    return _text(tune.name) if tune.nth else tune.name


def _key(key: str) -> str:
    return key if key.isascii() and key.isalnum() else _text(key)
