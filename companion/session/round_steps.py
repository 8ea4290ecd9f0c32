"""The rounds of a session: how they begin, are broken off, marked and kept; the rest, and the pause where nobody plays.

Used by `companion.session.session_machine`, whose page says how a session works.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from companion.marking.causes import cause_now, pressed
from companion.marking.mark_values import Heard
from companion.pages.break_page import break_page, sitting_gains
from companion.practice import evening, machine, player_sitting
from companion.practice.player_sitting import PlayerSitting
from companion.practice.player_state import IN_TIME, LISTEN, Outcome, RoundTask, goal, task
from companion.practice.round_plan import RoundPlan, begin
from companion.practice.sitting import Change
from companion.screen.actions import Action
from companion.session.change_sentences import of_change
from companion.session.round_in_play import JudgedRound, RoundInPlay, judged
from companion.session.round_sentences import sentence_now
from companion.session.session_state import (
    DemonstrationLearns,
    KeepRound,
    KeepState,
    Mode,
    Order,
    Page,
    SessionSetting,
    SessionState,
    ShowBreak,
    ShowFarewell,
    ShowRest,
    Silence,
    SoundRound,
    Tick,
)  # fmt: skip
from companion.store.record import RoundKept

GRACE = 0.25  # seconds after a round for which its last note is waited for
MINUTE = 60.0


def gains(setting: SessionSetting, state: SessionState) -> tuple[str, ...]:
    """What the sitting has brought whoever plays now, a short sentence each."""
    player = state.player
    return sitting_gains(setting.tune, player.first, player.state, state.mine, setting.words)


class RoundSteps:
    """One step under way: `state` is replaced as it goes, `orders` grow."""

    def __init__(self, setting: SessionSetting, state: SessionState, now: float) -> None:
        self.setting, self.state, self.now = setting, state, now
        self.orders: list[Order] = []

    def change(self, **changes: Any) -> None:
        self.state = replace(self.state, **changes)

    def begun(self) -> SessionState:
        """The state once whoever plays now has begun a sitting."""
        if self.state.player.sitting is None:
            setting = self.setting
            self.put_player(
                player_sitting.begin(self.state.player, setting.length, setting.rules, review=setting.review)
            )
        return self.state

    def put_player(self, player: PlayerSitting, demonstration: bool | None = None) -> None:
        who = self.state.around.demonstration if demonstration is None else demonstration
        mine, other = self.state.players
        self.change(players=(mine, player) if who else (player, other))

    @property
    def asked_next(self) -> RoundTask:
        """What the next round asks."""
        raise NotImplementedError

    # Rounds

    def begin_round(self, asked: RoundTask, free: float) -> None:
        state = self.state
        # Where one round leads into the next of the same piece, the pulse goes on; the lesson counts a new tempo in.
        changed = not state.in_play or state.asked is None or asked.piece != state.asked.piece
        changed = changed or (state.own is None and asked != state.asked)
        number = 1 if changed else state.number + 1
        if not state.in_play:  # what was played on another page, or in a pause, belongs to no round
            self.change(first=state.came)
        self.change(asked=asked, number=number)
        choices, lift = state.choices, self.setting.lift
        place = lift.place if lift is not None and choices.lift else None
        bars_in = choices.count_in if changed else 0
        plan = begin(self.setting.tune, asked, number, free, count_in_bars=bars_in, place=place)
        if not plan.clocked:
            plan = replace(plan, timeline=plan.timeline.moved(self.now))
        self.orders.append(SoundRound(plan, choices.sounds(lift, answering=self.answering(asked))))

    def answering(self, asked: RoundTask) -> bool:
        """Whether a round is the room that is left for the player."""
        return self.state.own is not None and self.state.choices.answer and asked.step != LISTEN

    def drop(self, until: float | None = None) -> None:
        """Stop the rounds in play, unmarked. What was played of them counts as practised, up to `until` (None: now)."""
        until = self.now if until is None else until
        for one in self.state.in_play:
            if not one.marked:
                ends = min(until, one.plan.ends) if one.plan.clocked else until
                player = self.state.players[one.demonstration]
                broken = player_sitting.broken_off(player, max(0.0, ends - one.plan.begins))
                self.put_player(broken, one.demonstration)
        self.orders.append(Silence())
        self.change(in_play=(), first=self.state.came, tried=())

    def renew(self, one: RoundInPlay, now: RoundInPlay) -> None:
        if now is not one:
            self.change(in_play=tuple(now if other is one else other for other in self.state.in_play))

    def heard(self, one: RoundInPlay, now: RoundInPlay) -> None:
        """A round in which something may have been heard: a wrong note is answered at once."""
        self.renew(one, now)
        wrong = now.live.wrong
        if wrong == one.live.wrong or one.plan.task.step == LISTEN or not self.state.marked(one):
            return
        if wrong is None:
            self.change(tried=())
            return
        at, pitch, _ = wrong
        tune, asked = self.setting.tune, now.plan.asked
        hand = tune.hand(now.plan.task.piece)
        marks = {mark.written: mark for mark in now.live.marks if mark is not None and mark.written is not None}
        cause = cause_now(asked, marks, at, pitch, hand, tune.marking)
        tried = pressed(asked, at, pitch, cause, hand)
        self.change(tried=tried)
        if self.now >= self.state.held_until:
            press = hand.notes[asked[at].index].press
            said = sentence_now(press, cause, tried, self.setting.words)
            self.change(sentence=said, answered=self.now)

    def close_own(self, one: RoundInPlay, found: JudgedRound | None, seconds: float) -> None:
        """One of the player's own rounds is over."""
        raise NotImplementedError

    def close(self, one: RoundInPlay, told: Tick) -> None:
        plan = one.plan
        if not plan.clocked:
            if one.played_out(self.now):
                self._remove(self.mark(one, told))
            return
        if not one.marked and self.now >= plan.ends + GRACE and not told.in_doubt:
            one = self.mark(one, told)
        if one.marked and self.now >= plan.ends:
            self._remove(one)

    def _remove(self, one: RoundInPlay) -> None:
        self.change(in_play=tuple(other for other in self.state.in_play if other is not one))

    def mark(self, one: RoundInPlay, told: Tick) -> RoundInPlay:
        """Mark a round: what it does to where the player stands, what is kept, and what is said. Gives it marked."""
        setting, now = self.setting, self.now
        plan, seconds = one.plan, one.seconds(now)
        heard = self._taken(plan, told)
        marked = replace(one, judged=one.verdicts)
        self.renew(one, marked)
        player = self.state.players[one.demonstration]
        if not self.state.around.can_hear:
            self.change(evening=evening.unheard(self.state.evening, now - seconds, now, setting.rules))
        if one.own and (plan.task.step == LISTEN or not self.state.marked(one) or not self.state.around.can_hear):
            self.change(stirred=now)
            self.close_own(marked, None, seconds)
            return marked
        if plan.task.step == LISTEN:
            self.change(stirred=now)
            player, change = player_sitting.played(player, Outcome(plan.task, True), seconds, setting.rules)
            self.put_player(player, one.demonstration)
            if change.what:
                self.orders.append(KeepState(player.state, one.demonstration))
            self._take_on(change, plan)
            return marked
        sounded = None if one.demonstration else told.sounded
        found = judged(one, heard, seconds, setting.tune, setting.words, sounded)
        self.change(sentence=found.said)
        if one.own and found.marks is None:
            self.close_own(marked, None, seconds)
            return marked
        if found.marks is None or found.outcome is None:
            player, change = player_sitting.silent(player, plan.task, seconds, setting.rules)
            self.put_player(player, one.demonstration)
            self._take_on(change, plan)
            return marked
        done = replace(marked, judged=found.verdicts)
        self.renew(marked, done)
        if one.demonstration:
            self.orders.append(DemonstrationLearns(found.marks))
        bpm = setting.tune.target * plan.task.share if plan.clocked else None
        kept = RoundKept(plan.task.piece.name, plan.task.step, bpm, one.demonstration, found.marks)
        if one.own:
            self.close_own(done, found, seconds)
            self.change(kept=(*self.state.kept, kept))
            self.orders.append(KeepRound(kept, self.state.players[one.demonstration].state))
            return done
        player, change = player_sitting.played(player, found.outcome, seconds, setting.rules)
        self.put_player(player, one.demonstration)
        self.change(kept=(*self.state.kept, kept))
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
        self.change(first=first)
        return heard

    def _take_on(self, change: Change, plan: RoundPlan, *, clean: bool = False) -> None:
        """Say what is new, and show the page that belongs to it."""
        setting = self.setting
        rules, words = setting.rules, setting.words
        said = of_change(change, setting.tune.round, rules, words)
        step_now = task(change.after, rules).step
        if said:
            self.change(sentence=said)
        elif clean and step_now == IN_TIME and change.after.piece.times == 1:
            left = machine.needed(change.after, rules) - change.after.standing.clean
            if left > 0:
                at_goal = change.after.standing.rung == goal(change.after, rules)
                self.change(sentence=words("said_clean_good" if at_goal else "said_clean_more", n=left))
        if change.what == "over":
            self._farewell(change, plan)
        elif self.rest_due:
            return  # the page for the rest comes instead
        elif change.news == "next":
            mine = self.state.mine
            self.orders.append(ShowBreak(break_page(setting.tune, plan.task.piece, change.after, mine, rules, words)))

    def _farewell(self, change: Change, plan: RoundPlan) -> None:
        """The page at the end of the sitting; where nobody sees it, the session is over at once."""
        setting, state = self.setting, self.state
        if setting.review or not state.around.seen:
            self.change(mode=Mode.OVER)
            return
        page = break_page(setting.tune, plan.task.piece, change.after, state.mine, setting.rules, setting.words)
        page = replace(page, gained=gains(setting, state))
        self.orders.append(ShowFarewell(page, setting.words("sitting_over")))

    # Quiet and rests

    def look_after_quiet(self) -> None:
        """Pause where a player who could be heard has not played for long, and say so."""
        state = self.state
        if state.mode is not Mode.PLAYING:
            return
        if state.page is not Page.NONE or not state.around.can_hear:
            self.change(stirred=self.now)
            return
        minutes = self.setting.rules.idle_minutes
        if self.now - state.stirred < minutes * MINUTE:
            return
        self.drop(state.stirred)
        key = self.setting.key_of(Action.PAUSE)
        self.change(mode=Mode.IDLE, sentence=self.setting.words("said_idle", n=max(1, round(minutes)), key=key))

    @property
    def rest_due(self) -> bool:
        """Whether it is time for a rest, and somebody sees the page that says so."""
        return self.state.around.seen and evening.rest_due(self.state.evening, self.setting.rules)

    def rest(self) -> None:
        """Show the page for a rest; it begins with a count-in after it."""
        setting, state = self.setting, self.state
        minutes = round(state.evening.played / MINUTE)
        self.change(evening=evening.offered(state.evening))
        now = state.player.state
        piece = state.asked.piece if state.asked is not None else now.piece
        page = break_page(setting.tune, piece, now, state.mine, setting.rules, setting.words)
        why = setting.words("rest_due", n=minutes)
        self.orders.append(ShowRest(page, why, setting.rules.rest_minutes * MINUTE))
