"""All that the window shows at one moment, as a value: `PracticePage` while you practise, and the other pages.

`companion.screen.view` draws a `PracticePage`, `companion.screen.pages_view` the other pages; neither decides anything.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from companion.box.box_values import Box, Fingered, Press
from companion.engraving.staff_tune import StaffPiece
from companion.marking.mark_values import Verdict
from companion.screen.actions import Action
from companion.screen.look import Look


@dataclass(frozen=True, slots=True)
class LineNote:
    """One note on the bellows line, in the order of the piece. `at` and `length` are whole notes from its beginning;
    `index` is where it stands in the tune, -1 where that is not known; `name` what it is called in the tune's key."""

    fingered: Fingered
    at: float
    length: float
    verdict: Verdict | None = None
    index: int = -1
    name: str = ""


class BarProgress(StrEnum):
    """How far a bar of the tune is."""

    NEW = "new"  # never played right in time
    BEGUN = "begun"
    FAILING = "failing"  # goes wrong again and again
    KNOWN = "known"


@dataclass(frozen=True, slots=True)
class MapBar:
    """A bar on the map of the tune: its number in its part (0: a pick-up), its notes `first` to `last` as they stand in
    the tune for the first time, and how far it is."""

    number: int
    first: int
    last: int
    progress: BarProgress


@dataclass(frozen=True, slots=True)
class MapPart:
    """A part on the map: its name, its bars in order, and the bars (by place in `bars`) at which phrases begin."""

    name: str
    bars: tuple[MapBar, ...]
    phrases: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class TuneMap:
    """The whole tune in small, each part once.

    Parameters
    ----------
    here : the first and the last note of what is practised now; ``first > last`` goes round the end.
    at : the note to be played now or next, None where there is none.
    """

    parts: tuple[MapPart, ...]
    here: tuple[int, int]
    at: int | None = None


class Shown(StrEnum):
    """How much of the piece is shown while it is played."""

    ALL = "all"
    FIRST_NOTES = "first notes"  # the first note of each bar
    NOTHING = "nothing"  # by heart: its name and the beat


@dataclass(frozen=True, slots=True)
class RoundChoice:
    """Something the player can choose while a round is played: what the action is, how it stands now in words, and
    whether it is on (None: neither on nor off)."""

    action: Action
    value: str
    on: bool | None = None


@dataclass(frozen=True, slots=True)
class PracticePage:
    """One moment of a practice session.

    Parameters
    ----------
    title, piece, step : the tune's title; the piece in words ("A part, bars 3–4"); what is being done ("in time").
    box : the layout on which it is played.
    notes : the notes of the piece in order; `now` counts in whole notes from its beginning (negative in the count-in).
    current : index into `notes` of the note to be played now or next; None when the piece is over.
    bars : where the bar lines of the piece lie (whole notes).
    length : the length of the piece in whole notes.
    bpm, target_bpm, beat_name : the tempo, where it is going, and what a beat is ("crotchet").
    clean, clean_needed : clean rounds in a row so far, and how many raise the tempo.
    round_number : which round of this piece, counted from 1.
    count : what the count-in says now ("1", "2", …), "" outside it.
    sentence : one sentence about the last round, "" before there is one.
    following : what comes after this piece, in words.
    standin : whether the demonstration is playing.
    paused : whether the session is paused.
    notices : short lines that must be seen (instrument gone, no sound device).
    caution : a sentence on health where one is due, else "".
    clocked : whether the piece is played in time (False: right notes in order, no clock).
    phrases : where phrases begin (whole notes from the beginning of the piece).
    air : where the air button is used (whole notes from the beginning of the piece).
    tried : the presses that may have given the wrong note that has just been heard: one where that is sure.
    pressed : the presses that may have given the note heard last, where no tune is asked for.
    tune_map : the tune in small; None where there is none.
    shown : how much of the piece is shown while it is played.
    free : whether no tune is asked for.
    own : whether the player has chosen what goes round and round; False: the lesson has.
    choices : what can be chosen now, in the order in which it is listed.
    chosen : the notes (indices into `notes`) between which a run is being chosen; None where none is.
    notices_old : whether the notices have been seen for long enough: a small sign is left of them.
    beat : the length of a beat (whole notes).
    staff : the piece as it stands on a staff; None where there is nothing to be written.
    """

    title: str
    piece: str
    step: str
    box: Box
    notes: tuple[LineNote, ...]
    now: float
    current: int | None
    bars: tuple[float, ...]
    length: float
    bpm: float
    target_bpm: float
    beat_name: str
    clean: int
    clean_needed: int
    round_number: int
    count: str = ""
    sentence: str = ""
    following: str = ""
    standin: bool = False
    paused: bool = False
    notices: tuple[str, ...] = ()
    caution: str = ""
    clocked: bool = True
    phrases: tuple[float, ...] = ()
    air: tuple[float, ...] = ()
    tried: tuple[Press, ...] = ()
    pressed: tuple[Press, ...] = ()
    free: bool = False
    tune_map: TuneMap | None = None
    shown: Shown = Shown.ALL
    own: bool = False
    choices: tuple[RoundChoice, ...] = ()
    chosen: tuple[int, int] | None = None
    notices_old: bool = False
    beat: float = 0.25
    staff: StaffPiece | None = None


@dataclass(frozen=True, slots=True)
class BreakPage:
    """The page between two pieces: what was gained, what is next.

    Parameters
    ----------
    title, piece : the tune's title; the piece that was practised, in words.
    gained : what was gained, a short sentence each; three at most are shown.
    tune_map : the tune in small: what you know of it, and where the next piece lies; None where there is none.
    next_piece, next_step : what is next, in words.
    bpm, beat_name : the tempo at which it begins; 0 where there is none.
    wait : in how many seconds it goes on by itself; None where it waits for the player.
    ends : the sitting ends then, unless the player goes on.
    notices, caution : as in `PracticePage`.
    """

    title: str
    piece: str
    gained: tuple[str, ...]
    next_piece: str
    next_step: str
    tune_map: TuneMap | None = None
    bpm: float = 0.0
    beat_name: str = ""
    wait: int | None = None
    ends: bool = False
    notices: tuple[str, ...] = ()
    caution: str = ""


@dataclass(frozen=True, slots=True)
class HelpPage:
    """The help page: every action with its keys (page 0), every sign with its meaning and what to do when something
    hurts (page 1)."""

    page: int = 0


@dataclass(frozen=True, slots=True)
class LeavePage:
    """The page that asks once before the program ends: what was gained, a short sentence each (none: nothing yet)."""

    gained: tuple[str, ...] = ()


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


Listed = TunesPage | SettingsList | OpenBookPage | GainedPage | QuestionPage | LearnPage
Page = PracticePage | BreakPage | HelpPage | LeavePage | Listed
