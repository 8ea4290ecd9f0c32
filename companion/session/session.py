"""One practice session with its devices: tells the machine what happens, does what it orders, shows where it is.

One thread runs all of it; the sound device and the MIDI driver have threads of their own and hand over through queues.
What time it is, the speaker says. What follows from what, `companion.session.session_machine` says.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from companion.input.listening import Listening
from companion.marking.mark_values import Heard
from companion.marking.marks import mark
from companion.pages.bars_known import tune_map
from companion.pages.pages import Pages
from companion.pages.practice_page import RoundContext, free_page, practice_page
from companion.playback.round_renderer import RoundRenderer
from companion.practice import evening, machine
from companion.practice.evening import Evening
from companion.practice.player_state import IN_TIME, PlayerState
from companion.practice.round_plan import begin
from companion.practice.state_json import to_plain
from companion.screen.page_values import BreakPage, PracticePage, RoundChoice, Shown, TuneMap
from companion.screen.window import Window
from companion.session import session_machine
from companion.session.memory import trim
from companion.session.round_choices import RoundChoices
from companion.session.round_in_play import due, longest, note_now, playing, round_of, seen_round, still_asked
from companion.session.round_steps import gains
from companion.session.session_state import (
    AskToLeave,
    ChangeLevel,
    ChangeLook,
    Demonstrate,
    DemonstrationLearns,
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
    ShowBreak,
    ShowFarewell,
    ShowRest,
    Silence,
    SoundRound,
    Surroundings,
    SwitchClick,
    SwitchDemonstration,
    Tick,
    Told,
    Wish,
)
from companion.sound.speaker import Speaker
from companion.store.record import Record, RoundKept

NOTICED = 8.0  # seconds for which a notice on a device is shown in words
ANSWERED = 6.0  # seconds for which the answer to a wrong note comes before a caution
CARE = 12.0  # seconds for which a caution is shown
HEART = (0.4, 0.7)  # where in a round, as shares of its length, the picture that is left behind is taken
FRAME = 1 / 60  # seconds between two pictures
UNSEEN = 1 / 20  # ... where nobody sees them
STILL, STILL_LOOK = 0.1, 0.01  # the same two where nothing moves: paused, or on another page
LOOK = 0.002  # seconds between two looks whether a note or a key has come in


@dataclass(frozen=True, slots=True)
class Devices:
    """What the session plays on, listens to, shows and keeps."""

    speaker: Speaker
    sounding: RoundRenderer
    listening: Listening
    window: Window
    record: Record
    sitting: int


class Session:
    """A session on one tune. `run` it; afterwards `rounds` and `listening.taken` hold what was played.

    Parameters
    ----------
    states : where the player (False) and the demonstration (True) stand, as the record has them.
    evening : how long it has been played, over all the tunes. `choices` : what the player has chosen before.

    Attributes
    ----------
    state : where it is.
    change_level : makes everything louder or softer, by so many steps, and gives the level, in per cent.
    watch : called with each order after it is done; for whoever plays along, or looks on.
    """

    def __init__(
        self,
        setting: SessionSetting,
        states: dict[bool, PlayerState],
        devices: Devices,
        pages: Pages,
        evening: Evening | None = None,
        choices: RoundChoices | None = None,
    ) -> None:
        self.setting, self.devices, self.pages = setting, devices, pages
        self.quitted = False  # by the player
        self.watch: Callable[[Order], None] = lambda _order: None
        now = devices.speaker.now()
        begun = session_machine.start(
            setting, (states[False], states[True]), evening or Evening(), self._surroundings(), now
        )
        self.state: SessionState = replace(begun, choices=choices or RoundChoices())
        pages.gained = lambda: self.gains if self.state.mine else ()
        self.change_level: Callable[[int], int] = lambda _steps: 100
        self._ending = False
        self._expecting: tuple[object, ...] = ()
        self._noticed: tuple[tuple[str, ...], float] = ((), now)
        self._mapped: tuple[tuple[object, ...], TuneMap] | None = None
        self._worded: tuple[tuple[RoundChoices, bool], tuple[RoundChoice, ...]] | None = None
        self._on_page = False  # whether another page was shown last
        self._best: PracticePage | None = None

    @property
    def over(self) -> bool:
        """Whether the session has ended."""
        return self.state.mode is Mode.OVER

    def end_soon(self) -> None:
        """End it with the next step. May be called at any moment, by a signal's handler too."""
        self._ending = True

    @property
    def rounds(self) -> tuple[RoundKept, ...]:
        """The rounds that were marked, the player's and the demonstration's."""
        return self.state.kept

    @property
    def gains(self) -> tuple[str, ...]:
        """What the sitting has brought whoever plays now."""
        return gains(self.setting, self.state)

    @property
    def practised(self) -> float:
        """Seconds practised, by either."""
        return sum(one.practised for one in self.state.players)

    def picture(self) -> PracticePage | None:
        """The moment that shows the session best: the heart of its last round in time, with verdicts."""
        return self._best

    def run(self, seconds: float | None = None) -> None:
        """Go on until the player stops, or for `seconds`."""
        self._warm_up()
        frame = UNSEEN if self.devices.window.missing else FRAME
        until = None if seconds is None else time.monotonic() + seconds
        due = time.monotonic()
        while not self.over and (until is None or time.monotonic() < until):
            self.step()
            still = self.state.mode is not Mode.PLAYING or self.pages.open
            due = max(due + (STILL if still else frame), time.monotonic())
            # A note that comes in, or a key, is not kept waiting for its frame.
            while (left := due - time.monotonic()) > 0 and not self._waiting:
                time.sleep(min(STILL_LOOK if still else LOOK, left))

    def finish(self) -> None:
        """Silence, and the end of the sitting in the record."""
        self.tell(Ended())
        self.devices.record.end(self.devices.sitting)

    # Telling

    def step(self) -> None:
        """One pass: what was asked for, what was heard, what time it is; then what is seen."""
        pages, speaker = self.pages, self.devices.speaker
        for asked in pages.asked():
            self.tell(Wish(asked))
        self.quitted = self.quitted or pages.left
        if self.quitted or self._ending or pages.wanted is not None or pages.ended:
            self.tell(Ended())
        self._tell_changes()
        self._listen()
        asked_of = self._longest
        pages.heard(self.devices.listening.came, self.devices.listening.meant, asked_of)
        doubt = pages.in_doubt(asked_of)
        tape, forgotten = self.devices.listening.taken, self.devices.listening.forgotten
        sounded = self.devices.listening.sounded
        self.tell(Tick(tape, forgotten, doubt, sounded=sounded))
        if not pages.open:
            free = speaker.queued_until() / speaker.rate
            self.tell(Free(tape, forgotten, pages.in_doubt(asked_of), free, sounded=sounded))
        self._show(speaker.now())

    def tell(self, told: Told) -> None:
        """Tell the machine what happens, and do what it orders."""
        self.state, orders = session_machine.step(self.setting, self.state, self.devices.speaker.now(), told)
        for order in orders:
            answer = self._do(order)
            if answer is not None:
                self.tell(answer)
            self.watch(order)

    def _tell_changes(self) -> None:
        """Tell of devices that came or went, and of a page that was opened or closed."""
        around = self._surroundings()
        if around != self.state.around:
            self.tell(around)
        page = Page.OTHER if self.pages.interrupts else Page.BREAK if self.pages.open else Page.NONE
        if page is not self.state.page:
            self.tell(PageIs(page))

    def _surroundings(self) -> Surroundings:
        listening = self.devices.listening
        return Surroundings(
            sound=not self.devices.speaker.missing,
            demonstration=listening.standin_on,
            can_hear=listening.can_hear,
            seen=not self.devices.window.missing,
        )

    def _listen(self) -> None:
        listening = self.devices.listening
        if listening.news():
            self.tell(PortMoved())
        for heard in listening.new(self.devices.speaker.time_of):
            self.tell(NoteCame(heard))
            self._learn_instrument(heard)
        self._expect()

    def _expect(self) -> None:
        """Say what is asked for, where that is other than it was: a microphone hears better what it knows of."""
        rounds = () if self.state.mode is not Mode.PLAYING else playing(self.state.in_play)
        now = tuple((id(one.plan), None if one.plan.clocked else (one.live.cursor, one.last_heard)) for one in rounds)
        if now != self._expecting:
            self._expecting = now
            self.devices.listening.expect([note.pitch for one in rounds for note in still_asked(one)])

    def _learn_instrument(self, heard: Heard) -> None:
        """Learn from a note of the player's what the instrument sends."""
        one = round_of(self.state.in_play, heard)
        if one is None or one.demonstration:
            return
        known = self.devices.listening.known
        what = known.learn(one.plan.asked, heard)
        if what == "channel":
            self.tell(InstrumentLearnt(what, (known.channel or 0) + 1))
        elif what:
            self.tell(InstrumentLearnt(what, known.guess if what == "heard" else known.shift))

    def _longest(self, pitch: int) -> float:
        return longest(self.state.in_play, pitch)

    @property
    def _waiting(self) -> bool:
        """Whether something has come in that must be seen to at once."""
        if self.devices.listening.waiting or self.devices.window.waiting:
            return True
        return due(self.state.in_play, self.devices.speaker.now())

    # Doing

    def _do(self, order: Order) -> Told | None:
        """Do what is ordered; what came of it, where the machine needs to know."""
        devices, setting = self.devices, self.setting
        match order:
            case SoundRound(plan, sounds):
                if plan.clocked:
                    plan = devices.sounding.queue(devices.speaker, setting.tune, plan, sounds)
                return RoundLaid(plan)
            case RelayRound(plan, since, sounds):
                return RoundRelaid(devices.sounding.relay(devices.speaker, setting.tune, plan, since, sounds))
            case ChangeLevel(steps):
                return LevelIs(self.change_level(steps))
            case Silence():
                devices.listening.stop()
                devices.speaker.cut()
            case SwitchClick(on):
                devices.sounding.click(devices.speaker, on)
            case Demonstrate(plan):
                ahead = time.perf_counter() - devices.speaker.time_of(time.perf_counter())
                devices.listening.play(plan, ahead)
            case DemonstrationLearns(marks):
                devices.listening.learn(marks)
            case SwitchDemonstration(on):
                devices.listening.standin_on = on
                return self._surroundings()
            case KeepRound(kept, state):
                devices.record.keep(devices.sitting, kept, to_plain(state, setting.rules))
            case KeepState(state, demonstration):
                devices.record.put_state(devices.sitting, demonstration, to_plain(state, setting.rules))
            case ChangeLook(action):
                devices.window.change_look(action)
                return LookIs(action, devices.window.look)
            case ShowBreak(page):
                self.pages.calm(page)
            case ShowRest(page, why, seconds):
                self.pages.rest(page, why, seconds)
            case ShowFarewell(page, why):
                self.pages.farewell(page, why)
            case AskToLeave():
                self.pages.ask_to_leave()
        return None

    # Showing

    def _show(self, now: float) -> None:
        page = self.pages.shown(now)
        if page is not None:
            if isinstance(page, BreakPage):
                around = self._context()
                page = replace(page, notices=around.notices, caution=page.caution or around.caution)
            self.devices.window.show(page)
            self._on_page = True
            return
        if self._on_page:
            self._on_page = False
            trim()  # a page leaves much behind, and nothing moves yet
        self.devices.window.show(self._practice_page(now))

    def _practice_page(self, now: float) -> PracticePage:
        one = seen_round(self.state.in_play, now)
        tune, words = self.setting.tune, self.setting.words
        if self.state.free:
            return free_page(tune, self._context(), words)
        if one is None:
            shown = begin(tune, session_machine.asked_next(self.setting, self.state), 1, now, 0)
            return practice_page(tune, shown, now, {}, None if shown.clocked else 0, self._context(), words)
        cursor = None if one.plan.clocked or one.live.done else one.live.cursor
        verdicts = one.verdicts if self.state.marked(one) else {}
        seen = practice_page(tune, one.plan, now, verdicts, cursor, self._context(), words)
        if one.plan.task.step == IN_TIME and one.verdicts and HEART[0] < seen.now / seen.length < HEART[1]:
            self._best = seen
        return seen

    def _context(self) -> RoundContext:
        state, words, rules = self.state, self.setting.words, self.setting.rules
        caution, now = "", self.devices.speaker.now()
        if now - state.answered < ANSWERED:
            pass  # the answer is to be read first
        elif evening.rest_due(state.evening, rules):
            caution = words("care_break")
        elif state.evening.played < CARE and now - state.began < CARE:
            caution = words("care_start")
        speaker, listening = self.devices.speaker, self.devices.listening
        notices = (speaker.missing, speaker.unkept, listening.notice(words))
        own = state.own
        return RoundContext(
            self.setting.box,
            own.clean if own is not None else state.player.state.standing.clean,
            (rules.clean_needed if state.choices.climb else 0)
            if own is not None
            else machine.needed(state.player.state, rules),
            state.player.following if own is None else None,
            state.sentence,
            state.around.demonstration,
            state.mode not in (Mode.PLAYING, Mode.OVER),
            tuple(notice for notice in notices if notice),
            caution,
            state.tried,
            self._map(),
            self._choices_in_words(),
            self._shown,
            own is not None,
            self._seen_long(notices),
        )

    def _seen_long(self, notices: tuple[str, ...]) -> bool:
        """Whether the notices have stood there for so long that a sign of them is enough."""
        now = self.devices.speaker.now()
        if notices != self._noticed[0]:
            self._noticed = (notices, now)
        return now - self._noticed[1] > NOTICED

    def _choices_in_words(self) -> tuple[RoundChoice, ...]:
        """What can be chosen about the rounds; worded anew only where it has changed."""
        key = (self.state.choices, self.state.own is not None)
        if self._worded is None or self._worded[0] != key:
            self._worded = (key, key[0].listed(self.setting.words, own=key[1]))
        return self._worded[1]

    @property
    def _shown(self) -> Shown:
        """How much of the piece is shown: as the player has chosen, nothing where the lesson asks for it by heart."""
        one = seen_round(self.state.in_play, self.devices.speaker.now())
        asked = one.plan.task if one is not None else session_machine.asked_next(self.setting, self.state)
        return Shown.NOTHING if asked.by_heart else self.state.choices.shown

    def _map(self) -> TuneMap:
        """The map of the tune; made anew only where something on it has changed."""
        state, now = self.state, self.devices.speaker.now()
        one = seen_round(state.in_play, now)
        piece = state.own.piece if state.own is not None else state.player.state.piece
        at = None if one is None or state.free else note_now(one, now)
        key = (state.player.state, piece, at)
        if self._mapped is None or any(a is not b for a, b in zip(self._mapped[0], key, strict=True)):
            made = tune_map(self.setting.tune, state.player.state, piece, at, self.setting.rules)
            self._mapped = (key, made)
        return self._mapped[1]

    def _warm_up(self) -> None:
        """Draw, render and mark once before anything sounds: the first time takes long."""
        tune, words = self.setting.tune, self.setting.words
        plan = begin(tune, session_machine.asked_next(self.setting, self.state), 1, 0.0, 1)
        self.devices.sounding.render(tune, plan)
        heard = [Heard(plan.timeline.seconds(one.at), one.pitch) for one in plan.asked]
        for timeline in (None, plan.timeline):
            rules = tune.marking
            mark(plan.asked, heard, timeline=timeline, fingering=tune.fingering, beat=tune.beat, rules=rules)
        lead = float(plan.count_in) * plan.timeline.whole
        around = self._context()
        # Without its cautions the window is laid out anew, in other sizes.
        for seconds, told in ((0.0, replace(around, caution="")), (0.0, around), (lead + 0.1, around)):
            seen = practice_page(tune, plan, seconds, {}, None, told, words)
            self.devices.window.show(replace(seen, sentence=words("said_listen")))
