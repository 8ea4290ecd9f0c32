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

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from companion.practice import evening, machine, player_sitting
from companion.practice.evening import Evening
from companion.practice.player_sitting import PlayerSitting
from companion.practice.player_state import IN_ORDER, IN_TIME, LISTEN, PlayerState, RoundTask, task
from companion.screen.actions import IN_PLAY, LOOKS, Action, ChosenBar, ChosenNotes, ChosenTempo, Nav
from companion.session.own_round_steps import OwnRoundSteps, own_task
from companion.session.round_choices import CHOICES
from companion.session.round_in_play import in_play, round_of
from companion.session.session_state import (
    AskToLeave,
    ChangeLook,
    Demonstrate,
    Ended,
    Free,
    InstrumentLearnt,
    KeepState,
    LevelIs,
    LookIs,
    Mode,
    NoteCame,
    Order,
    Page,
    PageIs,
    PortMoved,
    RoundLaid,
    RoundRelaid,
    SessionSetting,
    SessionState,
    ShowBreak,
    ShowFarewell,
    Sound,
    Surroundings,
    SwitchDemonstration,
    Tick,
    Told,
    Wish,
)

TO_READ = 5.0  # seconds for which what the instrument was found to do stays to be read
LEAD = 0.2  # seconds before a seam at which the next round is settled and ordered


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
    if state.own is not None:
        return own_task(state)
    asked = task(state.player.state, setting.rules)
    return asked if state.around.can_hear else replace(asked, step=IN_TIME)


class _Step(OwnRoundSteps):
    """One step under way: what happens, and what the player asks for."""

    @property
    def asked_next(self) -> RoundTask:
        """What the next round asks."""
        return asked_next(self.setting, self.state)

    # What happens

    def surroundings(self, around: Surroundings) -> None:
        """A device came or went. A round in which the sound went is dropped, and the next one waits for it."""
        self.change(around=around)
        self.begun()
        state = self.state
        if around.sound:
            self.change(sound=Sound.THERE, mode=Mode.PLAYING if state.mode is Mode.NO_SOUND else state.mode)
        elif state.sound is Sound.THERE and state.mode is Mode.PLAYING:
            self.drop()
            self.change(sound=Sound.GONE, mode=Mode.NO_SOUND)

    def port_moved(self, _told: PortMoved) -> None:
        """A round in which the instrument went or came is no round of the player's."""
        if not self.state.around.demonstration:
            self.drop()

    def page(self, told: PageIs) -> None:
        """Another page lies over the practice, or none."""
        self.change(page=told.page)
        if told.page is Page.OTHER and self.state.in_play:
            self.drop()

    def note(self, told: NoteCame) -> None:
        """A note: it goes to its round; to the evening's clock; and goes on where nobody had played."""
        state = self.state
        rules = self.setting.rules
        self.change(came=state.came + 1, stirred=self.now, evening=evening.heard(state.evening, self.now, rules))
        if state.mode is Mode.IDLE and state.page is Page.NONE:
            self._restart(state.player.state)
            return
        if state.free:
            self.show_press(told.note)
            return
        one = round_of(state.in_play, told.note)
        if one is not None:
            self.heard(one, one.hear(told.note, self.now))

    def learnt(self, told: InstrumentLearnt) -> None:
        """The instrument is known better: the round is begun again for it, unmarked."""
        words = self.setting.words
        if told.what == "channel":
            said = words("said_channel", n=told.n)
        else:
            where = words("higher" if told.n > 0 else "lower")
            key = "said_shift_heard" if told.what == "heard" else "said_shift_confirmed"
            said = words(key, n=abs(told.n), where=where)
        self.drop()
        self.change(sentence=said, held_until=self.now + TO_READ)

    def look(self, told: LookIs) -> None:
        """Say what changed the picture, and the key that changes it back."""
        words, look, key = self.setting.words, told.look, self.setting.key_of(told.action)
        if told.action is Action.LEFT_HANDED:
            self.change(sentence=words("said_left_handed" if look.left_handed else "said_right_handed", key=key))
        elif told.action is Action.FACING:
            self.change(sentence=words(f"said_facing_{look.facing.value}", key=key))
        elif told.action is Action.MOTION:
            self.change(sentence=words("said_motion_less" if look.reduced_motion else "said_motion_full", key=key))
        elif told.action is Action.NAMES:
            self.change(sentence=words("said_names_on" if look.names else "said_names_off", key=key))
        elif told.action is Action.STAFF:
            self.change(sentence=words("said_staff_on" if look.staff else "said_staff_off", key=key))

    def laid(self, told: RoundLaid) -> None:
        """The round ordered last is queued."""
        tune, demonstration = self.setting.tune, self.state.around.demonstration
        begun = in_play(told.plan, tune, demonstration=demonstration, own=self.state.own is not None)
        self.change(in_play=(*self.state.in_play, begun))
        if demonstration and told.plan.task.step != LISTEN:
            self.orders.append(Demonstrate(told.plan))

    def relaid(self, told: RoundRelaid) -> None:
        """The round that sounds goes on as its plan now is."""
        (one,) = self.state.in_play
        self.renew(one, one.going_on(told.plan))

    def tick(self, told: Tick) -> None:
        """Time has gone by: pause where nobody plays, decide on late notes, mark what is over."""
        self.look_after_quiet()
        for one in self.state.in_play:
            self.heard(one, one.until(self.now))
        for one in self.state.in_play:
            self.close(one, told)

    def free(self, told: Free) -> None:
        """Nothing lies over the practice: order the next round, if it is time for it."""
        if self.state.mode is not Mode.PLAYING or self.state.free:
            return
        last = self.state.in_play[-1] if self.state.in_play else None
        if self.rest_due:
            if last is None:
                self.rest()
            return
        if last is not None:
            plan = last.plan
            if not plan.clocked or self.now < plan.ends - LEAD:
                return
            all_heard = None not in last.live.marks and not told.in_doubt
            if not last.marked and (all_heard or plan.task.step == LISTEN):
                self.mark(last, told)
                if any(isinstance(order, ShowBreak | ShowFarewell) for order in self.orders):
                    return
                if self.state.mode is not Mode.PLAYING:
                    return
        if self.state.player.over:  # the player has gone on
            self.put_player(replace(self.state.player, sitting=None))
            self.begun()
        asked = self.asked_next
        if asked.step == IN_ORDER and last is not None and self.now < last.plan.ends:
            return
        self.begin_round(asked, told.free)

    def ended(self, _told: Ended) -> None:
        """The session is over."""
        self.drop()
        self.change(mode=Mode.OVER)

    # What the player asks for

    def wish(self, told: Wish) -> None:
        """The player asks for something."""
        asked = told.asked
        self.change(stirred=self.now)
        if asked in LOOKS:
            self._look(Action(asked))
        elif asked is Nav.LEAVE:
            self._leave()
        elif isinstance(asked, Action) and asked in CHOICES:
            self.choose(asked)
        elif isinstance(asked, Action) and asked in _WISHES:
            _WISHES[asked](self)
        elif isinstance(asked, ChosenNotes | ChosenBar | ChosenTempo):
            _CHOSEN[type(asked)](self, asked)

    def _leave(self) -> None:
        """One page back: from the practice to the pause card, from there to the page that asks whether to leave."""
        if self.state.mode is Mode.PLAYING:
            self._pause()
        else:
            self.orders.append(AskToLeave())

    def _pause(self) -> None:
        mode = self.state.mode
        if mode is Mode.NO_SOUND:  # the player would rather go on without sound
            self.change(sound=Sound.DONE_WITHOUT, mode=Mode.PLAYING)
            return
        self.drop()
        self.change(mode=Mode.PAUSED if mode is Mode.PLAYING else Mode.PLAYING)

    def _switch_demonstration(self) -> None:
        self.drop()
        self.orders.append(SwitchDemonstration(not self.state.around.demonstration))

    def _again(self) -> None:
        if self.state.own is not None:
            self.play_own(self.state.own)
        else:
            self._restart(self.state.player.state)

    def _on(self) -> None:
        if self.state.own is not None:
            self.beside(1)
        elif self.setting.review:  # the tune that only came back has been seen
            self.ended(Ended())
        else:
            self._restart(machine.go_on(self.state.player.state))

    def _back(self) -> None:
        if self.state.own is not None:
            self.beside(-1)
        else:
            self._restart(machine.go_back(self.state.player.state))

    def _restart(self, wanted: PlayerState) -> None:
        """Begin with where the player wishes to be, from its count-in."""
        self.drop()
        mode = self.state.mode
        self.change(mode=mode if mode is Mode.NO_SOUND else Mode.PLAYING, sentence="", free=False)
        self.put_player(player_sitting.wished(self.state.player, wanted, self.setting.rules))
        self.orders.append(KeepState(wanted, self.state.around.demonstration))

    def _look(self, action: Action) -> None:
        """Change how the window looks. What turns the picture round is done on the pause card only."""
        if self.state.mode is Mode.PLAYING and action not in IN_PLAY:
            self.change(sentence=self.setting.words("said_look_paused"))
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
    LevelIs: _Step.level_is,
    Surroundings: _Step.surroundings,
    RoundLaid: _Step.laid,
    RoundRelaid: _Step.relaid,
    Tick: _Step.tick,
    Free: _Step.free,
    Ended: _Step.ended,
}

# What the player can ask for in practice; looks, and going one page back, beside it.
_WISHES: dict[Action, Callable[[_Step], None]] = {
    Action.PAUSE: _Step._pause,
    Action.STANDIN: _Step._switch_demonstration,
    Action.AGAIN: _Step._again,
    Action.ON: _Step._on,
    Action.BACK: _Step._back,
    Action.FASTER: _Step.faster,
    Action.SLOWER: _Step.slower,
    Action.TAP: _Step.tap,
    Action.LOOP: _Step.loop,
    Action.FROM_HERE: _Step.from_here,
    Action.TO_HERE: _Step.to_here,
    Action.WHOLE: _Step.whole,
    Action.FREE: _Step.free_play,
    Action.LESSON: _Step.to_lesson,
    Action.LOUDER: lambda one: one.level(1),
    Action.SOFTER: lambda one: one.level(-1),
}

# What the player can pick out, by the kind of what is asked for.
_CHOSEN: dict[type[Any], Callable[[_Step, Any], None]] = {
    ChosenNotes: _Step.chosen_notes,
    ChosenBar: _Step.chosen_bar,
    ChosenTempo: _Step.chosen_tempo,
}
