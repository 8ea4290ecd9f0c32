"""Everything that the window shows at one moment, as a value. `companion.screen.view` draws it and decides nothing."""

from __future__ import annotations

from dataclasses import dataclass

from companion.box.model import Box, Fingered
from companion.hearing.model import Verdict


@dataclass(frozen=True, slots=True)
class Step:
    """One note on the bellows line, in the order of the piece. `at` and `length` are whole notes from its beginning."""

    fingered: Fingered
    at: float
    length: float
    verdict: Verdict | None = None


@dataclass(frozen=True, slots=True)
class Glance:
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
    standin : whether the stand-in player is playing.
    paused : whether the session is paused.
    notices : short lines that must be seen (instrument gone, no sound device).
    caution : a sentence on health where one is due, else "".
    clocked : whether the piece is played in time (False: right notes in order, no clock).
    phrases : where phrases begin (whole notes from the beginning of the piece).
    air : where the air button is used (whole notes from the beginning of the piece).
    """

    title: str
    piece: str
    step: str
    box: Box
    notes: tuple[Step, ...]
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
