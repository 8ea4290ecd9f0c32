"""What is learnt of an instrument: which of its channels is the melody, and how far it sounds from what is written.

A box in another key, or a program that plays an octave lower, sends other pitches than the tune has; a box with two
MIDI channels sends the left hand too. Both are learnt from what is played.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from companion.input.events import Event
from companion.marking.mark_values import Asked, Heard
from companion.marking.melody import melody
from companion.marking.shift import ENOUGH, shift_of

_FIRST = 48  # notes of a round, both hands', by which it is told whether the instrument sounds at another pitch
_CHANNEL_NOTES = 12  # notes after which the channel of the melody is decided


class Instrument:
    """What is known of the instrument that is played.

    `shift` is how far it sounds above what is written, in semitones, `guess` a shift that was heard once; `channel` is
    the melody's, None while all count.
    """

    def __init__(self) -> None:
        self.shift = 0
        self.channel: int | None = None
        self.guess = 0
        self._came: list[Heard] = []
        self._asked: Sequence[Asked] = ()  # of the round in play, and the first notes played in it
        self._round: list[Heard] = []

    def as_meant(self, event: Event) -> Event | None:
        """An event as it is meant: at the written pitch; None where it is not the melody's."""
        if self.channel is not None and event.pitch >= 0 and event.channel != self.channel:
            return None
        return replace(event, pitch=event.pitch - self.shift) if self.shift and event.pitch >= 0 else event

    def learn(self, asked: Sequence[Asked], note: Heard) -> str:
        """Take one note that was played in a round.

        Returns
        -------
        "channel" where it has just become clear which channel the melody comes on; "heard" or "confirmed" as
        `learn_shift` says; "" else.
        """
        if self.learn_channel(asked, [note]):
            return "channel"
        if asked is not self._asked:
            self._asked, self._round = asked, []
        if len(self._round) >= _FIRST:
            return ""
        self._round.append(note)
        if len(self._round) % ENOUGH:
            return ""
        return self.learn_shift(asked, [self._round[j] for j in melody(self._round, asked)])

    def learn_channel(self, asked: Sequence[Asked], heard: Sequence[Heard]) -> bool:
        """Take in what was played; whether it has just become clear which channel the melody comes on."""
        if self.channel is not None:
            return False
        self._came = [*self._came, *heard][-4 * _CHANNEL_NOTES :]
        if len(self._came) < _CHANNEL_NOTES or len({note.channel for note in self._came}) < 2:
            return False
        mine = melody(self._came, asked)
        self.channel = self._came[mine[0]].channel if mine else None
        return self.channel is not None

    def learn_shift(self, asked: Sequence[Asked], heard: Sequence[Heard]) -> str:
        """Look whether a phrase was played at another pitch.

        Returns
        -------
        "heard" where it was, for the first time; "confirmed" where it was by as much as the phrase before, which counts
        from now on; "" else.
        """
        shift = shift_of(asked, heard)
        if not shift:
            return ""
        if shift != self.guess:
            self.guess = shift
            return "heard"
        self.shift += shift
        self.guess = 0
        return "confirmed"
