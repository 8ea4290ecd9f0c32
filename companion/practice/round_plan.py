"""One round under way: what is asked, and where it lies on the session's clock.

The session's clock is the sound device's own position, in seconds.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction

from companion.box.box_values import Fingered, Fingering
from companion.box.ornaments import OrnamentTable
from companion.box.pitch_names import name_of
from companion.lesson.lesson_values import Piece
from companion.lesson.signposts import NONE, Signposts
from companion.lesson.stretch import Stretch, count_in, several, stretch_of
from companion.marking.asking import asked_of
from companion.marking.mark_values import Asked, Heard, Marks
from companion.marking.marking_rules import MarkingRules
from companion.practice.player_state import IN_ORDER, RoundTask
from companion.timeline import Timeline
from companion.tune.part_bars import Bar, bar_spans, bars_of
from companion.tune.tune_values import Key, Meter, OnceThrough

# A note that comes this long before the seam, or half the last note's length if that is shorter, opens the next round.
EARLY = 0.15


@dataclass(frozen=True, slots=True)
class TuneInHand:
    """The tune in hand, as every round of it needs it.

    `later` has the keys of the tunes that follow in a set, each with the index of its first note; `bars` the bar that
    each note of the round lies in, `spans` the notes of each bar where it stands first, `names` what each note is
    called in its key. `marking` and `ornaments` are the tables by which it is marked and sounded.
    """

    title: str
    round: OnceThrough
    fingering: Fingering
    meter: Meter
    key: Key
    beat: Fraction
    target: float
    signposts: Signposts = NONE
    later: tuple[tuple[int, Key], ...] = ()
    marking: MarkingRules = field(kw_only=True)
    ornaments: OrnamentTable = field(kw_only=True)
    # Asked for with every picture.
    bars: tuple[Bar, ...] = field(init=False, compare=False)
    spans: dict[Bar, tuple[int, int]] = field(init=False, compare=False)
    names: tuple[str, ...] = field(init=False, compare=False)
    _stretches: dict[tuple[int, int, int], Stretch] = field(default_factory=dict, init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "bars", bars_of(self.round))
        object.__setattr__(self, "spans", bar_spans(self.round))
        notes = enumerate(self.round.notes)
        names = (name_of(note.pitch, octave=False, signature=self.key_at(n).signature) for n, note in notes)
        object.__setattr__(self, "names", tuple(names))

    @property
    def keys(self) -> tuple[tuple[int, Key], ...]:
        """The keys of its tunes, each with the index of its first note."""
        return ((0, self.key), *self.later)

    @property
    def lowest(self) -> int:
        """The lowest note of the tune: what lies well below it is the left hand's."""
        return min(note.pitch for note in self.round.notes)

    def place(self, index: int) -> tuple[str, str]:
        """What a note of the round is called: its bar, as a piece, and its name in the key."""
        return self.bars[index].name, self.names[index]

    def key_at(self, index: int) -> Key:
        """The key that a note of the round stands in."""
        return next(key for first, key in reversed(self.keys) if first <= index)

    def laid(self, piece: Piece) -> Stretch:
        """A piece laid out in time, as it loops."""
        key = (piece.first, piece.last, piece.times)
        if key not in self._stretches:
            laid = stretch_of(self.round, piece.first, piece.last, self.meter, self.beat)
            self._stretches[key] = laid if piece.times == 1 else several(laid, piece.times)
        return self._stretches[key]

    def hand(self, piece: Piece) -> Fingering:
        """The fingering by the indices of the notes that a piece asks for: of several rounds, one after the other."""
        return self.fingering if piece.times == 1 else replace(self.fingering, notes=self.fingering.notes * piece.times)

    def in_round(self, marks: Marks) -> Marks:
        """Marks by the indices of one round, whichever of several rounds a note was in."""
        count = len(self.round.notes)
        notes = (n if n.written is None else replace(n, written=n.written % count) for n in marks.notes)
        return replace(marks, notes=tuple(notes))


@dataclass(frozen=True, slots=True)
class RoundPlan:
    """A round: its task, its notes, and where it lies in time.

    `bars_in` bars are counted in, from `count_in` whole notes before it. `begins` is where that sounds (or the music,
    without it), `ends` where the next round may begin; both in seconds. `phrases` and `air` are as `Signposts` gives
    them. With no clock (`clocked` False) the timeline
    only says at what pace it is shown, and `ends` is open.
    """

    task: RoundTask
    number: int
    laid: Stretch
    fingered: tuple[Fingered, ...]
    asked: tuple[Asked, ...]
    timeline: Timeline
    bars_in: int
    count_in: Fraction
    clocked: bool
    phrases: tuple[float, ...] = ()
    air: tuple[float, ...] = ()

    @property
    def begins(self) -> float:
        """Where the count-in begins."""
        return self.timeline.seconds(-self.count_in)

    @property
    def ends(self) -> float:
        """Where the next round may begin."""
        return self.timeline.seconds(self.laid.length)

    @property
    def opens(self) -> float:
        """What is heard before this was not meant for the round."""
        return self.timeline.seconds(-self.timeline.beat / 2)

    @property
    def closes(self) -> float:
        """From when on what is heard belongs to the next round."""
        last = self.asked[-1]
        return self.ends - min(EARLY, float(last.length) / 2 * self.timeline.whole)

    def within(self, heard: Heard) -> bool:
        """Whether a heard note belongs to this round and not to the next."""
        return not self.clocked or heard.seconds < self.closes


def begin(
    course: TuneInHand,
    task: RoundTask,
    number: int,
    origin: float,
    count_in_bars: int,
    place: Callable[[Fraction, Fraction], float] | None = None,
) -> RoundPlan:
    """A round whose count-in, or music without one, begins at `origin` seconds.

    `place` says where the dance's lift puts a place (whole notes; the second is the place of a bar line).
    """
    laid = course.laid(task.piece)
    asked = asked_of(laid, len(course.round.notes))
    if place is not None:
        asked = tuple(_lifted(note, laid.pickup, place) for note in asked)
    lead, _ = count_in(laid, count_in_bars, course.meter)
    timeline = Timeline(course.target * task.share, course.beat)
    return RoundPlan(
        task,
        number,
        laid,
        tuple(course.fingering.notes[sounded.index] for sounded in laid.notes),
        asked,
        timeline.moved(origin + float(lead) * timeline.whole),
        count_in_bars,
        lead,
        task.step != IN_ORDER,
        course.signposts.phrases_in(laid),
        course.signposts.air_in(laid),
    )


def _lifted(note: Asked, bar_line: Fraction, place: Callable[[Fraction, Fraction], float]) -> Asked:
    at, end = (Fraction(place(at, bar_line)).limit_denominator(1 << 16) for at in (note.at, note.at + note.length))
    return replace(note, at=at, length=end - at)
