"""What the player chooses to play: any run of notes, round and round, at any tempo; the whole tune; no tune at all.

Used by `companion.session.session_machine`, whose page says how a session works. A choice holds until the player makes
another or goes back to the lesson, which waits where it was.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from statistics import median

from companion.box.box_values import Press
from companion.box.pitch_names import name_of
from companion.lesson.lesson_values import Piece
from companion.marking.causes import pressed
from companion.marking.mark_values import Heard
from companion.practice import machine, player_sitting
from companion.practice.own_rounds import OwnRounds, bar_of, heard_outside, numbered_bar, run_of
from companion.practice.player_state import IN_ORDER, IN_TIME, LISTEN, PlayerState, RoundTask, task
from companion.screen.actions import Action, ChosenBar, ChosenNotes, ChosenTempo
from companion.session.round_choices import SOUNDS
from companion.session.round_in_play import JudgedRound, RoundInPlay, note_now, seen_round
from companion.session.round_steps import RoundSteps
from companion.session.session_state import (
    ChangeLevel,
    KeepState,
    LevelIs,
    Mode,
    RelayRound,
    SessionState,
    SwitchClick,
)

SOON = 0.06  # seconds before a beat at which what follows it can still be changed
TAPS = (0.15, 2.5)  # seconds between two taps of one tempo
MOST_TAPS = 5


def own_task(state: SessionState) -> RoundTask:
    """What the next of the player's own rounds asks: where it plays first, every other one is only listened to."""
    own = state.own
    assert own is not None
    last = state.asked
    played_first = last is not None and last.step == LISTEN and last.piece == own.piece and bool(state.in_play)
    played = IN_TIME if state.choices.beat else IN_ORDER
    step = LISTEN if state.choices.answer and not played_first else played
    return RoundTask(own.piece, step, own.share)


class OwnRoundSteps(RoundSteps):
    """One step under way: what the player chooses."""

    # What goes round and round

    def choose_notes(self, first: int, last: int) -> None:
        """Play these notes round and round, from now on."""
        tune = self.setting.tune
        course = self.state.player.state.course
        self.play_own(OwnRounds(run_of(first, last, tune.round, tune.bars, course), self.share_now))

    def play_own(self, own: OwnRounds) -> None:
        """Play this in place of the lesson, from its count-in."""
        self.drop()
        key = self.setting.key_of(Action.LESSON)
        said = self.setting.words("said_own", piece=own.piece.name, key=key)
        self.change(own=own, free=False, begins_at=None, mode=self._playing, asked=None, sentence=said)

    def chosen_notes(self, asked: ChosenNotes) -> None:
        """Notes were picked out on the map or on the bellows line."""
        self.choose_notes(asked.first, asked.last)

    def chosen_bar(self, asked: ChosenBar) -> None:
        """A bar was typed."""
        tune = self.setting.tune
        piece = self.piece_now
        found = numbered_bar(asked.number, (piece.first, piece.last), tune.round, tune.bars)
        if found is None:
            self.change(sentence=self.setting.words("said_no_bar", n=asked.number))
        else:
            self.choose_notes(*found)

    def loop(self) -> None:
        """The bar that is played now, round and round."""
        self.choose_notes(*bar_of(self.note_now, self.setting.tune.round, self.setting.tune.bars))

    def from_here(self) -> None:
        """A run of notes begins here."""
        key = self.setting.key_of(Action.TO_HERE)
        self.change(begins_at=self.note_now, sentence=self.setting.words("said_from_here", key=key))

    def to_here(self) -> None:
        """It ends here; where no beginning was named, it begins with what is played."""
        begins = self.state.begins_at
        self.choose_notes(self.piece_now.first if begins is None else begins, self.note_now)

    def whole(self) -> None:
        """The whole tune, played along."""
        self.choose_notes(0, len(self.setting.tune.round.notes) - 1)

    def beside(self, way: int) -> None:
        """On to the bars after those that go round and round (`way` 1), or back to those before (-1): as many of them.

        Beyond the last bar of the tune comes the first.
        """
        tune, piece = self.setting.tune, self.piece_now
        bars, count = tune.bars, len(tune.bars)
        starts = [k for k in range(count) if bar_of(k, tune.round, bars)[0] == k]
        here = [n for n, k in enumerate(starts) if piece.first <= bar_of(k, tune.round, bars)[1] and k <= piece.last]
        begins = (here[0] + way * len(here)) % len(starts)
        ends = min(begins + len(here), len(starts)) - 1
        self.choose_notes(starts[begins], bar_of(starts[ends], tune.round, bars)[1])

    def free_play(self) -> None:
        """No tune: what the player presses is shown."""
        self.drop()
        said = self.setting.words("said_free", key=self.setting.key_of(Action.LESSON))
        self.change(free=True, own=None, begins_at=None, mode=self._playing, asked=None, sentence=said)

    def to_lesson(self) -> None:
        """Back to the lesson, where it was."""
        self.drop()
        self.change(own=None, free=False, begins_at=None, mode=self._playing, asked=None, sentence="")

    @property
    def _playing(self) -> Mode:
        return self.state.mode if self.state.mode is Mode.NO_SOUND else Mode.PLAYING

    @property
    def piece_now(self) -> Piece:
        """The piece that is played."""
        return self.state.own.piece if self.state.own is not None else self.state.player.state.piece

    @property
    def share_now(self) -> float:
        """The tempo at which it is played, as a share of the tune's."""
        if self.state.own is not None:
            return self.state.own.share
        return task(self.state.player.state, self.setting.rules).share

    @property
    def note_now(self) -> int:
        """The note of the tune that is played now."""
        one = seen_round(self.state.in_play, self.now)
        count = len(self.setting.tune.round.notes)
        return self.piece_now.first if one is None else note_now(one, self.now) % count

    # Tempo

    def chosen_tempo(self, asked: ChosenTempo) -> None:
        """A tempo was typed or pointed at."""
        self.at_share(asked.per_cent / 100)

    def faster(self) -> None:
        """A step faster."""
        self._step(1)

    def slower(self) -> None:
        """A step slower."""
        self._step(-1)

    def _step(self, way: int) -> None:
        if self.state.own is not None:
            step = self.setting.rules.own_step
            self.at_share((round(self.state.own.share / step) + way) * step)
            return
        change = machine.faster if way > 0 else machine.slower
        self._lesson_at(change(self.state.player.state, self.setting.rules))

    def tap(self) -> None:
        """The beat was tapped: from the second tap on that is the tempo."""
        before = self.state.taps
        taps = (*before, self.now) if before and TAPS[0] <= self.now - before[-1] <= TAPS[1] else (self.now,)
        taps = taps[-MOST_TAPS:]
        self.change(taps=taps)
        if len(taps) < 2:
            self.change(sentence=self.setting.words("said_tap"))
            return
        beat = median(later - earlier for earlier, later in pairwise(taps))
        self.at_share(60 / beat / self.setting.tune.target)

    def at_share(self, share: float) -> None:
        """This tempo, from the next beat on. In the lesson it is the nearest rung of its ladder."""
        own = self.state.own
        if own is None:
            self._lesson_at(machine.at_share(self.state.player.state, share, self.setting.rules))
            return
        self.change(own=own.at(share))
        self.relay()

    def _lesson_at(self, wanted: PlayerState) -> None:
        """The lesson goes on at another tempo."""
        self.put_player(player_sitting.wished(self.state.player, wanted, self.setting.rules))
        self.orders.append(KeepState(wanted, self.state.around.demonstration))
        self.relay()

    def relay(self) -> None:
        """Let the round that sounds go on at the tempo and with the sounds that are wanted now, from its next beat on;
        where none in time sounds, the next one has them, and it begins at once."""
        state = self.state
        one = seen_round(state.in_play, self.now)
        if state.mode is not Mode.PLAYING or (one is None and state.asked is None):
            if state.mode in (Mode.PAUSED, Mode.IDLE):
                self.change(mode=Mode.PLAYING)
            return
        moving = one is not None and one.plan.clocked and not one.demonstration and not one.marked
        if one is None or not moving or self.now < one.plan.timeline.seconds(0):
            self.drop()
            self.change(asked=None)
            return
        plan, tune = one.plan, self.setting.tune
        soon = self.now + SOON
        beats = (beat.at for beat in plan.laid.beats if plan.timeline.seconds(beat.at) >= soon)
        since = next(beats, plan.laid.length)
        asked = self.asked_next
        timeline = plan.timeline.changed(since, tune.target * asked.share)
        # What was played in two tempi counts for the slower one.
        slower = replace(plan.task, share=min(plan.task.share, asked.share))
        self.change(in_play=(one,), asked=asked)
        sounds = state.choices.sounds(self.setting.lift, answering=self.answering(plan.task))
        self.orders.append(RelayRound(replace(plan, timeline=timeline, task=slower), since, sounds))

    # What sounds, and how rounds follow each other

    def choose(self, action: Action) -> None:
        """One of the choices about the rounds; a sentence says how it stands now."""
        words, choices = self.setting.words, self.state.choices.after(action)
        value = next(one.value for one in choices.listed(words, own=True) if one.action is action)
        what = words(f"choice.name_{action.value}")
        self.change(choices=choices, sentence=words("said_choice", what=what, value=value))
        if action is Action.CLICK:
            self.orders.append(SwitchClick(self.state.choices.click))
        elif action is Action.BEAT and self.state.own is not None:
            self.play_own(self.state.own)
        elif action in SOUNDS:
            one = seen_round(self.state.in_play, self.now)
            if one is not None and one.plan.clocked:
                self.relay()

    def level(self, steps: int) -> None:
        """Louder or softer."""
        self.orders.append(ChangeLevel(steps))

    def level_is(self, told: LevelIs) -> None:
        """Say how loud it is now."""
        self.change(sentence=self.setting.words("said_level", n=told.per_cent))

    # What is heard

    def show_press(self, note: Heard) -> None:
        """Show what was pressed where no tune is asked for."""
        setting, words = self.setting, self.setting.words
        tried = pressed((), 0, note.pitch, None, setting.tune.fingering)
        name = name_of(note.pitch, octave=False, signature=setting.tune.key.signature)
        said = [self._press_words(press, name) for press in tried[:2]]
        if not said:
            sentence = words("free_none", note=name)
        elif len(said) == 1:
            sentence = said[0]
        else:
            sentence = words("free_or", one=said[0], other=said[1].split(": ", 1)[-1])
        self.change(tried=tried, sentence=sentence, answered=self.now)

    def _press_words(self, press: Press, note: str) -> str:
        words = self.setting.words
        way = words(press.bellows.value).lower()
        return words("free_press", note=note, button=press.button, bellows=way, row=press.row)

    def close_own(self, one: RoundInPlay, found: JudgedRound | None, seconds: float) -> None:
        """One of the player's own rounds is over: its seconds count; what was heard tells the lesson about the moves,
        and, where they want it so, clean rounds make it faster."""
        state, rules = self.state, self.setting.rules
        player = player_sitting.broken_off(state.players[one.demonstration], seconds)
        if found is None or found.outcome is None:
            self.put_player(player, one.demonstration)
            return
        heard = heard_outside(player.state, found.outcome, rules)
        self.put_player(replace(player, state=heard), one.demonstration)
        own = state.own
        if own is None or (own.piece, own.share) != (one.plan.task.piece, one.plan.task.share):
            return
        own = replace(own, clean=own.clean if found.outcome.unheard else own.clean + 1 if found.outcome.clean else 0)
        if state.choices.climb and own.clean >= rules.clean_needed and own.share < 1.0:
            own = own.at(min(1.0, own.share + rules.own_step))
            bpm = round(own.share * self.setting.tune.target)
            self.change(sentence=self.setting.words("said_faster_own", bpm=bpm))
        self.change(own=own)
