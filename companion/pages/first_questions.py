"""The first evening: which box, how it is heard, how it is held. Each question can be left for later."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from enum import StrEnum

from companion.box.layout import box_names, load_box
from companion.box.pitch_names import name_of
from companion.errors import UserError
from companion.input.capture import list_microphones
from companion.input.events import Event, EventKind
from companion.input.listening import Listening
from companion.input.midi_in import instruments_of
from companion.input.ports import base_name, list_ports
from companion.pages.player_choices import PlayerChoices
from companion.screen.actions import Asked, Nav, Picked
from companion.screen.list_values import AnswerCard, QuestionPage
from companion.screen.look import Facing
from companion.screen.words import Say

AGAIN = 1.0  # seconds between two looks for an instrument
COLUMNS = 2  # of answers that lie side by side
_HELD = [(hand, facing) for hand in (False, True) for facing in (Facing.PLAYER, Facing.MIRRORED)]


class Question(StrEnum):
    """What is asked."""

    BOX = "box"
    HEARD = "heard"
    HELD = "held"


class FirstQuestions:
    """The pages while they are open.

    Parameters
    ----------
    own : the choices so far; afterwards those that were made.
    asking : the questions, in order.
    inputs : gives the names of the MIDI inputs there are, `microphones` those of the microphones.

    Attributes
    ----------
    glance : what is to be seen.
    over : whether there is nothing more to ask.
    """

    def __init__(
        self,
        own: PlayerChoices,
        asking: Sequence[Question],
        listening: Listening,
        words: Say,
        inputs: Callable[[], Sequence[str]] = lambda: list_ports().inputs,
        microphones: Callable[[], Sequence[str]] = list_microphones,
    ) -> None:
        self.own = own
        self._asking, self._listening, self._words, self._inputs = tuple(asking), listening, words, inputs
        self._number = self._at = 0
        self._notice = self._note = ""
        self._microphones, self._microphone = microphones, ""
        self._boxes = _readable(box_names())
        self._port, self._looked = "", float("-inf")
        self._begin()

    @property
    def over(self) -> bool:
        """Whether there is nothing more to ask."""
        return self._number >= len(self._asking)

    def take(self, asked: Asked) -> None:
        """Do what the player asks for on the page."""
        self._notice = ""
        last = len(self._answers()) - 1
        moves = {Nav.LEFT: -1, Nav.RIGHT: 1, Nav.UP: -COLUMNS, Nav.DOWN: COLUMNS}
        if asked is Nav.LEAVE:
            self._on()
        elif asked is Nav.ENTER:
            self._answer(self._at)
        elif isinstance(asked, Picked) and 0 <= asked.row <= last:
            self._answer(asked.row)
        elif isinstance(asked, Nav) and asked in moves:
            self._at = min(last, max(0, self._at + moves[asked]))
        self._show()

    def step(self, events: Sequence[Event]) -> None:
        """Take what the instrument has sent, and look now and then which one is there."""
        if self.over or self._asking[self._number] is not Question.HEARD:
            return
        if time.monotonic() - self._looked > AGAIN:
            self._looked = time.monotonic()
            self._look()
        for event in events:
            if event.what is EventKind.ON:
                self._note = name_of(event.pitch)
        self._show()

    def say(self, notice: str) -> None:
        """Say something on the page."""
        self._notice = notice
        self._show()

    def _look(self) -> None:
        """Look which instrument is there; listen to the first that is found, where none was heard before."""
        ear, there = self._listening.instrument, instruments_of(self._inputs())
        self._microphone = next(iter(self._microphones()), "")
        if ear is not None and self._listening.microphone is None:
            self._port = ear.name if ear.alive else ""
            return
        self._port = there[0] if there else ""
        if self._port:
            try:
                self._listening.listen_to(self._port)
            except UserError as why:
                self._notice = why.message

    def _answer(self, at: int) -> None:
        asked = self._asking[self._number]
        if asked is Question.BOX:
            self.own = replace(self.own, box=self._boxes[at])
        elif asked is Question.HEARD:
            self._be_heard(at)
            if self._notice:
                return
        else:
            left_handed, facing = _HELD[at]
            self.own = replace(self.own, left_handed=left_handed, facing=facing.value)
        self._on()

    def _be_heard(self, at: int) -> None:
        """By cable, by microphone or not at all."""
        if at == 1:
            try:
                self._listening.listen_through(self._microphone or next(iter(self._microphones()), ""))
            except UserError as why:
                self._notice = why.message
            if self._listening.microphone is None:
                self._notice = self._notice or self._words("learn.no_microphone")
        elif self._listening.microphone is not None:
            self._listening.listen_through("")
        self.own = replace(self.own, by_ear=at == 2)

    def _on(self) -> None:
        """On to the next question."""
        self._number += 1
        self._begin()

    def _begin(self) -> None:
        """Pick out what holds so far."""
        if self.over:
            return
        asked = self._asking[self._number]
        self._at = 0
        if asked is Question.BOX and self.own.box in self._boxes:
            self._at = self._boxes.index(self.own.box)
        elif asked is Question.HELD and (self.own.left_handed, Facing(self.own.facing)) in _HELD:
            self._at = _HELD.index((self.own.left_handed, Facing(self.own.facing)))
        self._show()

    def _show(self) -> None:
        if not self.over:
            asked, number = self._asking[self._number], self._number + 1
            said = self._words(f"first.{asked.value}")
            self.glance = QuestionPage(said, number, len(self._asking), self._answers(), self._at, self._notice)

    def _answers(self) -> tuple[AnswerCard, ...]:
        if self.over:
            return ()
        asked, w, look = self._asking[self._number], self._words, self.own.look
        if asked is Question.BOX:
            boxes = [load_box(name) for name in self._boxes]
            return tuple(AnswerCard(box.name, box=box, look=look) for box in boxes)
        if asked is Question.HEARD:
            port = base_name(self._port)
            said = w("first.found", port=port) if port else w("first.none_found")
            air = w("first.microphone_how") if self._microphone else w("first.no_microphone")
            if port and self._note:
                said = w("first.played", port=port, note=self._note)
            return (
                AnswerCard(w("first.cable"), said, plug=True),
                AnswerCard(w("first.microphone"), air, microphone=True),
                AnswerCard(w("first.by_ear"), w("first.by_ear_how"), ear=True),
            )
        box = load_box(self.own.box)
        return tuple(
            AnswerCard(
                w(f"first.{'left' if hand else 'right'}_{facing.value}"), box=box,
                look=replace(look, left_handed=hand, facing=facing),
            )
            for hand, facing in _HELD
        )  # fmt: skip


def _readable(names: Sequence[str]) -> list[str]:
    """The layouts that can be read; a broken one of the player's own is left out."""
    found = []
    for name in names:
        try:
            load_box(name)
        except UserError:
            continue
        found.append(name)
    return found
