"""What most commands begin with: the book, the tune, its round, its fingering, its pieces."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from companion.box.fingering import finger_round
from companion.box.layout import load_box
from companion.box.model import Box, Fingering
from companion.box.pins import Pin, load_pins, pins_beside
from companion.errors import Place, UserError
from companion.lesson.model import Piece
from companion.lesson.pieces import cut
from companion.notation import read_tune
from companion.sound.tempi import target_of
from companion.timeline import Timeline
from companion.tune.model import Round
from companion.tune.tune import Tune
from companion.tune.unfold import unfold


@dataclass(frozen=True, slots=True)
class Opened:
    """A tune ready for use on a box."""

    tune: Tune
    round: Round
    box: Box
    fingering: Fingering
    pieces: tuple[Piece, ...]


def open_round(book: str, number: int | None, voice: str | None = None) -> tuple[Tune, Round]:
    """A tune of a book and its round."""
    tune = read_tune(Path(book), number, voice)
    try:
        return tune, unfold(tune)
    except UserError as why:
        place = why.place or Place()
        raise UserError(why.message, replace(place, file=Path(book))) from None


def open_tune(book: str, number: int | None, box_name: str, voice: str | None = None) -> Opened:
    """A tune of a book on a box: unfolded, fingered (with the pins beside the book, if there are any) and cut."""
    box = load_box(box_name)
    tune, round_ = open_round(book, number, voice)
    fingering = finger_round(round_, box, pins=pins_of(book, tune))
    return Opened(tune, round_, box, fingering, cut(round_, fingering.notes))


def pins_of(book: str, tune: Tune) -> tuple[Pin, ...]:
    """What a tutor has pinned for a tune, in the file beside its book."""
    beside = pins_beside(Path(book))
    return load_pins(beside, tune.notes, tune.number) if beside.is_file() else ()


def seconds_a_whole_note(tune: Tune) -> float:
    """How long a whole note lasts at the tune's target tempo."""
    return Timeline(*target_of(tune.rhythm, tune.meter, tune.tempo)).whole


def exact(value: Fraction) -> str:
    """A fraction as the JSON gives it: "3/8", "2", "0"."""
    return str(value)
