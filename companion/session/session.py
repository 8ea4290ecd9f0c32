"""One practice session: rounds are asked, sounded, heard, marked, kept, and the next one follows from the marks.

One thread runs all of it; the sound device and the MIDI driver have threads of their own and hand over through queues.
What time it is, the speaker says. What comes next, `companion.practice.machine` says.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from enum import Enum

from companion.box.box_values import Box
from companion.input.listening import Listening
from companion.lesson.lesson_rules import LessonRules
from companion.marking.live import LiveMarker
from companion.marking.mark_values import Heard
from companion.marking.marks import mark
from companion.marking.melody import melody
from companion.marking.shift import ENOUGH
from companion.marking.two_hands import TwoHands
from companion.pages.break_page import sitting_gains
from companion.pages.end_pages import EndPages
from companion.pages.pages import Pages
from companion.pages.practice_page import RoundContext, practice_page
from companion.playback.round_renderer import RoundRenderer
from companion.practice import evening, machine
from companion.practice.evening import Evening
from companion.practice.player_state import IN_ORDER, IN_TIME, LISTEN, Outcome, PlayerState, RoundTask, goal, task
from companion.practice.round_plan import RoundPlan, TuneInHand, begin
from companion.practice.sitting import Change
from companion.screen.actions import IN_PLAY, LOOKS, Action, Asked, Nav
from companion.screen.card import key_words
from companion.screen.page_values import BreakPage, PracticePage
from companion.screen.window import Window
from companion.screen.words import Say, load_words
from companion.session.change_sentences import of_change
from companion.session.memory import trim
from companion.session.round_in_play import RoundInPlay, judged, longest, round_of
from companion.session.tracker import Tracker
from companion.sound.speaker import Speaker
from companion.store.record import Record, RoundKept

LEAD = 0.2  # seconds before a seam at which the next round is settled and queued
GRACE = 0.25  # seconds after a round for which its last note is waited for
CARE = 12.0  # seconds for which a caution is shown
HEART = (0.4, 0.7)  # where in a round, as shares of its length, the picture that is left behind is taken
FRAME = 1 / 60  # seconds between two pictures
UNSEEN = 1 / 20  # ... where nobody sees them
STILL, STILL_LOOK = 0.1, 0.01  # the same two where nothing moves: paused, or on another page
FIRST = 48  # notes of a round, both hands', by which it is told whether the instrument sounds at another pitch
LOOK = 0.002  # seconds between two looks whether a note or a key has come in


class Mode(Enum):
    """Whether rounds follow each other, or what they wait for."""

    PLAYING = "playing"
    PAUSED = "paused"  # for the player to go on
    IDLE = "idle"  # paused by itself, since nobody played: a note goes on too
    NO_SOUND = "no sound"  # for the sound device to come back


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
    """A session on one tune. `run` it; afterwards `rounds` and `listening.taken` hold what was played."""

    def __init__(
        self,
        course: TuneInHand,
        box: Box,
        rules: LessonRules,
        states: dict[bool, PlayerState],
        devices: Devices,
        words: Say,
        pages: Pages | None = None,
        length: float | None = None,
        *,
        review: bool = False,
        evening: Evening | None = None,
    ) -> None:
        self.course, self.box, self.rules, self.words = course, box, rules, words
        self.evening = evening or Evening()  # how long it has been played, over all the tunes
        self.devices = devices
        self.pages = pages or Pages(devices.window, words)
        self.rounds: list[RoundKept] = []
        self.over = False
        self.quitted = False  # by the player
        self.where = Tracker(rules, states, devices.record, devices.sitting, length, review=review)
        self._review = review
        self._closing = EndPages(course, words, self.pages, seen=not (devices.window.missing or review))
        self._underway: list[RoundInPlay] = []
        self._asked: RoundTask | None = None  # the task of the round begun last
        self._number = 0
        self._first = 0  # the first heard note that belongs to no round yet
        self._sentence = ""
        self._mode = Mode.PLAYING
        self._page = False  # whether another page was shown last
        self._unheard = bool(devices.speaker.missing)  # that there is no sound is known: it is gone on without it
        self._click = True
        self._began = self._stirred = devices.speaker.now()  # `_stirred`: when the player last did anything
        self.pages.gained = lambda: self.gains if self._mine else ()
        self._best: PracticePage | None = None

    @property
    def standin(self) -> bool:
        """Whether the stand-in player plays."""
        return self.devices.listening.standin_on

    @property
    def state(self) -> PlayerState:
        """Where whoever plays now stands."""
        return self.where.state(self.standin)

    def run(self, seconds: float | None = None) -> None:
        """Go on until the player stops, or for `seconds`."""
        self._warm_up()
        frame = UNSEEN if self.devices.window.missing else FRAME
        until = None if seconds is None else time.monotonic() + seconds
        due = time.monotonic()
        while not self.over and (until is None or time.monotonic() < until):
            self.step()
            still = self._mode is not Mode.PLAYING or self.pages.open
            due = max(due + (STILL if still else frame), time.monotonic())
            # A note that comes in, or a key, is not kept waiting for its frame.
            while (left := due - time.monotonic()) > 0 and not self._waiting:
                time.sleep(min(STILL_LOOK if still else LOOK, left))

    @property
    def _waiting(self) -> bool:
        """Whether something has come in that must be seen to at once."""
        if self.devices.listening.waiting or self.devices.window.waiting:
            return True
        return any(one.hands.due(self.devices.speaker.now()) for one in self._underway)

    def _warm_up(self) -> None:
        """Draw, render and mark once before anything sounds: the first time takes long."""
        going = begin(self.course, self._task(), 1, 0.0, 1)
        self.devices.sounding.render(self.course, going)
        heard = [Heard(going.timeline.seconds(one.at), one.pitch) for one in going.asked]
        for timeline in (None, going.timeline):
            mark(
                going.asked,
                heard,
                timeline=timeline,
                fingering=self.course.fingering,
                beat=self.course.beat,
                rules=self.course.marking,
            )
        lead = float(going.count_in) * going.timeline.whole
        around = self._around()
        # Without its cautions the window is laid out anew, in other sizes.
        for seconds, told in ((0.0, replace(around, caution="")), (0.0, around), (lead + 0.1, around)):
            seen = practice_page(self.course, going, seconds, {}, None, told, self.words)
            self.devices.window.show(replace(seen, sentence=self.words("said_listen")))

    def step(self) -> None:
        """One pass: what was asked for, what was heard, what is over, what comes next, what is seen."""
        now = self.devices.speaker.now()
        for asked in self.pages.asked():
            self._stirred = now
            self._act(asked)
        self.quitted = self.quitted or self.pages.left
        self.over = self.over or self.quitted or self.pages.wanted is not None or self.pages.ended
        if self.pages.interrupts and self._underway:
            self._drop()
        self._look_after_sound()
        self._listen(now)
        self._look_after_quiet(now)
        self.pages.heard(self.devices.listening.came, self.devices.listening.meant, self._longest)
        self._close(now)
        if self._mode is Mode.PLAYING and not self.pages.open:
            self._plan(now)
        self._show(now)

    def finish(self) -> None:
        """Silence, and the end of the sitting in the record."""
        self._drop()
        self.devices.record.end(self.devices.sitting)

    def picture(self) -> PracticePage | None:
        """The moment that shows the session best: the heart of its last round in time, with verdicts."""
        return self._best

    def _look_after_sound(self) -> None:
        """A round in which the sound device went is dropped; what comes next waits until it is back."""
        missing = bool(self.devices.speaker.missing)
        if missing and not self._unheard and self._mode is Mode.PLAYING:
            self._drop()
            self._mode = Mode.NO_SOUND
        elif not missing:
            self._unheard = False
            if self._mode is Mode.NO_SOUND:
                self._mode = Mode.PLAYING

    def _look_after_quiet(self, now: float) -> None:
        """Pause where a player who could be heard has not played for long, and say so."""
        if self._mode is not Mode.PLAYING or self.pages.open or not self.devices.listening.can_hear:
            self._stirred = now if self._mode is Mode.PLAYING else self._stirred
            return
        minutes = self.rules.idle_minutes
        if now - self._stirred < minutes * 60:
            return
        self._drop(self._stirred)
        self._mode = Mode.IDLE
        self._sentence = self.words("said_idle", n=max(1, round(minutes)), key=key_words(load_words(), Action.PAUSE))

    # What is heard

    def _listen(self, now: float) -> None:
        if self.devices.listening.news() and not self.standin:
            self._drop()  # a round in which the instrument went or came is no round of the player's
        came = self.devices.listening.new(self.devices.speaker.time_of)
        if came:
            self._stirred = now
            self.evening = evening.heard(self.evening, now, self.rules)
            if self._mode is Mode.IDLE and not self.pages.open:
                self._restart(self.state)
                return
        for heard in came:
            one = round_of(self._underway, heard)
            if one is None:
                continue
            one.last_heard = now
            one.hands.hear(heard)
            if not one.standin and self._learn_instrument(one, heard):
                return
        for one in self._underway:
            one.hands.until(now)
            if not one.marked:
                one.verdicts = dict(one.live.verdicts)

    def _learn_instrument(self, one: RoundInPlay, heard: Heard) -> bool:
        """Learn what the player's instrument sends; whether the round is begun again for it, unmarked."""
        known, asked = self.devices.listening.known, one.going.asked
        if known.learn_channel(asked, [heard]):
            self._sentence = self.words("said_channel", n=(known.channel or 0) + 1)
            self._drop()
            return True
        news = ""
        if len(one.first) < FIRST:
            one.first.append(heard)
            if len(one.first) % ENOUGH == 0:
                news = known.learn_shift(asked, [one.first[j] for j in melody(one.first, asked)])
        if news:
            shift = known.guess if news == "heard" else known.shift
            where = self.words("higher" if shift > 0 else "lower")
            self._sentence = self.words(f"said_shift_{news}", n=abs(shift), where=where)
            self._drop()
        return bool(news)

    def _longest(self, pitch: int) -> float:
        return longest(self._underway, pitch)

    # What is over

    def _close(self, now: float) -> None:
        for one in list(self._underway):
            going = one.going
            if going.clocked:
                if not one.marked and now >= going.ends + GRACE and not self.pages.in_doubt(self._longest):
                    self._mark(one, now)
                if one.marked and now >= going.ends:
                    self._underway.remove(one)
            elif one.played_out(now):
                self._mark(one, now)
                self._underway.remove(one)

    def _mark(self, one: RoundInPlay, now: float) -> None:
        """Mark a round: what it does to where the player stands, to the record, and what is said."""
        one.marked = True
        going, seconds = one.going, one.seconds(now)
        heard = self._taken(going)
        if not self.devices.listening.can_hear:
            self.evening = evening.unheard(self.evening, now - seconds, now, self.rules)
        if going.task.step == LISTEN:
            self._stirred = now
            self._take_on(self.where.listened(self.standin, Outcome(going.task, True), seconds), going)
            return
        found = judged(one, heard, seconds, self.course, self.words)
        self._sentence = found.said
        if found.marks is None or found.outcome is None:
            self._take_on(self.where.silent(one.standin, going.task, seconds), going)
            return
        one.verdicts = found.verdicts
        if one.standin:
            self.devices.listening.learn(found.marks)
        bpm = going.timeline.bpm if going.clocked else None
        kept = RoundKept(going.task.piece.name, going.task.step, bpm, one.standin, found.marks)
        self.rounds.append(kept)
        change = self.where.played(one.standin, found.outcome, kept, seconds)
        if one.standin == self.standin:
            self._take_on(change, going)

    def _taken(self, going: RoundPlan) -> list[Heard]:
        """The heard notes of a round; those before it began are no one's."""
        taken, gone = self.devices.listening.taken, self.devices.listening.forgotten
        heard = []
        self._first = max(self._first, gone)
        while self._first < gone + len(taken) and going.within(taken[self._first - gone]):
            note = taken[self._first - gone]
            if not going.clocked or note.seconds >= going.opens:
                heard.append(note)
            self._first += 1
        return heard

    @property
    def _came(self) -> int:
        """How many notes have come in since the session began."""
        return self.devices.listening.forgotten + len(self.devices.listening.taken)

    def _take_on(self, change: Change, going: RoundPlan) -> None:
        """Say what is new, and show the page that belongs to it."""
        said = of_change(change, self.course.round, self.rules, self.words)
        step = task(change.after, self.rules).step
        if said:
            self._sentence = said
        elif self._sentence == self.words("said_clean") and step == IN_TIME and change.after.piece.times == 1:
            left = machine.needed(change.after, self.rules) - change.after.standing.clean
            if left > 0:
                at_goal = change.after.standing.rung == goal(change.after, self.rules)
                self._sentence = self.words("said_clean_good" if at_goal else "said_clean_more", n=left)
        piece, first = going.task.piece, self.where.first[self.standin]
        if self._rest_due and change.what != "over":
            return  # the page for the rest comes instead
        self.over = self._closing.show(change, piece, self._mine, first, self.rules) or self.over

    @property
    def _mine(self) -> list[RoundKept]:
        """The rounds of this sitting by whoever plays now."""
        return [one for one in self.rounds if one.standin == self.standin]

    @property
    def gains(self) -> tuple[str, ...]:
        """What the sitting has brought whoever plays now."""
        return sitting_gains(self.course, self.where.first[self.standin], self.state, self._mine, self.words)

    # What comes next

    def _plan(self, now: float) -> None:
        last = self._underway[-1] if self._underway else None
        if self._rest_due:
            if last is None:
                self._rest()
            return
        if last is not None:
            if not last.going.clocked or now < last.going.ends - LEAD:
                return
            all_heard = None not in last.live.marks and not self.pages.in_doubt(self._longest)
            if not last.marked and (all_heard or last.going.task.step == LISTEN):
                self._mark(last, now)
                if self.pages.open:
                    return
        if self.where.over(self.standin) and not self.pages.ended:
            self.where.longer(self.standin)  # the player has gone on
        asked = self._task()
        if asked.step == IN_ORDER and last is not None and now < last.going.ends:
            return
        self._begin(asked)

    @property
    def _rest_due(self) -> bool:
        """Whether it is time for a rest, and somebody sees the page that says so."""
        return not self.devices.window.missing and evening.rest_due(self.evening, self.rules)

    def _rest(self) -> None:
        """Show the page for a rest, and begin with a count-in after it."""
        played = round(self.evening.played / 60)
        self.evening = evening.offered(self.evening)
        piece = self._asked.piece if self._asked is not None else self.state.piece
        self._closing.rest(self.state, piece, self._mine, self.rules, played)

    def _task(self) -> RoundTask:
        """What the next round asks. Where nobody can be heard, the piece is played on, in time."""
        asked = task(self.state, self.rules)
        return asked if self.devices.listening.can_hear else replace(asked, step=IN_TIME)

    def _begin(self, asked: RoundTask) -> None:
        changed = asked != self._asked or not self._underway
        self._number = 1 if changed else self._number + 1
        self._asked = asked
        if not self._underway:  # what was played on another page, or while it was paused, is no one's
            self._first = self._came
        speaker = self.devices.speaker
        origin = speaker.queued_until() / speaker.rate
        going = begin(self.course, asked, self._number, origin, count_in_bars=1 if changed else 0)
        if going.clocked:
            going = self.devices.sounding.queue(speaker, self.course, going, self._click)
        else:
            going = replace(going, timeline=going.timeline.moved(speaker.now()))
        live = LiveMarker(going.asked, going.timeline if going.clocked else None, self.course.marking)
        one = RoundInPlay(going, live, TwoHands(live, going.asked, self.course.lowest), self.standin)
        self._underway.append(one)
        if self.standin and asked.step != LISTEN:
            ahead = time.perf_counter() - speaker.time_of(time.perf_counter())
            self.devices.listening.play(going, ahead)

    def _drop(self, until: float | None = None) -> None:
        """Stop the round under way, unmarked. What was played of it counts as practised, up to `until` (None: now)."""
        until = self.devices.speaker.now() if until is None else until
        for one in self._underway:
            if not one.marked:
                ends = min(until, one.going.ends) if one.going.clocked else until
                self.where.broken_off(one.standin, max(0.0, ends - one.going.begins))
        self.devices.listening.stop()
        self.devices.speaker.cut()
        self._underway.clear()
        self._first = self._came

    # What the player asks for

    def _act(self, action: Asked) -> None:
        if action in LOOKS:
            self._look(Action(action))
        elif action is Nav.LEAVE and self._mode is not Mode.PLAYING:
            self.pages.ask_to_leave()
        elif action is Action.PAUSE and self._mode is Mode.NO_SOUND:
            self._unheard, self._mode = True, Mode.PLAYING  # the player would rather go on without sound
        elif action in (Action.PAUSE, Nav.LEAVE):
            self._drop()
            self._mode = Mode.PAUSED if self._mode is Mode.PLAYING else Mode.PLAYING
        elif action is Action.STANDIN:
            self._drop()
            self.devices.listening.standin_on = not self.devices.listening.standin_on
        elif action is Action.CLICK:
            self._click = not self._click
            self.devices.sounding.click(self.devices.speaker, self._click)
        elif action is Action.AGAIN:
            self._restart(self.state)
        elif action is Action.ON and self._review:
            self.over = True  # the tune that only came back has been seen
        elif action is Action.ON:
            self._restart(machine.go_on(self.state))
        elif action is Action.BACK:
            self._restart(machine.go_back(self.state))
        elif action is Action.FASTER:
            self._retime(machine.faster(self.state, self.rules))
        elif action is Action.SLOWER:
            self._retime(machine.slower(self.state, self.rules))

    def _retime(self, state: PlayerState) -> None:
        """Another tempo: from the next round on where one in time sounds, so that the pulse goes on; else at once."""
        under_way = self._underway and self._underway[-1].going.task.step == IN_TIME
        if not under_way or self._mode is not Mode.PLAYING:
            self._restart(state)
            return
        self.where.wish(self.standin, state)

    def _restart(self, state: PlayerState) -> None:
        """Begin with a new state, from its count-in."""
        self._drop()
        if self._mode is not Mode.NO_SOUND:
            self._mode = Mode.PLAYING
        self._sentence = ""
        self.where.wish(self.standin, state)

    def _look(self, action: Action) -> None:
        """Change how the window looks. What turns the picture round is done on the pause card only, and said."""
        if self._mode is Mode.PLAYING and action not in IN_PLAY:
            self._sentence = self.words("said_look_paused")
            return
        window = self.devices.window
        window.change_look(action)
        key, look = key_words(load_words(), action), window.look
        if action is Action.LEFT_HANDED:
            self._sentence = self.words("said_left_handed" if look.left_handed else "said_right_handed", key=key)
        elif action is Action.FACING:
            self._sentence = self.words(f"said_facing_{look.facing.value}", key=key)
        elif action is Action.MOTION:
            self._sentence = self.words("said_motion_less" if look.reduced_motion else "said_motion_full", key=key)

    # What is seen

    def _show(self, now: float) -> None:
        page = self.pages.shown(now)
        if page is not None:
            if isinstance(page, BreakPage):
                around = self._around()
                page = replace(page, notices=around.notices, caution=page.caution or around.caution)
            self.devices.window.show(page)
            self._page = True
            return
        if self._page:
            self._page = False
            trim()  # a page leaves much behind, and nothing moves yet
        one = self._seen(now)
        if one is None:
            shown = begin(self.course, self._task(), 1, now, 0)
            seen = practice_page(self.course, shown, now, {}, None if shown.clocked else 0, self._around(), self.words)
        else:
            cursor = None if one.going.clocked or one.live.done else one.live.cursor
            seen = practice_page(self.course, one.going, now, one.verdicts, cursor, self._around(), self.words)
            if one.going.task.step == IN_TIME and one.verdicts and HEART[0] < seen.now / seen.length < HEART[1]:
                self._best = seen
        self.devices.window.show(seen)

    def _seen(self, now: float) -> RoundInPlay | None:
        """The round to show: the last one that has begun."""
        begun = [one for one in self._underway if one.going.begins <= now]
        return begun[-1] if begun else (self._underway[0] if self._underway else None)

    def _around(self) -> RoundContext:
        caution = ""
        if evening.rest_due(self.evening, self.rules):
            caution = self.words("care_break")
        elif self.evening.played < CARE and self.devices.speaker.now() - self._began < CARE:
            caution = self.words("care_start")
        speaker, listening = self.devices.speaker, self.devices.listening
        notices = (speaker.missing, speaker.unkept, listening.notice(self.words))
        return RoundContext(
            self.box,
            self.state,
            machine.needed(self.state, self.rules),
            self.where.following(self.standin),
            self._sentence,
            self.standin,
            self._mode is not Mode.PLAYING,
            tuple(notice for notice in notices if notice),
            caution,
        )
