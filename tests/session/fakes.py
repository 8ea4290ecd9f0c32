"""Devices of a session that tests can wind by hand: a clock, a window that remembers, a player without mistakes."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from companion.box.fingering import finger_round
from companion.box.layout import load_box
from companion.hearing.weigh import Sounded
from companion.input.events import Event, PortNews
from companion.input.instrument import Instrument
from companion.lesson.learning_order import lesson_of
from companion.lesson.lesson_rules import LessonRules
from companion.lesson.lesson_values import Lesson
from companion.lesson.pieces import cut
from companion.marking import mark_values
from companion.marking.mark_values import Heard, Marks
from companion.notation import read_book
from companion.pages.pages import Pages
from companion.places import shipped
from companion.playback.round_renderer import RoundRenderer
from companion.practice.evening import Evening
from companion.practice.player_state import LISTEN, PlayerState, start
from companion.practice.round_plan import RoundPlan, TuneInHand
from companion.practice.state_json import from_plain
from companion.screen.actions import Action, Asked
from companion.screen.card import key_words
from companion.screen.look import Look
from companion.screen.page_values import HelpPage, Page, PracticePage
from companion.screen.words import Say, load_words
from companion.session.session import Devices, Session
from companion.session.session_state import Order, SessionSetting, SoundRound
from companion.sound.tempi import target_of
from companion.store.record import Record, open_record
from companion.tune.unfold import unfold
from tests.shipped_tables import TABLES

RATE = 44100


class WoundSpeaker:
    """A speaker whose clock goes on when the test says so."""

    rate = RATE
    missing = ""
    unkept = ""

    def __init__(self) -> None:
        self.time = 0.0
        self.queued: list[tuple[int, int]] = []  # first frame, frames
        self.cuts = 0
        self._end = 0
        self.levels: dict[str, float] = {}

    def level(self, voice: str, factor: float) -> None:
        self.levels[voice] = factor

    def queue(self, sound: Mapping[str, NDArray[np.float32]], frames: int) -> int:
        assert all(len(voice) >= frames for voice in sound.values())
        first = self.queued_until()
        self.queued.append((first, frames))
        self._end = first + frames
        return first

    def queued_until(self) -> int:
        return max(self._end, round(self.time * RATE))

    def now(self) -> float:
        return self.time

    def time_of(self, monotonic: float) -> float:
        return monotonic

    def cut(self, at: int = 0) -> int:
        self.cuts += 1
        self._end = max(at, round(self.time * RATE))
        self.queued = [(first, min(frames, self._end - first)) for first, frames in self.queued if first < self._end]
        return self._end

    def recording(self) -> NDArray[np.int16]:
        return np.zeros((0, 2), np.int16)

    def close(self) -> None:
        pass


class WatchedWindow:
    """A window that remembers what it showed, and from which the test asks for things."""

    missing = ""
    waiting = False

    def __init__(self) -> None:
        self.shown: list[PracticePage] = []
        self.wanted: list[Asked] = []
        self.pages: list[Page] = []  # those beside practice
        self.looked: list[Action] = []
        self.look = Look()
        self.helped = 0

    def show(self, page: Page) -> None:
        if isinstance(page, PracticePage):
            self.shown.append(page)
        elif isinstance(page, HelpPage):
            self.helped += 1
        else:
            self.pages.append(page)

    def asked(self) -> list[Asked]:
        wanted, self.wanted = self.wanted, []
        return wanted

    def change_look(self, action: Action) -> None:
        self.looked.append(action)

    def picture(self, path: Path) -> None:
        path.write_bytes(b"")

    def close(self) -> None:
        pass


class ScriptedPlayer:
    """Plays what `choose` makes of the notes asked, when they are due."""

    missing = ""
    can_hear = True
    waiting = False
    forgotten = 0

    def __init__(self, speaker: WoundSpeaker) -> None:
        self.standin_on = True
        self.taken: list[Heard] = []
        self.choose: Callable[[RoundPlan, mark_values.Asked], Heard | None] = exactly
        self.learnt: list[Marks] = []
        self.tidings: list[PortNews] = []
        self.known = Instrument()
        self.expected: list[tuple[int, ...]] = []
        self.came: list[Event] = []  # pedals and notes of an instrument, for one step
        self.sounded: Sounded | None = None  # of a microphone
        self._sent: list[Event] = []
        self._speaker = speaker
        self._due: list[Heard] = []

    @property
    def meant(self) -> list[Event]:
        return self.came

    def send(self, *events: Event) -> None:
        """Let events come in with the next step; the notes among them count where the player plays."""
        self._sent += events

    def come(self, pitch: int, seconds: float) -> None:
        """Let a note of the player's be heard."""
        self._due.append(Heard(seconds, pitch))

    def new(self, time_of: Callable[[float], float]) -> list[Heard]:
        self.came, self._sent = self._sent, []
        now = time_of(self._speaker.time)
        came = sorted((note for note in self._due if note.seconds <= now), key=lambda note: note.seconds)
        self._due = [note for note in self._due if note.seconds > now]
        if not self.standin_on and self.known.shift:
            came = [replace(note, pitch=note.pitch - self.known.shift) for note in came]
        self.taken += came
        return came

    def expect(self, pitches: Sequence[int]) -> None:
        self.expected.append(tuple(pitches))

    def news(self) -> list[PortNews]:
        tidings, self.tidings = self.tidings, []
        return tidings

    def notice(self, _words: Say) -> str:
        return ""

    def play(self, going: RoundPlan, _ahead: float) -> None:
        self._due += [note for asked in going.asked if (note := self.choose(going, asked)) is not None]

    def due(self, notes: list[Heard]) -> None:
        """Let these notes be heard when their time comes."""
        self._due += notes

    def learn(self, marks: Marks) -> None:
        self.learnt.append(marks)

    def stop(self) -> None:
        self._due.clear()

    def close(self) -> None:
        pass


def exactly(going: RoundPlan, asked: mark_values.Asked) -> Heard | None:
    """The right note in its place."""
    at = going.timeline.seconds(asked.at)
    return Heard(at, asked.pitch, end=at + float(asked.length) * going.timeline.whole * 0.9)


def play_every_round(bench: Bench, also: Callable[[RoundPlan], list[Heard]] = lambda _plan: []) -> None:
    """Let the player, not the stand-in, play each round that begins, and with it what `also` makes of it."""
    bench.player.standin_on = False

    def play(plan: RoundPlan) -> None:
        if plan.task.step != LISTEN:
            bench.player.play(plan, 0.0)
            bench.player.due(also(plan))

    bench.begun = play


def a_tune_in_hand(number: int = 1) -> tuple[TuneInHand, Lesson]:
    """A demo tune, ready for a session, and its course."""
    tune = read_book(shipped("demo_tunes", "tanners_quay.abc")).tune(number)
    round_ = unfold(tune)
    fingering = finger_round(round_, load_box("bc-21"), tables=TABLES)
    target, beat = target_of(tune.rhythm, tune.meter, TABLES.dances, tune.tempo)
    in_hand = TuneInHand(
        tune.title,
        round_,
        fingering,
        tune.meter,
        tune.key,
        beat,
        target,
        marking=TABLES.marks,
        ornaments=TABLES.ornaments,
    )
    return in_hand, lesson_of(round_, fingering.notes, cut(round_, fingering.notes, rules=TABLES.lesson))


class Bench:
    """A session on wound devices."""

    def __init__(
        self,
        folder: Path,
        number: int = 1,
        calm_wait: float = 0.0,
        length: float | None = None,
        *,
        review: bool = False,
        evening: Evening | None = None,
    ) -> None:
        self.rules: LessonRules = TABLES.lesson
        self.course, steps = a_tune_in_hand(number)
        self.record: Record = open_record(folder / "record.sqlite3")
        self.tune = self.record.tune(self.course.round, self.course.title, "")
        states = {}
        for standin in (False, True):
            plain = self.record.state(self.tune, "bc-21", standin)
            states[standin] = start(steps, self.rules) if plain is None else from_plain(steps, plain, self.rules)
        self.speaker, self.window = WoundSpeaker(), WatchedWindow()
        self.player = ScriptedPlayer(self.speaker)
        devices = Devices(
            self.speaker,
            RoundRenderer(RATE),
            self.player,  # type: ignore[arg-type]
            self.window,  # type: ignore[arg-type]
            self.record,
            self.record.begin(self.tune, "bc-21"),
        )
        self.pages = Pages(self.window, load_words(), calm_wait=calm_wait, clock=lambda: self.speaker.time)  # type: ignore[arg-type]
        words = load_words()
        box = self.course.fingering.box
        setting = SessionSetting(self.course, box, self.rules, words, partial(key_words, words), length, review=review)
        self.session = Session(setting, states, devices, self.pages, evening)
        self.begun: Callable[[RoundPlan], None] = lambda _plan: None  # is told of each round that begins
        self.session.watch = self._watch

    def _watch(self, order: Order) -> None:
        if isinstance(order, SoundRound):
            self.begun(self.session.state.in_play[-1].plan)

    def put(self, **changes: Any) -> None:
        """Put the session somewhere else: other values of its state."""
        self.session.state = replace(self.session.state, **changes)

    @property
    def plan(self) -> RoundPlan:
        """The round that was begun last."""
        return self.session.state.in_play[-1].plan

    @property
    def sentence(self) -> str:
        """What is said."""
        return self.session.state.sentence

    @property
    def standing(self) -> PlayerState:
        """Where whoever plays now stands."""
        return self.session.state.player.state

    def wind(self, seconds: float, step: float = 0.02) -> None:
        """Let so many seconds go by, or as many as there are until the session is over."""
        until = self.speaker.time + seconds
        while self.speaker.time < until and not self.session.over:
            self.session.step()
            self.speaker.time += step
