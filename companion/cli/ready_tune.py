"""What most commands begin with: the book, the tune, its round, its fingering, its pieces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path

from companion.box.box_values import Box, Fingering
from companion.box.fingering import finger_round
from companion.box.hand_costs import PLAIN
from companion.box.layout import load_box
from companion.box.pins import Pin, load_pins, pins_beside, pins_in
from companion.cli.named import name_in
from companion.errors import Place, UserError
from companion.lesson.learning_order import lesson_of, set_lesson
from companion.lesson.lesson_values import Lesson, Piece
from companion.lesson.pieces import cut
from companion.lesson.tutor import Tutor, check_names, lesson_beside, load_tutor, read_lessons
from companion.notation import read_tune
from companion.sound.tempi import Dances, target_of
from companion.tables import Tables, hand_names, read_tables
from companion.timeline import Timeline
from companion.tune.names import Asked, parts_of
from companion.tune.sets import in_a_set, number_in_set
from companion.tune.tune import Tune
from companion.tune.tune_values import Key, OnceThrough
from companion.tune.unfold import unfold


@dataclass(frozen=True, slots=True)
class Opened:
    """A tune, or a set of them, ready for use on a box.

    `later` has the keys of the tunes that follow in a set, each with the index of its first note; it is empty for a
    single tune.
    """

    tune: Tune
    round: OnceThrough
    box: Box
    fingering: Fingering
    pieces: tuple[Piece, ...]
    tables: Tables
    tutor: Tutor = field(default_factory=Tutor)
    later: tuple[tuple[int, Key], ...] = ()

    @property
    def lesson(self) -> Lesson:
        """The tune, or the set, as it is learnt."""
        if self.later:
            return set_lesson(self.round, self.fingering.notes, self.pieces)
        return lesson_of(self.round, self.fingering.notes, self.pieces, self.tutor)

    @property
    def target(self) -> tuple[float, Fraction]:
        """The tempo to reach, and its beat: the tutor's, or the tune's own, or the dance's."""
        target, beat = target_of(self.tune.rhythm, self.tune.meter, self.tables.dances, self.tune.tempo)
        return self.tutor.target or target, beat


def open_round(book: str, asked: Asked | None, voice: str | None = None) -> tuple[Tune, OnceThrough]:
    """A tune of a book and its round."""
    tune = read_tune(Path(book), asked, voice, ornaments=read_tables().ornaments.names)
    try:
        return tune, unfold(tune)
    except UserError as why:
        place = why.place or Place()
        raise UserError(why.message, replace(place, file=Path(book))) from None


def open_tune(
    book: str, asked: Asked | None, box_name: str, voice: str | None = None, hand: str | None = None, own: str = PLAIN
) -> Opened:
    """A tune of a book on a box: unfolded, fingered and cut, with what a tutor has written beside the book.

    Parameters
    ----------
    hand : the hand that fingers it, by name; None for the one that the tutor names, or `own` where none is named.
    """
    box = load_box(box_name)
    tune, round_ = open_round(book, asked, voice)
    beside = lesson_beside(Path(book))
    tutor = load_tutor(beside, tune.name, round_) if beside.is_file() else Tutor()
    if hand is None and tutor.hand is not None and tutor.hand not in hand_names():
        raise UserError(f"there is no hand “{tutor.hand}”; there are: {', '.join(hand_names())}", tutor.places["hand"])
    tables = read_tables(hand or tutor.hand or own)
    fingering = finger_round(round_, box, tables, pins_of(book, tune))
    target, beat = target_of(tune.rhythm, tune.meter, tables.dances, tune.tempo)
    whole = Timeline(tutor.target or target, beat).whole
    pieces = cut(round_, fingering.notes, tables.lesson, phrases=tutor.phrases, whole=whole)
    opened = Opened(tune, round_, box, fingering, pieces, tables, tutor)
    check_names(tutor, opened.pieces)
    return opened


def open_set(
    book: str, asked: Asked | None, then: Sequence[str], box_name: str, voice: str | None = None, own: str = PLAIN
) -> Opened:
    """Several tunes in a set as one: unfolded, fingered and cut.

    Parameters
    ----------
    then : the tunes that follow, each as it is named in the book (number or title), a file, or `FILE:NUMBER`.

    Raises
    ------
    UserError : a tune cannot be had, or is not in the metre of the first.
    """
    box, tables = load_box(box_name), read_tables(own)
    places = [(book, asked), *(_place(text, book, voice) for text in then)]
    opened = [(place, *open_round(*place, voice)) for place in places]
    first = opened[0][1]
    for _, tune, _ in opened[1:]:
        if tune.meter.beats != first.meter.beats or tune.meter.bar != first.meter.bar:
            message = f"“{tune.title}” is in {tune.meter.text}, “{first.title}” in {first.meter.text}"
            raise UserError(f"{message}: the tunes of a set have one metre here; choose another tune")
    round_ = in_a_set([one for _, _, one in opened])
    pins: list[Pin] = []
    written = 0
    for (file, _), tune, one in opened:
        pins += [replace(pin, written=pin.written + written) for pin in pins_of(file, tune)]
        written += 1 + max((note.written for note in one.notes), default=-1)
    fingering = finger_round(round_, box, tables, pins)
    named = replace(first, title=" / ".join(tune.title for _, tune, _ in opened))
    return Opened(
        named,
        round_,
        box,
        fingering,
        cut(round_, fingering.notes, tables.lesson, whole=seconds_a_whole_note(first, tables.dances)),
        tables,
        later=_keys(round_, opened),
    )


def _place(text: str, book: str, voice: str | None) -> tuple[str, str | None]:
    """Where a tune of a set is: its book and its name there."""
    if parts_of(text) is not None:
        return book, text
    file, colon, tune = text.rpartition(":")
    if colon and (parts_of(tune) is not None or Path(file).is_file()) and not Path(text).is_file():
        return file, name_in(Path(file), tune, voice)
    if Path(text).suffix or Path(text).name != text or Path(text).is_file():
        return text, None
    return book, name_in(Path(book), text, voice)


def _keys(round_: OnceThrough, opened: Sequence[tuple[object, Tune, OnceThrough]]) -> tuple[tuple[int, Key], ...]:
    """The keys of the tunes after the first, each with the index of its first note."""
    keys = []
    for number, (_, tune, _) in enumerate(opened[1:], 2):
        first = next((i for i, note in enumerate(round_.notes) if number_in_set(note) == number), None)
        if first is not None:
            keys.append((first, tune.key))
    return tuple(keys)


def pins_of(book: str, tune: Tune) -> tuple[Pin, ...]:
    """What a tutor has pinned for a tune beside its book; the lesson file goes before the file of pins."""
    beside, lesson = pins_beside(Path(book)), lesson_beside(Path(book))
    pins = load_pins(beside, tune.notes, tune.name) if beside.is_file() else ()
    if not lesson.is_file():
        return pins
    told = pins_in(read_lessons(lesson), tune.notes, tune.name)
    again = {pin.written for pin in told}
    return (*(pin for pin in pins if pin.written not in again), *told)


def seconds_a_whole_note(tune: Tune, dances: Dances) -> float:
    """How long a whole note lasts at the tune's target tempo."""
    return Timeline(*target_of(tune.rhythm, tune.meter, dances, tune.tempo)).whole


def exact(value: Fraction) -> str:
    """A fraction as the JSON gives it: "3/8", "2", "0"."""
    return str(value)
