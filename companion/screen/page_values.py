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
from companion.screen.list_values import GainedPage, LearnPage, OpenBookPage, QuestionPage, SettingsList, TunesPage


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


Listed = TunesPage | SettingsList | OpenBookPage | GainedPage | QuestionPage | LearnPage
Page = PracticePage | BreakPage | HelpPage | LeavePage | Listed
