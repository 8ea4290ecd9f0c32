"""What most commands begin with: the book, the tune, its round, its fingering, its pieces."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path

from companion.box.fingering import finger_round
from companion.box.layout import load_box
from companion.box.model import Box, Fingering
from companion.box.pins import Pin, load_pins, pins_beside, pins_in
from companion.errors import Place, UserError
from companion.lesson.course import lesson_of
from companion.lesson.model import Lesson, Piece
from companion.lesson.pieces import cut
from companion.lesson.tutor import Tutor, check_names, lesson_beside, load_tutor, read_text
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
    tutor: Tutor = field(default_factory=Tutor)

    @property
    def lesson(self) -> Lesson:
        """The tune as it is learnt. Raises `UserError` where the tutor names a piece that is not there."""
        return lesson_of(self.round, self.fingering.notes, self.pieces, self.tutor)

    @property
    def target(self) -> tuple[float, Fraction]:
        """The tempo to reach, and its beat: the tutor's, or the tune's own, or the dance's."""
        target, beat = target_of(self.tune.rhythm, self.tune.meter, self.tune.tempo)
        return self.tutor.target or target, beat


def open_round(book: str, number: int | None, voice: str | None = None) -> tuple[Tune, Round]:
    """A tune of a book and its round."""
    tune = read_tune(Path(book), number, voice)
    try:
        return tune, unfold(tune)
    except UserError as why:
        place = why.place or Place()
        raise UserError(why.message, replace(place, file=Path(book))) from None


def open_tune(book: str, number: int | None, box_name: str, voice: str | None = None) -> Opened:
    """A tune of a book on a box: unfolded, fingered and cut, with what a tutor has written beside the book."""
    box = load_box(box_name)
    tune, round_ = open_round(book, number, voice)
    fingering = finger_round(round_, box, pins=pins_of(book, tune))
    beside = lesson_beside(Path(book))
    tutor = load_tutor(beside, tune.number, round_) if beside.is_file() else Tutor()
    opened = Opened(tune, round_, box, fingering, cut(round_, fingering.notes, phrases=tutor.phrases), tutor)
    check_names(tutor, opened.pieces)
    return opened


def pins_of(book: str, tune: Tune) -> tuple[Pin, ...]:
    """What a tutor has pinned for a tune beside its book; the lesson file goes before the file of pins."""
    beside, lesson = pins_beside(Path(book)), lesson_beside(Path(book))
    pins = load_pins(beside, tune.notes, tune.number) if beside.is_file() else ()
    if not lesson.is_file():
        return pins
    told = pins_in(lesson, *read_text(lesson), tune.notes, tune.number)
    again = {pin.written for pin in told}
    return (*(pin for pin in pins if pin.written not in again), *told)


def seconds_a_whole_note(tune: Tune) -> float:
    """How long a whole note lasts at the tune's target tempo."""
    return Timeline(*target_of(tune.rhythm, tune.meter, tune.tempo)).whole


def exact(value: Fraction) -> str:
    """A fraction as the JSON gives it: "3/8", "2", "0"."""
    return str(value)
