"""The session as a machine without devices: a state and what happens go in, the next state and orders come out.

Theory of operation
-------------------
A session practises one tune. Rounds follow each other: the next one is ordered (`SoundRound`) a moment before the one
in play ends, so that it begins at the very seam; with no clock it is ordered when the one before has been played. What
is heard goes to the round in play that it belongs to. When a round is over it is marked (`companion.marking`), the
marks move the player on (`companion.practice.machine`), the round is kept (`KeepRound`), one sentence is said, and
perhaps a page is shown. All the while one `Mode` says whether rounds follow each other or what they wait for:

    mode       begins with                                  ends with
    ---------  -------------------------------------------  ------------------------------------------------------------
    PLAYING    the session, and whatever ends the others    any line below
    PAUSED     the player's wish                            the player's wish (pause, again, on, back, faster, slower)
    IDLE       no note for `idle_minutes`                   the same, or a note
    NO_SOUND   the sound device goes                        it comes back, or the player wishes to play without it
    OVER       the last page has run out; the player left   nothing

A page over the practice (`PageIs`) breaks off the round in play, unless it is the one between two pieces; no round is
ordered while one is open (no `Free` is told then). A round that is broken off, by a page, a pause, another wish, a
device that goes or comes, is not marked and costs nobody a mistake; its seconds count as practised.

`step` is pure: the state that goes in is as it was, the same in gives the same out, no clock is read, no file opened,
no device known. The rules stand in two tables: `_TOLD` (what each thing that happens does) and `_WISHES` (what the
player can ask for).

>>> state = start(setting, (mine, the_demonstrations), Evening(), Surroundings(), now=0.0)
>>> state, orders = step(setting, state, 0.0, Free(free=0.0))
>>> [type(order).__name__ for order in orders]
['SoundRound']
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from companion.marking.mark_values import Heard
from companion.pages.break_page import break_page, sitting_gains
from companion.practice import evening, machine, player_sitting
from companion.practice.evening import Evening
from companion.practice.player_sitting import PlayerSitting
from companion.practice.player_state import IN_ORDER, IN_TIME, LISTEN, Outcome, PlayerState, RoundTask, goal, task
from companion.practice.round_plan import RoundPlan, begin
from companion.practice.sitting import Change
from companion.screen.actions import IN_PLAY, LOOKS, Action, Nav
from companion.session.change_sentences import of_change
from companion.session.round_in_play import RoundInPlay, in_play, judged, round_of
from companion.session.session_state import (
    AskToLeave,
    ChangeLook,
    Demonstrate,
    DemonstrationLearns,
    Ended,
    Free,
    InstrumentLearnt,
    KeepRound,
    KeepState,
    LookIs,
    Mode,
    NoteCame,
    Order,
    Page,
    PageIs,
    PortMoved,
    RoundLaid,
    SessionSetting,
    SessionState,
    ShowBreak,
    ShowFarewell,
    ShowRest,
    Silence,
    Sound,
    SoundRound,
    Surroundings,
    SwitchClick,
    SwitchDemonstration,
    Tick,
    Told,
    Wish,
)
from companion.store.record import RoundKept

LEAD = 0.2  # seconds before a seam at which the next round is settled and ordered
GRACE = 0.25  # seconds after a round for which its last note is waited for
MINUTE = 60.0


def start(
    setting: SessionSetting,
    states: tuple[PlayerState, PlayerState],
    evening_so_far: Evening,
    around: Surroundings,
    now: float,
) -> SessionState:
    """A session that begins at `now`; `states` are the player's own and the demonstration's, as the record has them."""
    players = tuple(PlayerSitting(state, state) for state in states)
    # Where there is no sound to begin with, the player has been told.
    sound = Sound.THERE if around.sound else Sound.DONE_WITHOUT
    state = SessionState(Mode.PLAYING, sound, around, (players[0], players[1]), evening_so_far, now, now)
    return _Step(setting, state, now).begun()


def step(
    setting: SessionSetting, state: SessionState, now: float, told: Told
) -> tuple[SessionState, tuple[Order, ...]]:
    """One step of the session.

    Parameters
    ----------
    now : seconds on the session's clock, never less than the last time.
    told : what happens.

    Returns
    -------
    The next state, and what is to be done, in that order.
    """
    if state.mode is Mode.OVER:
        return state, ()
    one = _Step(setting, state, now)
    _TOLD[type(told)](one, told)
    return one.state, tuple(one.orders)


def asked_next(setting: SessionSetting, state: SessionState) -> RoundTask:
    """What the next round asks. Where nobody can be heard, the piece is played on, in time."""
    asked = task(state.player.state, setting.rules)
    return asked if state.around.can_hear else replace(asked, step=IN_TIME)


def seen_round(state: SessionState, now: float) -> RoundInPlay | None:
    """The round to show: the last one that has begun."""
    begun = [one for one in state.in_play if one.plan.begins <= now]
    return begun[-1] if begun else (state.in_play[0] if state.in_play else None)


def gains(setting: SessionSetting, state: SessionState) -> tuple[str, ...]:
    """What the sitting has brought whoever plays now, a short sentence each."""
    player = state.player
    return sitting_gains(setting.tune, player.first, player.state, state.mine, setting.words)


class _Step:
    """One step under way: `state` is replaced as it goes, `orders` grow."""

    def __init__(self, setting: SessionSetting, state: SessionState, now: float) -> None:
        self.setting, self.state, self.now = setting, state, now
        self.orders: list[Order] = []

    def _set(self, **changes: Any) -> None:
        self.state = replace(self.state, **changes)

    def begun(self) -> SessionState:
        """The state once whoever plays now has begun a sitting."""
        if self.state.player.sitting is None:
            setting = self.setting
            self._put(player_sitting.begin(self.state.player, setting.length, setting.rules, review=setting.review))
        return self.state

    def _put(self, player: PlayerSitting, demonstration: bool | None = None) -> None:
        who = self.state.around.demonstration if demonstration is None else demonstration
        mine, other = self.state.players
        self._set(players=(mine, player) if who else (player, other))

    # What happens

    def surroundings(self, around: Surroundings) -> None:
        """A device came or went. A round in which the sound went is dropped, and the next one waits for it."""
        self._set(around=around)
        self.begun()
        state = self.state
        if around.sound:
            self._set(sound=Sound.THERE, mode=Mode.PLAYING if state.mode is Mode.NO_SOUND else state.mode)
        elif state.sound is Sound.THERE and state.mode is Mode.PLAYING:
            self._drop()
            self._set(sound=Sound.GONE, mode=Mode.NO_SOUND)

    def port_moved(self, _told: PortMoved) -> None:
        """A round in which the instrument went or came is no round of the player's."""
        if not self.state.around.demonstration:
            self._drop()

    def page(self, told: PageIs) -> None:
        """Another page lies over the practice, or none."""
        self._set(page=told.page)
        if told.page is Page.OTHER and self.state.in_play:
            self._drop()

    def note(self, told: NoteCame) -> None:
        """A note: it goes to its round; to the evening's clock; and goes on where nobody had played."""
        state = self.state
        rules = self.setting.rules
        self._set(came=state.came + 1, stirred=self.now, evening=evening.heard(state.evening, self.now, rules))
        if state.mode is Mode.IDLE and state.page is Page.NONE:
            self._restart(state.player.state)
            return
        one = round_of(state.in_play, told.note)
        if one is not None:
            self._renew(one, one.hear(told.note, self.now))

    def learnt(self, told: InstrumentLearnt) -> None:
        """The instrument is known better: the round is begun again for it, unmarked."""
        words = self.setting.words
        if told.what == "channel":
            said = words("said_channel", n=told.n)
        else:
            where = words("higher" if told.n > 0 else "lower")
            key = "said_shift_heard" if told.what == "heard" else "said_shift_confirmed"
            said = words(key, n=abs(told.n), where=where)
        self._drop()
        self._set(sentence=said)

    def look(self, told: LookIs) -> None:
        """Say what turned the picture round, and the key that turns it back."""
        words, look, key = self.setting.words, told.look, self.setting.key_of(told.action)
        if told.action is Action.LEFT_HANDED:
            self._set(sentence=words("said_left_handed" if look.left_handed else "said_right_handed", key=key))
        elif told.action is Action.FACING:
            self._set(sentence=words(f"said_facing_{look.facing.value}", key=key))
        elif told.action is Action.MOTION:
            self._set(sentence=words("said_motion_less" if look.reduced_motion else "said_motion_full", key=key))

    def laid(self, told: RoundLaid) -> None:
        """The round ordered last is queued."""
        tune, demonstration = self.setting.tune, self.state.around.demonstration
        self._set(in_play=(*self.state.in_play, in_play(told.plan, tune, demonstration=demonstration)))
        if demonstration and told.plan.task.step != LISTEN:
            self.orders.append(Demonstrate(told.plan))

    def tick(self, told: Tick) -> None:
        """Time has gone by: pause where nobody plays, decide on late notes, mark what is over."""
        self._look_after_quiet()
        for one in self.state.in_play:
            self._renew(one, one.until(self.now))
        for one in self.state.in_play:
            self._close(one, told)

    def free(self, told: Free) -> None:
        """Nothing lies over the practice: order the next round, if it is time for it."""
        if self.state.mode is not Mode.PLAYING:
            return
        last = self.state.in_play[-1] if self.state.in_play else None
        if self._rest_due:
            if last is None:
                self._rest()
            return
        if last is not None:
            plan = last.plan
            if not plan.clocked or self.now < plan.ends - LEAD:
                return
            all_heard = None not in last.live.marks and not told.in_doubt
            if not last.marked and (all_heard or plan.task.step == LISTEN):
                self._mark(last, told)
                if any(isinstance(order, ShowBreak | ShowFarewell) for order in self.orders):
                    return
                if self.state.mode is not Mode.PLAYING:
                    return
        if self.state.player.over:  # the player has gone on
            self._put(replace(self.state.player, sitting=None))
            self.begun()
        asked = asked_next(self.setting, self.state)
        if asked.step == IN_ORDER and last is not None and self.now < last.plan.ends:
            return
        self._begin(asked, told.free)

    def ended(self, _told: Ended) -> None:
        """The session is over."""
        self._drop()
        self._set(mode=Mode.OVER)

    # Rounds

    def _begin(self, asked: RoundTask, free: float) -> None:
        state = self.state
        changed = asked != state.asked or not state.in_play
        number = 1 if changed else state.number + 1
        if not state.in_play:  # what was played on another page, or in a pause, belongs to no round
            self._set(first=state.came)
        self._set(asked=asked, number=number)
        plan = begin(self.setting.tune, asked, number, free, count_in_bars=1 if changed else 0)
        if not plan.clocked:
            plan = replace(plan, timeline=plan.timeline.moved(self.now))
        self.orders.append(SoundRound(plan, state.click))

    def _drop(self, until: float | None = None) -> None:
        """Stop the rounds in play, unmarked. What was played of them counts as practised, up to `until` (None: now)."""
        until = self.now if until is None else until
        for one in self.state.in_play:
            if not one.marked:
                ends = min(until, one.plan.ends) if one.plan.clocked else until
                player = self.state.players[one.demonstration]
                broken = player_sitting.broken_off(player, max(0.0, ends - one.plan.begins))
                self._put(broken, one.demonstration)
        self.orders.append(Silence())
        self._set(in_play=(), first=self.state.came)

    def _renew(self, one: RoundInPlay, now: RoundInPlay) -> None:
        if now is not one:
            self._set(in_play=tuple(now if other is one else other for other in self.state.in_play))

    def _close(self, one: RoundInPlay, told: Tick) -> None:
        plan = one.plan
        if not plan.clocked:
            if one.played_out(self.now):
                self._remove(self._mark(one, told))
            return
        if not one.marked and self.now >= plan.ends + GRACE and not told.in_doubt:
            one = self._mark(one, told)
        if one.marked and self.now >= plan.ends:
            self._remove(one)

    def _remove(self, one: RoundInPlay) -> None:
        self._set(in_play=tuple(other for other in self.state.in_play if other is not one))

    def _mark(self, one: RoundInPlay, told: Tick) -> RoundInPlay:
        """Mark a round: what it does to where the player stands, what is kept, and what is said. Gives it marked."""
        setting, now = self.setting, self.now
        plan, seconds = one.plan, one.seconds(now)
        heard = self._taken(plan, told)
        marked = replace(one, judged=one.verdicts)
        self._renew(one, marked)
        player = self.state.players[one.demonstration]
        if not self.state.around.can_hear:
            self._set(evening=evening.unheard(self.state.evening, now - seconds, now, setting.rules))
        if plan.task.step == LISTEN:
            self._set(stirred=now)
            player, change = player_sitting.played(player, Outcome(plan.task, True), seconds, setting.rules)
            self._put(player, one.demonstration)
            if change.what:
                self.orders.append(KeepState(player.state, one.demonstration))
            self._take_on(change, plan)
            return marked
        found = judged(one, heard, seconds, setting.tune, setting.words)
        self._set(sentence=found.said)
        if found.marks is None or found.outcome is None:
            player, change = player_sitting.silent(player, plan.task, seconds, setting.rules)
            self._put(player, one.demonstration)
            self._take_on(change, plan)
            return marked
        done = replace(marked, judged=found.verdicts)
        self._renew(marked, done)
        if one.demonstration:
            self.orders.append(DemonstrationLearns(found.marks))
        bpm = plan.timeline.bpm if plan.clocked else None
        kept = RoundKept(plan.task.piece.name, plan.task.step, bpm, one.demonstration, found.marks)
        player, change = player_sitting.played(player, found.outcome, seconds, setting.rules)
        self._put(player, one.demonstration)
        self._set(kept=(*self.state.kept, kept))
        self.orders.append(KeepRound(kept, player.state))
        if one.demonstration == self.state.around.demonstration:
            self._take_on(change, plan, clean=found.marks.clean)
        return done

    def _taken(self, plan: RoundPlan, told: Tick) -> list[Heard]:
        """The heard notes of a round; those before it began belong to none."""
        heard = []
        first = max(self.state.first, told.forgotten)
        while first < told.forgotten + len(told.tape) and plan.within(told.tape[first - told.forgotten]):
            note = told.tape[first - told.forgotten]
            if not plan.clocked or note.seconds >= plan.opens:
                heard.append(note)
            first += 1
        self._set(first=first)
        return heard

    def _take_on(self, change: Change, plan: RoundPlan, *, clean: bool = False) -> None:
        """Say what is new, and show the page that belongs to it."""
        setting = self.setting
        rules, words = setting.rules, setting.words
        said = of_change(change, setting.tune.round, rules, words)
        step_now = task(change.after, rules).step
        if said:
            self._set(sentence=said)
        elif clean and step_now == IN_TIME and change.after.piece.times == 1:
            left = machine.needed(change.after, rules) - change.after.standing.clean
            if left > 0:
                at_goal = change.after.standing.rung == goal(change.after, rules)
                self._set(sentence=words("said_clean_good" if at_goal else "said_clean_more", n=left))
        if change.what == "over":
            self._farewell(change, plan)
        elif self._rest_due:
            return  # the page for the rest comes instead
        elif change.news == "next":
            mine = self.state.mine
            self.orders.append(ShowBreak(break_page(setting.tune, plan.task.piece, change.after, mine, rules, words)))

    def _farewell(self, change: Change, plan: RoundPlan) -> None:
        """The page at the end of the sitting; where nobody sees it, the session is over at once."""
        setting, state = self.setting, self.state
        if setting.review or not state.around.seen:
            self._set(mode=Mode.OVER)
            return
        page = break_page(setting.tune, plan.task.piece, change.after, state.mine, setting.rules, setting.words)
        page = replace(page, gained=gains(setting, state))
        self.orders.append(ShowFarewell(page, setting.words("sitting_over")))

    # Quiet and rests

    def _look_after_quiet(self) -> None:
        """Pause where a player who could be heard has not played for long, and say so."""
        state = self.state
        if state.mode is not Mode.PLAYING:
            return
        if state.page is not Page.NONE or not state.around.can_hear:
            self._set(stirred=self.now)
            return
        minutes = self.setting.rules.idle_minutes
        if self.now - state.stirred < minutes * MINUTE:
            return
        self._drop(state.stirred)
        key = self.setting.key_of(Action.PAUSE)
        self._set(mode=Mode.IDLE, sentence=self.setting.words("said_idle", n=max(1, round(minutes)), key=key))

    @property
    def _rest_due(self) -> bool:
        """Whether it is time for a rest, and somebody sees the page that says so."""
        return self.state.around.seen and evening.rest_due(self.state.evening, self.setting.rules)

    def _rest(self) -> None:
        """Show the page for a rest; it begins with a count-in after it."""
        setting, state = self.setting, self.state
        minutes = round(state.evening.played / MINUTE)
        self._set(evening=evening.offered(state.evening))
        now = state.player.state
        piece = state.asked.piece if state.asked is not None else now.piece
        page = break_page(setting.tune, piece, now, state.mine, setting.rules, setting.words)
        why = setting.words("rest_due", n=minutes)
        self.orders.append(ShowRest(page, why, setting.rules.rest_minutes * MINUTE))

    # What the player asks for

    def wish(self, told: Wish) -> None:
        """The player asks for something."""
        asked = told.asked
        self._set(stirred=self.now)
        if asked in LOOKS:
            self._look(Action(asked))
        elif asked is Nav.LEAVE:
            self._leave()
        elif isinstance(asked, Action) and asked in _WISHES:
            _WISHES[asked](self)

    def _leave(self) -> None:
        """One page back: from the practice to the pause card, from there to the page that asks whether to leave."""
        if self.state.mode is Mode.PLAYING:
            self._pause()
        else:
            self.orders.append(AskToLeave())

    def _pause(self) -> None:
        mode = self.state.mode
        if mode is Mode.NO_SOUND:  # the player would rather go on without sound
            self._set(sound=Sound.DONE_WITHOUT, mode=Mode.PLAYING)
            return
        self._drop()
        self._set(mode=Mode.PAUSED if mode is Mode.PLAYING else Mode.PLAYING)

    def _switch_demonstration(self) -> None:
        self._drop()
        self.orders.append(SwitchDemonstration(not self.state.around.demonstration))

    def _switch_click(self) -> None:
        self._set(click=not self.state.click)
        self.orders.append(SwitchClick(self.state.click))

    def _again(self) -> None:
        self._restart(self.state.player.state)

    def _on(self) -> None:
        if self.setting.review:  # the tune that only came back has been seen
            self.ended(Ended())
        else:
            self._restart(machine.go_on(self.state.player.state))

    def _back(self) -> None:
        self._restart(machine.go_back(self.state.player.state))

    def _faster(self) -> None:
        self._retime(machine.faster(self.state.player.state, self.setting.rules))

    def _slower(self) -> None:
        self._retime(machine.slower(self.state.player.state, self.setting.rules))

    def _retime(self, wanted: PlayerState) -> None:
        """Another tempo: from the next round on where one in time sounds, so that the pulse goes on; else at once."""
        rounds = self.state.in_play
        if not rounds or rounds[-1].plan.task.step != IN_TIME or self.state.mode is not Mode.PLAYING:
            self._restart(wanted)
        else:
            self._stand(wanted)

    def _restart(self, wanted: PlayerState) -> None:
        """Begin with where the player wishes to be, from its count-in."""
        self._drop()
        mode = self.state.mode
        self._set(mode=mode if mode is Mode.NO_SOUND else Mode.PLAYING, sentence="")
        self._stand(wanted)

    def _stand(self, wanted: PlayerState) -> None:
        self._put(player_sitting.wished(self.state.player, wanted, self.setting.rules))
        self.orders.append(KeepState(wanted, self.state.around.demonstration))

    def _look(self, action: Action) -> None:
        """Change how the window looks. What turns the picture round is done on the pause card only."""
        if self.state.mode is Mode.PLAYING and action not in IN_PLAY:
            self._set(sentence=self.setting.words("said_look_paused"))
        else:
            self.orders.append(ChangeLook(action))


# What each thing that happens does.
_TOLD: dict[type[Told], Callable[[_Step, Any], None]] = {
    Wish: _Step.wish,
    NoteCame: _Step.note,
    InstrumentLearnt: _Step.learnt,
    PortMoved: _Step.port_moved,
    PageIs: _Step.page,
    LookIs: _Step.look,
    Surroundings: _Step.surroundings,
    RoundLaid: _Step.laid,
    Tick: _Step.tick,
    Free: _Step.free,
    Ended: _Step.ended,
}

# What the player can ask for in practice; looks, and going one page back, beside it.
_WISHES: dict[Action, Callable[[_Step], None]] = {
    Action.PAUSE: _Step._pause,
    Action.STANDIN: _Step._switch_demonstration,
    Action.CLICK: _Step._switch_click,
    Action.AGAIN: _Step._again,
    Action.ON: _Step._on,
    Action.BACK: _Step._back,
    Action.FASTER: _Step._faster,
    Action.SLOWER: _Step._slower,
}


def longest(state: SessionState, pitch: int) -> float:
    """How many seconds the rounds in play ask of a pitch at most."""
    lengths = (
        float(asked.length) * one.plan.timeline.whole
        for one in state.in_play
        for asked in one.plan.asked
        if asked.pitch == pitch
    )
    return max(lengths, default=0.0)


def due(rounds: Sequence[RoundInPlay], now: float) -> bool:
    """Whether a note has waited long enough to be decided on."""
    return any(one.hands.due(now) for one in rounds)
