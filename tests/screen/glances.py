"""Moments of practice made by hand, to draw. Random numbers: none; the tune is made up for these tests."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

from companion.box.box_values import Bellows, Box, Fingered, Press, Row
from companion.box.pitch_names import name_of
from companion.engraving.staff_tune import StaffPiece
from companion.lesson.stretch import Stretch, StretchNote
from companion.marking.mark_values import Verdict
from companion.screen.actions import Action
from companion.screen.page_values import (
    BarProgress,
    LineNote,
    MapBar,
    MapPart,
    PracticePage,
    RoundChoice,
    Shown,
    TuneMap,
)  # fmt: skip
from companion.tune.tune_values import Key, Meter, Played

_KEY = Key("G", "G", "major", (("F", 1),))
_NAMES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def _pitch(name: str) -> int:
    return 12 * (int(name[-1]) + 1) + _NAMES[name[0]] + name.count("#")


def _row(name: str, offset: float, pairs: str) -> Row:
    both = [pair.split("/") for pair in pairs.split()]
    return Row(name, offset, tuple(_pitch(a) for a, _ in both), tuple(_pitch(b) for _, b in both))


# B/C, 21 buttons: tomscarff.tripod.com/melodeon/key_BC.htm
_B = "D#3/G#3 F#3/A#3 B3/C#4 D#4/E4 F#4/G#4 B4/A#4 D#5/C#5 F#5/E5 B5/G#5 D#6/A#5 F#6/C#6"
_C = "E3/A3 G3/B3 C4/D4 E4/F4 G4/A4 C5/B4 E5/D5 G5/F5 C6/A5 E6/B5"
BC21 = Box("bc-21", "B/C, 21 buttons", (_row("B", 0.0, _B), _row("C", 0.5, _C)), (), "tomscarff.tripod.com")
# One more low button a row: the rule of construction, thesession.org/discussions/21675
BC23 = Box("bc-23", "B/C, 23 buttons", (_row("B", 0.0, "B2/E3 " + _B), _row("C", 0.5, "C3/F3 " + _C)), (), "derived")
# One row of ten in D: note names BRAVENET (pub21.bravenet.com msg 608393), octaves by rule
_D = "F#3/B3 A3/C#4 D4/E4 F#4/G4 A4/B4 D5/C#5 F#5/E5 A5/G5 D6/B5 F#6/C#6"
D10 = Box("d-10", "One row in D", (_row("D", 0.0, _D),), (), "derived")

# One bar a line, in quavers; each note: row, button, < push or > pull, finger, quavers if not one. The index finger
# lies on column 3, from the third bar on on column 6.
_JIG = [
    "C5>3 C6>4 C5>3 C5<3 B5<2 C5<3",
    "C4<2 B5<3 C5<3 C5>3x2 C6>4",
    "C7>2 B7>2 C7>2 C7<2 B8<3 C8<3",
    "C9>4x3 C8<3 C7<2 C7>2",
]
_PLACES = (3, 3, 6, 6)


def steps(box: Box, bars: list[str], places: tuple[int, ...], times: int = 1) -> tuple[LineNote, ...]:
    """Steps of a made-up tune, with bellows that move with the length of the notes."""
    at, opening, before = Fraction(0), 0.3, places[0]
    found: list[LineNote] = []
    for bar, place in zip(bars * times, places * times, strict=True):
        for word in bar.split():
            row, button, way, finger, count = re.fullmatch(r"([A-Z])(\d+)([<>])(\d)(?:x(\d))?", word).groups()  # type: ignore[union-attr]
            press = Press(row, int(button), Bellows.PULL if way == ">" else Bellows.PUSH)
            length = Fraction(int(count or 1), 8)
            opening += float(length) * (0.25 if way == ">" else -0.25)
            pitch = box.pitch(press)
            assert pitch is not None
            note = Played(len(found), "A", 1, 1 + int(at / Fraction(3, 4)), at, length, pitch)
            fingered = Fingered(note, press, int(finger), place, place - before, opening)
            name = name_of(pitch, octave=False, signature=_KEY.signature)
            found.append(LineNote(fingered, float(at), float(length), index=len(found), name=name))
            at, before = at + length, place
    return tuple(found)


def on_staff(notes: tuple[LineNote, ...], bars: tuple[float, ...], length: float) -> StaffPiece:
    """Notes and bar lines as they stand on a staff: in 6/8 and G."""
    beat = Fraction(3, 8)
    laid = Stretch(
        tuple(StretchNote(n, one.fingered.note.at, one.fingered.note) for n, one in enumerate(notes)), (),
        tuple(Fraction(bar) for bar in bars), Fraction(length), Fraction(0), 2 * beat, beat,
    )  # fmt: skip
    return StaffPiece(laid, Meter("6/8", 2 * beat, (beat, beat)), ((0, _KEY),))


# One letter a bar: known, begun, failing, new.
_STATES = ("KKKKKBKK BKFBNNNN", "BBNNFNNN NNNNNNNN")
_PROGRESS = {one.name[0]: one for one in BarProgress}
_A_BAR = 5  # notes of a bar of the map, about as many as in the jig


def tune_map(states: tuple[str, ...] = _STATES, here: tuple[int, int] = (0, 19), at: int | None = 0) -> TuneMap:
    """A map with a part for each string: a letter for each bar, a space where a phrase begins."""
    parts, first = [], 0
    for name, bars in zip("ABCDEFGH", states, strict=False):
        found = []
        for number, letter in enumerate(bars.replace(" ", ""), 1):
            found.append(MapBar(number, first, first + _A_BAR - 1, _PROGRESS[letter]))
            first += _A_BAR
        parts.append(MapPart(name, tuple(found), (0, *(n for n, letter in enumerate(bars) if letter == " "))))
    return TuneMap(tuple(parts), here, at)


CHOICES = (
    RoundChoice(Action.MELODY, "on", True),
    RoundChoice(Action.CLICK, "the beat", True),
    RoundChoice(Action.BASSES, "off", False),
    RoundChoice(Action.ORNAMENTS, "full", True),
    RoundChoice(Action.LIFT, "as the dance wants it", True),
    RoundChoice(Action.ANSWER, "off", False),
    RoundChoice(Action.CLIMB, "off", False),
    RoundChoice(Action.MARKS, "marked", True),
    RoundChoice(Action.COUNT_IN, "1 bar"),
    RoundChoice(Action.BY_HEART, "all shown"),
    RoundChoice(Action.LOOP, "off", False),
    RoundChoice(Action.WHOLE, "off", False),
)


def jig(**changes: object) -> PracticePage:
    """Four bars of a jig on the 21-button box, before its first note."""
    notes = steps(BC21, _JIG, _PLACES)
    bars = (0.0, 0.75, 1.5, 2.25)
    base = PracticePage(
        title="The Lamp on Tanner’s Quay",
        piece="A part, bars 1–4",
        step="in time",
        box=BC21,
        notes=notes,
        now=0.0,
        current=0,
        bars=bars,
        length=3.0,
        staff=on_staff(notes, bars, 3.0),
        bpm=66,
        target_bpm=112,
        beat_name="dotted crotchet",
        beat=0.375,
        tune_map=tune_map(),
        clean=2,
        clean_needed=3,
        round_number=4,
        sentence="Bar 3 was late twice: your hand moved after the note began.",
        following="A part, bars 3–6",
    )
    return replace(base, **changes)  # type: ignore[arg-type]


def judged(
    glance: PracticePage,
    upto: int,
    *,
    now: float | None = None,
    wrong: tuple[int, ...] = (1,),
    missed: tuple[int, ...] = (4,),
) -> PracticePage:
    """The same with verdicts on the notes before `upto`, which is the next one."""

    def verdict(n: int) -> Verdict | None:
        if n >= upto:
            return None
        return Verdict.WRONG if n in wrong else Verdict.MISSED if n in missed else Verdict.RIGHT

    notes = tuple(replace(step, verdict=verdict(n)) for n, step in enumerate(glance.notes))
    where = replace(glance.tune_map, at=upto) if glance.tune_map is not None else None
    at = notes[upto].at + 0.03 if now is None else now
    return replace(glance, notes=notes, current=upto, now=at, tune_map=where)


def long_round(times: int = 8) -> PracticePage:
    """A whole round of 32 bars."""
    notes = steps(BC21, _JIG, _PLACES, times)
    bars = tuple(0.75 * n for n in range(4 * times))
    staff = on_staff(notes, bars, 3.0 * times)
    return jig(notes=notes, bars=bars, length=3.0 * times, piece="whole tune", phrases=bars[::2], staff=staff)


def one_row() -> PracticePage:
    """A box with one row of ten buttons."""
    bars = ["D3<1 D3>1 D4<2 D4>2 D5<3 D5>3", "D6>4 D6<4 D5>3 D5<3 D4>2 D4<2"]
    glance = jig(
        box=D10, notes=steps(D10, bars, (3, 3)), bars=(0.0, 0.75), length=1.5, staff=None, piece="A part, bars 1–2"
    )
    return judged(glance, 4)


def big_box() -> PracticePage:
    """A box with 23 buttons, high up, two figures on the button."""
    bars = ["C10>4 C11<4 C10<3", "B12<4 B11>3 C11>4", "C10>4 C11<4 C10<3", "B12<4 B11>3 C11>4"]
    notes = steps(BC23, bars, (7, 9, 7, 9))
    return judged(jig(box=BC23, notes=notes, bars=(0.0, 0.75), length=1.5, staff=None), 1, wrong=(), missed=(0,))


LONG = "The Long Walk Home from the Fair at the Crossroads beyond Ballynamona Lower"
SENTENCE = (
    "In bars 3 and 4 the bellows turned late three times, and button 5 on the outer row was pressed in place of "
    "button 5 on the inner row: play the two bars by themselves, with no click, three times."
)
WRONG_WAY = "A part, bar 15, note F#: right button, wrong way. This one is a push."
GONE = "Your instrument has gone: plug it in again"
SILENT = "No sound device: you practise without sound."
BREAK = "Time for a break: put the box down for five minutes."


def all_glances() -> dict[str, PracticePage]:
    """Every moment worth looking at, by name."""
    wordy = jig(
        title=LONG,
        sentence=SENTENCE,
        standin=True,
        piece="B part, second half, bars 13–16 and into the A part",
        step="from memory, in time",
        following="the join from the B part into the A part, bars 15–2",
    )
    return {
        "count-in": jig(now=-0.75, count="2", round_number=1, clean=0, sentence=""),
        "playing": judged(jig(), 7),
        "reach": judged(jig(), 9),
        "paused": judged(jig(paused=True), 7),
        "no-clock": judged(jig(clocked=False, step="right notes, no beat"), 12),
        "stand-in": judged(jig(standin=True), 17),
        "long": judged(wordy, 3),
        "notices": judged(jig(notices=(GONE,), caution=BREAK), 3),
        "all-alerts": judged(replace(wordy, notices=(GONE, SILENT), caution=BREAK), 10),
        "round": judged(long_round(), 60),
        "one-row": one_row(),
        "big-box": big_box(),
        "air": judged(jig(air=(0.375, 1.5), phrases=(0.0, 1.5)), 5),
        "tried": judged(jig(tried=(Press("C", 5, Bellows.PULL),), sentence=WRONG_WAY), 10),
        "tried-same": judged(jig(tried=(Press("C", 5, Bellows.PULL),), sentence=WRONG_WAY), 3),
        "tried-several": judged(
            jig(tried=(Press("B", 4, Bellows.PUSH), Press("C", 3, Bellows.PULL), Press("C", 7, Bellows.PUSH))), 3
        ),
        "by-heart": judged(jig(shown=Shown.NOTHING, piece="B second half · bars 13–16"), 8),
        "first-notes": judged(jig(shown=Shown.FIRST_NOTES), 6),
        "first-notes-between": judged(jig(shown=Shown.FIRST_NOTES), 8),
        "eight-parts": judged(
            jig(tune_map=tune_map(("KKBBFFNN" * 4,) * 8, (150, 30), 4), notices=(GONE,), notices_old=True), 7
        ),
        "over": replace(judged(jig(), 20), current=None, now=3.0),
    }
