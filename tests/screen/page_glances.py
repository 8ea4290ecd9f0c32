"""The pages beside practice, made by hand, to draw. The titles are made up."""

from __future__ import annotations

from dataclasses import replace

from companion.box.box_values import Bellows, Press
from companion.box.layout import box_names, load_box
from companion.screen.list_state import BookOnList, Chooser, Setting, Settings
from companion.screen.list_values import (
    AnswerCard,
    DiaryLine,
    GainedPage,
    Gains,
    HowFar,
    LearnPage,
    OpenBookPage,
    Order,
    PathRow,
    QuestionPage,
    TuneGain,
    TuneRow,
    WeekMinutes,
)
from companion.screen.look import Facing, Look
from companion.screen.page_values import BreakPage, HelpPage
from companion.screen.pages_view import Quiet
from tests.screen.glances import BREAK, GONE, LONG, tune_map

QUAY, OWN = BookOnList("quay", "Tanner’s Quay"), BookOnList("own", "Tuesday session")
TUNES = (
    TuneRow("lamp", "The Lamp on Tanner’s Quay", "polka", "G major", 0.05, 0, book="quay", far=HowFar(16, 16, 16, 8)),
    TuneRow("hens", "Hens in the Hayloft", "jig", "D major", 0.3, 3, book="quay", far=HowFar(16, 16, 16, 9)),
    TuneRow("slip", "The Slipway at Low Water", "slip jig", "G major", 0.5, None, book="quay"),
    TuneRow("rope", "Rope and Tallow", "reel", "E minor", 0.7, -2, book="quay", far=HowFar(15, 16, 16, 3)),
    TuneRow("kiln", "Smoke from the Lime Kiln", "hornpipe", "D major", 0.55, 12, book="quay"),
    TuneRow("ferry", "The Last Ferry", "waltz", "C major", 0.2, None, book="quay", far=HowFar(5, 9, 16, 11)),
    TuneRow("moor", "Moor the Boat", "polka", "E dorian", 0.2, None, book="own", far=HowFar(0, 2, 32, 12)),
    TuneRow("long", LONG, "barndance", "A mixolydian", 1.0, 30, book="own"),
    TuneRow("low", "Below the Keyboard", "reel", "A♭ major", None, None, fits=False, book="own"),
    *(TuneRow(f"more{n}", f"Another Tune, number {n}", "reel", "D major", n / 12, n, book="own") for n in range(2, 12)),
    TuneRow("new", "A Tune Not Weighed Yet", "reel", "G major", None, None, book="own"),
)
CHOOSER = Chooser(TUNES, (QUAY, OWN))
PORTS = ("none", "USB accordion MIDI 1", "A very long name of a port, number 24:0")
DELAYS = tuple(f"{ms} ms" for ms in range(0, 210, 10))
SETTINGS = Settings(
    (
        Setting("box", "Box", ("B/C, 21 buttons", "B/C, 23 buttons", "C#/D, 21 buttons"), 0),
        Setting("ports", "Instrument", PORTS, 2, "Listen", "nothing heard"),
        Setting("sound", "Sound", ("the default device",), 0, "Play", "played"),
        Setting("delay", "Delay", DELAYS, 4, "Measure", "38 ms, from 8 taps"),
        Setting("theme", "Colour theme", ("dark", "light", "high contrast"), 0),
        Setting("text", "Text size", ("usual", "larger", "large"), 0),
        Setting("break", "Break after", ("20 minutes", "25 minutes", "30 minutes"), 1),
        Setting("microphone", "Microphone", ("none", "Built-in Audio Analog Stereo"), 1, "Listen", "heard: F#4", 0.6),
        Setting("ear", "Your box’s sound", ("not learnt yet",), 0, "Learn"),
    ),
    at=1,
)


INTRO = "Let me hear each note of your box once. It takes about a minute. Play any note to begin."
PRIVATE = (
    "Nothing you play leaves this machine, and no sound is kept. Headphones help: then the microphone hears only you."
)
WRONG = "That was F#. This one is G: button 10, pull."
LEFT_HAND = "Now the left hand: each bass and chord once, push and pull, a short gap between them."
FAILED = "32 notes are heard, and 33 were named; play each once, for about a second, with a short silence after it"
NO_FILE = "/home/aoife/zz: There is no such file: check its name."
NOTHING = "Nothing practised on this box yet. It starts with your first round."
PRACTISED = "58 days practised, 21.5 hours in all"
FILES = (
    PathRow("..", folder=True), PathRow("reels and polkas", folder=True), PathRow("Tuesday session.abc", folder=False),
    *(PathRow(f"waltzes, part {n}.mxl", folder=False) for n in range(1, 12)),
)  # fmt: skip
GAINS = (
    TuneGain("The Lamp on Tanner’s Quay", (9, 16, 16), "112 of 112", "other row: 6 times", "due for 3 days", True, "1"),
    TuneGain("Rope and Tallow", (15, 16, 16), "84 of 96", "too low or wrong note: 12 times", "due today", True, "2"),
    TuneGain("The Last Ferry", (5, 9, 16), "no tempo yet", "", "", False, "3"),
    *(TuneGain(f"Another Tune, number {n}", (n, n + 3, 32), "88", "waiting: once", f"due in {n} days", False, str(n))
      for n in range(4, 13)),
)  # fmt: skip
WEEKS = tuple(
    WeekMinutes(
        f"{n + 1} Oct", tuple(float((n * 7 + day * 11) % 5 * 9) for day in range(7)), f"{n % 7} days, {n * 9} min"
    )
    for n in range(11)
)
DIARY = tuple(
    DiaryLine("Wed 29 Nov" if n % 3 == 0 else "", f"Another Tune, number {n}", f"{n} of {n + 4} rounds clean",
              "up to 96" if n % 2 else "", f"{n + 3} min")
    for n in range(14)
)  # fmt: skip
BOXES = tuple(AnswerCard(load_box(name).name, box=load_box(name), look=Look()) for name in box_names())
HEARD = (
    AnswerCard("A MIDI cable", "Found: USB accordion MIDI 1 · you played F#4", plug=True),
    AnswerCard("A microphone", "It hears your box: nothing leaves this machine", microphone=True),
    AnswerCard("By ear for now", "Nobody hears you: you play along, and nothing is marked", ear=True),
)
HELD = tuple(
    AnswerCard(name, box=load_box("bc-21"), look=Look(facing, left_handed))
    for name, left_handed, facing in (
        ("Right hand, as I see it", False, Facing.PLAYER), ("Right hand, as in a mirror", False, Facing.MIRRORED),
        ("Left hand, as I see it", True, Facing.PLAYER), ("Left hand, as in a mirror", True, Facing.MIRRORED),
    )
)  # fmt: skip


def calm(**changes: object) -> BreakPage:
    """After the third piece of a tune of nine."""
    values: dict[str, object] = {
        "title": "The Lamp on Tanner’s Quay",
        "piece": "A part, bars 1–4",
        "gained": (
            "3 clean rounds in a row at 76 crotchets a minute.",
            "A bar 3, note E: wrong 2 times, now right.",
            "Steadier: 8 ms off the click, down from 19.",
        ),
        "tune_map": tune_map(here=(20, 29), at=None),
        "next_piece": "A part, bars 4–5",
        "next_step": "in time",
        "bpm": 66.0,
        "beat_name": "crotchet",
        "wait": 8,
    }
    return BreakPage(**(values | changes))  # type: ignore[arg-type]


def all_pages() -> dict[str, Quiet]:
    """Every page worth looking at, by name."""
    long = "The bellows turned late three times in the round before this one, and not once in this one."
    return {
        "calm": calm(),
        "calm-long": calm(
            title=LONG, piece="B part, second half, bars 13–16 and into the A part", gained=(long, long, long),
            next_piece="the join from the B part, bar 16, into the A part, bar 1", beat_name="dotted crotchet",
            next_step="right notes, no beat, twice from memory", notices=(GONE,), caution=BREAK,
            tune_map=tune_map(("KKBNFNNN KKBNFNNN",) * 8), wait=None,
        ),
        "calm-first": calm(
            gained=("You have the right notes, in order.",),
            bpm=0.0,
            caution=BREAK,
        ),
        "help": HelpPage(),
        "help-signs": HelpPage(1),
        "choose": CHOOSER.glance,
        "choose-below": replace(CHOOSER, order=Order.DIFFICULTY, at=15).glance,
        "choose-books": replace(CHOOSER, at=7).glance,
        "choose-none": replace(CHOOSER, search="mazurka in f").glance,
        "choose-no-book": Chooser(()).glance,
        "choose-notice": CHOOSER.saying(
            "“Below the Keyboard” does not fit: no Ab3 on this box; it would fit an octave up or 1 semitone down."
        ).glance,
        "settings": SETTINGS.glance,
        "learn-intro": LearnPage(load_box("bc-21"), INTRO, PRIVATE, level=0.2),
        "learn-note": LearnPage(
            load_box("bc-21"), "Hold this one until it moves on.", WRONG, Press("C", 10, Bellows.PULL), "12 of 33",
            share=0.4, level=0.7,
        ),
        "learn-left": LearnPage(
            load_box("bc-21"), LEFT_HAND, "No basses? Just wait, or go on.", number="3 of 16", share=1.0, level=1.0
        ),
        "learn-failed": LearnPage(load_box("bc-21"), FAILED, "Try again, or leave it for another day."),
        "open-book": OpenBookPage("/home/aoife/tunes/", FILES),
        "open-book-picked": OpenBookPage("/home/aoife/tunes/" + 6 * "very long folder name/" + "r", FILES[1:3], at=1),
        "open-book-nothing": OpenBookPage("/home/aoife/zz", (), notice=NO_FILE),
        "gained-tunes": GainedPage(Gains.TUNES, GAINS, said="12 tunes, 5 in review, 2 due now"),
        "gained-days": GainedPage(Gains.DAYS, weeks=WEEKS, said=PRACTISED),
        "gained-days-before": GainedPage(Gains.DAYS, weeks=WEEKS, at=3, said=PRACTISED),
        "gained-diary": GainedPage(Gains.DIARY, DIARY, at=1, said=PRACTISED),
        "gained-nothing": GainedPage(Gains.TUNES, said=NOTHING),
        "first-box": QuestionPage("Which box do you play?", 1, 3, BOXES, at=1),
        "first-heard": QuestionPage("How are you heard?", 2, 3, HEARD, notice=NO_FILE),
        "first-held": QuestionPage("How do you hold it, and how do you want to see it?", 3, 3, HELD, at=2),
    }  # fmt: skip
