"""What stands on the pages with a list, a question or a test, as values: tunes, settings, books, what was gained.

Conventions: texts are in the player's language, as they are to be read.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from companion.box.box_values import Box, Press
from companion.screen.look import Look


class Order(StrEnum):
    """How the tunes are sorted: what is being learnt, then what is due, then by book; or all by one thing."""

    LEARNING = "learning"
    DUE = "due"
    TITLE = "title"
    RHYTHM = "rhythm"
    DIFFICULTY = "difficulty"


@dataclass(frozen=True, slots=True)
class HowFar:
    """How far a tune is: how many of its `bars` are known and begun, and the day it was practised last (counted on)."""

    known: int
    begun: int
    bars: int
    last: int


@dataclass(frozen=True, slots=True)
class TuneRow:
    """A tune to choose.

    `id` is the caller's; `difficulty` on this box is 0 (anyone) to 1 (hardest), None where it is not known yet;
    `fits` says whether the box has all its notes; `due` in how many days it should come back (0 or less: now), None
    where it is not in review; `book` is the caller's name of its book; `far` says how far it is, None where it has not
    been begun.
    """

    id: str
    title: str
    rhythm: str
    key: str
    difficulty: float | None
    due: int | None
    fits: bool = True
    book: str = ""
    far: HowFar | None = None

    @property
    def learning(self) -> bool:
        """Whether it has been begun and is not finished."""
        return self.far is not None and self.due is None


class HeadingKind(StrEnum):
    """What stands under a heading in the list of tunes."""

    LEARNING = "learning"
    DUE = "due"
    BOOK = "book"


@dataclass(frozen=True, slots=True)
class HeadingRow:
    """A heading in the list of tunes: what stands under it and how many; of a book its title and the caller's name."""

    what: HeadingKind
    count: int
    title: str = ""
    book: str = ""


@dataclass(frozen=True, slots=True)
class OpenBookRow:
    """The row of the list of tunes that opens another book."""


ListRow = TuneRow | HeadingRow | OpenBookRow


@dataclass(frozen=True, slots=True)
class TunesPage:
    """The page for choosing a tune: `rows` as they are sorted and searched, the one that is picked out, and by what.

    `notice` must be seen ("" where there is none).
    """

    rows: tuple[ListRow, ...]
    at: int
    order: Order
    search: str = ""
    notice: str = ""


@dataclass(frozen=True, slots=True)
class SettingRow:
    """A setting: name and value in words, the test beside it ("": none), what that said, whether it is fixed; `level`
    is where a meter beside it stands, 0 to 1 (None: there is none)."""

    id: str
    name: str
    value: str
    test: str = ""
    result: str = ""
    fixed: bool = False
    level: float | None = None


@dataclass(frozen=True, slots=True)
class SettingsList:
    """The page for the settings, and the row that is picked out."""

    rows: tuple[SettingRow, ...]
    at: int


@dataclass(frozen=True, slots=True)
class PathRow:
    """A folder, or a file of tunes, that can be picked out."""

    name: str
    folder: bool


@dataclass(frozen=True, slots=True)
class OpenBookPage:
    """The page that asks for a file of tunes: what is typed so far, what lies there that begins so, which of these is
    picked out (-1: none), and what must be said."""

    typed: str
    rows: tuple[PathRow, ...]
    at: int = -1
    notice: str = ""


class Gains(StrEnum):
    """What the page of what was gained shows."""

    TUNES = "tunes"
    DAYS = "days"
    DIARY = "diary"


@dataclass(frozen=True, slots=True)
class TuneGain:
    """What was gained in a tune: its bars known, begun and in all; best tempo, what goes wrong most, when it is due,
    each in words ("": nothing to say); whether it is due now; the caller's name of it."""

    title: str
    bars: tuple[int, int, int]
    tempo: str
    wrong: str
    due: str
    now: bool
    id: str


@dataclass(frozen=True, slots=True)
class WeekMinutes:
    """A week: its Monday in words, the minutes practised on each of its days, and what they come to in words."""

    monday: str
    minutes: tuple[float, ...]
    said: str


@dataclass(frozen=True, slots=True)
class DiaryLine:
    """A tune on a day: the day in words ("" where it is that of the line above), what was played and how, in words."""

    day: str
    title: str
    rounds: str
    tempo: str
    minutes: str


@dataclass(frozen=True, slots=True)
class GainedPage:
    """What was gained: one of its views.

    Parameters
    ----------
    rows : of `Gains.TUNES` and `Gains.DIARY`, from the top.
    weeks : of `Gains.DAYS`, the first one first.
    at : the row that is picked out; of the weeks how many of the last ones are out of sight.
    said : what it comes to, in a sentence.
    notice : what must be said.
    """

    view: Gains
    rows: tuple[TuneGain | DiaryLine, ...] = ()
    weeks: tuple[WeekMinutes, ...] = ()
    at: int = 0
    said: str = ""
    notice: str = ""


@dataclass(frozen=True, slots=True)
class AnswerCard:
    """An answer to a question: in words, what is said of it beneath, the box that is drawn on it (None: none) and from
    where and for which hand it is seen; `plug` draws a plug, `ear` an ear, `microphone` a microphone."""

    name: str
    said: str = ""
    box: Box | None = None
    look: Look | None = None
    plug: bool = False
    ear: bool = False
    microphone: bool = False


@dataclass(frozen=True, slots=True)
class QuestionPage:
    """A question of the first evening: which of how many it is, its answers, which is picked out, what must be said."""

    question: str
    number: int
    count: int
    answers: tuple[AnswerCard, ...]
    at: int = 0
    notice: str = ""


@dataclass(frozen=True, slots=True)
class LearnPage:
    """The page on which a box gets known through a microphone.

    Parameters
    ----------
    box : the box that is drawn, `press` the button that is to be played (None: none is).
    said, aside : what is to be done, and what is said besides.
    number : which note it is, in words.
    share : how much of what is to be heard now has been heard, `level` how loud it is now, both 0 to 1.
    """

    box: Box
    said: str = ""
    aside: str = ""
    press: Press | None = None
    number: str = ""
    share: float = 0.0
    level: float = 0.0
