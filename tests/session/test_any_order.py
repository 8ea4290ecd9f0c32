"""Any order of keys, notes, unpluggings and pages: what the session promises holds.

Two machines are walked by hypothesis: the session's own, without a device, step by step; and a whole session on wound
devices, with its pages.
"""

from __future__ import annotations

import copy
import shutil
import tempfile
from functools import partial
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from companion.input.events import PortNews
from companion.marking.mark_values import Heard
from companion.pages.books_at_hand import demo_book
from companion.pages.shelf import Shelf
from companion.practice.evening import Evening, rest_due
from companion.practice.player_state import start
from companion.screen.actions import Action, Asked, ChosenBar, ChosenNotes, ChosenTempo, Nav, Typed
from companion.screen.card import key_words
from companion.screen.look import Look
from companion.screen.page_values import LeavePage
from companion.screen.words import load_words
from companion.session import session_machine
from companion.session.session_state import (
    AskToLeave,
    ChangeLevel,
    ChangeLook,
    Ended,
    Free,
    InstrumentLearnt,
    KeepRound,
    KeepState,
    LevelIs,
    LookIs,
    Mode,
    NoteCame,
    Order,
    Page,
    PageIs,
    PortMoved,
    RelayRound,
    RoundLaid,
    RoundRelaid,
    SessionSetting,
    SessionState,
    ShowRest,
    Silence,
    SoundRound,
    Surroundings,
    SwitchDemonstration,
    Tick,
    Told,
    Wish,
)
from tests.session.fakes import Bench, a_tune_in_hand, exactly
from tests.shipped_tables import TABLES

RULES = TABLES.lesson
TUNE, LESSON = a_tune_in_hand()
WORDS = load_words()
SETTING = SessionSetting(TUNE, TUNE.fingering.box, RULES, WORDS, partial(key_words, WORDS), length=1200.0)
PITCHES = sorted({note.pitch for note in TUNE.round.notes})
FEW = settings(
    max_examples=9, stateful_step_count=40, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True
)


# Mostly so; otherwise one in five.
MOSTLY = st.sampled_from([True, True, True, True, False])
BEGIN_AGAIN = [Action.AGAIN, Action.ON, Action.BACK]
OPENING: list[Asked] = [Action.HELP, Action.TUNES, Action.SETTINGS, Action.QUIT, Nav.LEAVE, Nav.LEAVE]
NOTES = st.integers(0, len(TUNE.round.notes) - 1)
CHOSEN: st.SearchStrategy[Asked] = (
    st.builds(ChosenNotes, NOTES, NOTES)
    | st.builds(ChosenBar, st.integers(0, 12))
    | st.builds(ChosenTempo, st.sampled_from([1, 40, 60, 61.5, 100, 900]))
)
KEYS: list[Asked] = [*Action, *Nav, *OPENING, *OPENING, Typed("a"), Typed("\b")]


def seen(state: SessionState) -> str:
    """A state in words, live marks and all."""
    live = [(one.live.cursor, one.live.marks, dict(one.verdicts)) for one in state.in_play]
    return repr((state.mode, state.sound, state.around, state.players, state.evening, state.sentence, state.kept, live))


class Steps(RuleBasedStateMachine):
    """The machine without devices."""

    @initialize(demonstration=st.booleans(), sound=MOSTLY, shown=MOSTLY, played=st.sampled_from([0.0, 24.99 * 60.0]))
    def begin(self, demonstration: bool, sound: bool, shown: bool, played: float) -> None:
        around = Surroundings(sound, demonstration, can_hear=True, seen=shown)
        self.now = 5.0
        self.queued = 0.0
        self.tape: list[Heard] = []
        self.kept: list[KeepRound] = []
        first = start(LESSON, RULES)
        self.stored = {False: first, True: first}
        self.state = session_machine.start(SETTING, (first, first), Evening(played, self.now), around, self.now)
        self.practised = 0.0

    def tell(self, told: Told) -> tuple[Order, ...]:
        """Tell it twice: it must do the same both times, and leave what it was told of as it was."""
        before = seen(self.state)
        again = copy.copy(self.state)
        state, orders = session_machine.step(SETTING, self.state, self.now, told)
        assert seen(self.state) == before
        other, same = session_machine.step(SETTING, again, self.now, told)
        assert seen(other) == seen(state)
        assert [type(one) for one in same] == [type(one) for one in orders]
        self.state = state
        for order in orders:
            self.do(order)
        return orders

    def do(self, order: Order) -> None:
        """What the devices would do."""
        if isinstance(order, SoundRound):
            assert self.state.mode is Mode.PLAYING
            assert self.state.page is Page.NONE
            plan = order.plan
            if plan.clocked:
                assert plan.begins >= self.queued - 1e-6, "it would sound over what is queued"
                self.queued = plan.ends
            self.tell(RoundLaid(plan))
        elif isinstance(order, RelayRound):
            (one,) = self.state.in_play
            assert self.now - 1e-6 <= order.plan.timeline.seconds(order.since) <= one.plan.ends + 1e-6
            self.queued = order.plan.ends
            self.tell(RoundRelaid(order.plan))
        elif isinstance(order, ChangeLevel):
            self.tell(LevelIs(50))
        elif isinstance(order, Silence):
            self.queued = 0.0
        elif isinstance(order, KeepRound):
            self.kept.append(order)
            self.stored[order.kept.standin] = order.state
        elif isinstance(order, KeepState):
            self.stored[order.demonstration] = order.state
        elif isinstance(order, SwitchDemonstration):
            around = self.state.around
            self.tell(Surroundings(around.sound, order.on, around.can_hear, around.seen))
        elif isinstance(order, ChangeLook):
            self.tell(LookIs(order.action, Look()))

    def go_on(self) -> tuple[Order, ...]:
        """Time has gone by."""
        tape = tuple(self.tape)
        orders = self.tell(Tick(tape))
        if self.state.page is Page.NONE:
            orders += self.tell(Free(tape, free=max(self.queued, self.now)))
        return orders

    @rule(seconds=st.sampled_from([0.02, 0.2, 1.0, 4.0, 30.0]))
    def time_goes_by(self, seconds: float) -> None:
        self.now += seconds
        self.go_on()

    @rule(pitch=st.sampled_from([30, *PITCHES]))
    def a_note(self, pitch: int) -> None:
        self.now += 0.1
        note = Heard(self.now, pitch, end=self.now + 0.1)
        self.tape.append(note)
        self.tell(NoteCame(note))
        self.go_on()

    @precondition(lambda self: self.state.in_play)
    @rule(slip=st.booleans())
    def a_round_is_played(self, slip: bool) -> None:
        plan = self.state.in_play[-1].plan
        for number, asked in enumerate(plan.asked):
            if not self.state.in_play:
                return
            at = plan.timeline.seconds(asked.at) if plan.clocked else self.now + 0.3
            self.now = max(self.now + 0.001, at)
            note = Heard(self.now, asked.pitch + (slip and number == 1), end=self.now + 0.1)
            self.tape.append(note)
            self.tell(NoteCame(note))
            self.go_on()
        self.now = max(self.now, plan.ends if plan.clocked else self.now) + 0.3
        self.go_on()

    @rule(asked=st.sampled_from([*Action, *Nav, *[Action.PAUSE] * 5, *BEGIN_AGAIN * 2]))
    def a_wish(self, asked: Asked) -> None:
        was = self.state.mode
        self.tell(Wish(asked))
        if asked in BEGIN_AGAIN and was is not Mode.NO_SOUND:
            assert self.state.mode is Mode.PLAYING
        elif asked is Action.PAUSE:
            assert self.state.mode is (Mode.PAUSED if was is Mode.PLAYING else Mode.PLAYING)
        self.go_on()

    @rule(asked=CHOSEN)
    def something_is_chosen(self, asked: Asked) -> None:
        self.tell(Wish(asked))
        self.go_on()
        if isinstance(asked, ChosenNotes) and self.state.mode is Mode.PLAYING and self.state.page is Page.NONE:
            own = self.state.own
            assert own is not None
            assert (own.piece.first, own.piece.last) == tuple(sorted((asked.first, asked.last)))

    @rule(sound=MOSTLY, demonstration=st.booleans(), can_hear=MOSTLY)
    def devices(self, sound: bool, demonstration: bool, can_hear: bool) -> None:
        self.tell(Surroundings(sound, demonstration, can_hear or demonstration, self.state.around.seen))
        self.go_on()

    @rule(page=st.sampled_from([Page.BREAK, Page.OTHER]), pitches=st.lists(st.sampled_from(PITCHES), max_size=3))
    def a_page_is_opened_and_closed(self, page: Page, pitches: list[int]) -> None:
        self.tell(PageIs(page))
        self.go_on()
        for pitch in pitches:
            self.a_note(pitch)
        self.tell(PageIs(Page.NONE))
        self.go_on()

    @rule()
    def the_instrument_moves(self) -> None:
        self.tell(PortMoved())

    @rule(what=st.sampled_from(["channel", "heard", "confirmed"]), n=st.sampled_from([-12, 3]))
    def it_is_known_better(self, what: str, n: int) -> None:
        self.tell(InstrumentLearnt(what, n))

    @invariant()
    def nothing_practised_is_lost(self) -> None:
        """Each marked round was ordered to be kept, and what the record has last is where the player stands."""
        assert list(self.state.kept) == [one.kept for one in self.kept]
        practised = sum(one.practised for one in self.state.players)
        assert practised >= self.practised - 1e-6 or self.state.player.practised == 0.0  # a new sitting was begun
        self.practised = practised

    @invariant()
    def it_waits_for_a_sound_device_only_while_there_is_none(self) -> None:
        if self.state.mode is Mode.NO_SOUND:
            assert not self.state.around.sound

    @invariant()
    def rounds_are_in_play_only_while_it_plays(self) -> None:
        if self.state.mode is not Mode.PLAYING or self.state.page is Page.OTHER:
            assert not self.state.in_play
        assert len(self.state.in_play) <= 2

    @invariant()
    def the_rest_comes(self) -> None:
        """Where it is due and somebody sees it, no other round is begun before it was offered."""
        state = self.state
        ready = state.mode is Mode.PLAYING and state.page is Page.NONE and not state.in_play and state.around.seen
        if ready and rest_due(state.evening, RULES):
            assert any(isinstance(order, ShowRest) for order in self.go_on())

    def teardown(self) -> None:
        """From wherever it is, it can be played on; and left."""
        if not hasattr(self, "state") or self.state.mode is Mode.OVER:
            return
        self.tell(PageIs(Page.NONE))
        if self.state.free:
            self.tell(Wish(Action.LESSON))
        for _ in range(3):
            if self.state.mode is not Mode.PLAYING:
                self.tell(Wish(Action.PAUSE))
            self.now += 0.05
            orders = self.go_on()
            if any(isinstance(order, SoundRound) for order in orders) or self.state.in_play:
                break
        assert self.state.mode is Mode.OVER or self.state.in_play
        if self.state.mode is not Mode.OVER:
            self.tell(Wish(Nav.LEAVE))
            assert self.state.mode is Mode.PAUSED
            assert any(isinstance(order, AskToLeave) for order in self.tell(Wish(Nav.LEAVE)))
            self.tell(Ended())
            assert self.state.mode is Mode.OVER
        assert session_machine.step(SETTING, self.state, self.now, Wish(Action.PAUSE)) == (self.state, ())


def test_the_machine_keeps_its_promises_in_any_order() -> None:
    run_state_machine_as_test(Steps, settings=FEW)


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    shelf = Shelf([demo_book()], "bc-21")
    yield shelf
    shelf.close()


class Evenings(RuleBasedStateMachine):
    """A whole session with its pages, on wound devices."""

    shelf: Shelf

    @initialize(demonstration=st.booleans())
    def sit_down(self, demonstration: bool) -> None:
        self.folder = Path(tempfile.mkdtemp())
        self.bench = bench = Bench(self.folder, calm_wait=4.0, length=300.0)
        bench.player.standin_on = demonstration
        bench.pages.shelf = self.shelf
        self.bench.begun = lambda plan: None if bench.player.standin_on else bench.player.play(plan, 0.0)

    def ended(self) -> bool:
        return self.bench.session.over

    @rule(
        asked=st.lists(st.sampled_from([*Action, *Nav, *OPENING * 2, Typed("a"), Typed("\b")]), min_size=1, max_size=3)
    )
    def keys(self, asked: list[Asked]) -> None:
        for one in asked:
            was = self.bench.pages.shown(self.bench.speaker.time)
            self.bench.window.wanted = [one]
            self.bench.wind(0.1, step=0.05)
            now = self.bench.pages.shown(self.bench.speaker.time)
            if one is Nav.LEAVE and was is not None and not isinstance(now, LeavePage) and not self.ended():
                assert type(now) is not type(was), "Esc closes nothing"

    @rule(asked=CHOSEN)
    def something_is_chosen(self, asked: Asked) -> None:
        self.bench.window.wanted = [asked]
        self.bench.wind(1.0, step=0.05)

    @rule(seconds=st.sampled_from([0.5, 5.0, 20.0]))
    def practise(self, seconds: float) -> None:
        self.bench.wind(seconds, step=0.05)

    @rule(wrong=st.booleans())
    def how_it_is_played(self, wrong: bool) -> None:
        if wrong:
            self.bench.player.choose = lambda going, asked: Heard(exactly(going, asked).seconds, asked.pitch + 1)  # type: ignore[union-attr]
        else:
            self.bench.player.choose = exactly

    @rule(there=st.booleans())
    def the_instrument_is_plugged(self, there: bool) -> None:
        self.bench.player.tidings = [PortNews(self.bench.speaker.time, there)]
        self.bench.wind(0.1)

    @rule(missing=st.sampled_from(["", "No sound device."]))
    def the_sound_is_plugged(self, missing: str) -> None:
        self.bench.speaker.missing = missing
        self.bench.wind(0.1)

    @invariant()
    def each_round_is_in_the_record(self) -> None:
        if hasattr(self, "bench"):
            assert self.bench.record.rounds(self.bench.tune) == len(self.bench.session.rounds)

    def teardown(self) -> None:
        """Esc leads back from wherever it is, at most once a page, to the question; and from there out."""
        if not hasattr(self, "bench"):
            return
        bench = self.bench
        bench.speaker.missing = ""
        for _ in range(6):
            if bench.session.over or (bench.window.pages and self.asked()):
                break
            self.keys([Nav.LEAVE])
        if not bench.session.over:
            assert self.asked(), "Esc does not lead back"
            self.keys([Nav.LEAVE])
            assert not self.asked()
            self.keys([Action.QUIT, Action.ON])
        assert bench.session.over
        bench.session.finish()
        bench.record.close()
        again = Bench(self.folder)
        stored = {who: again.session.state.players[who].first for who in (False, True)}
        for who, player in enumerate(bench.session.state.players):
            if player.sitting is not None and any(one.standin == bool(who) for one in bench.session.rounds):
                assert stored[bool(who)].standings == player.state.standings
        again.record.close()
        bench.pages.close()
        shutil.rmtree(self.folder)

    def asked(self) -> bool:
        """Whether the question is on the screen."""
        return isinstance(self.bench.pages.shown(self.bench.speaker.time), LeavePage)


def test_an_evening_keeps_its_promises_in_any_order(shelf: Shelf) -> None:
    Evenings.shelf = shelf
    run_state_machine_as_test(Evenings, settings=settings(FEW, max_examples=10, stateful_step_count=20))
