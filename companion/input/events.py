"""What an instrument sends, as values: notes and pedals, and a port that went away or came back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol


class EventKind(StrEnum):
    """What an event is: a note begins, a note ends, everything falls silent, or a pedal or a switch moves."""

    ON = "on"
    OFF = "off"
    SILENCE = "silence"
    CONTROL = "control"


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that came in. `stamp` is the ear's clock on arrival, in seconds.

    Only notes have a pitch (else -1), only a `CONTROL` a number of its controller; its value is in `velocity`. `sure`
    is the chance that it was played at all: below 1 only from a microphone.
    """

    stamp: float
    what: EventKind
    pitch: int = -1
    velocity: int = 0
    channel: int = 0
    control: int = -1
    sure: float = 1.0


@dataclass(frozen=True, slots=True)
class PortNews:
    """The port went away (`there` false) or came back, at `stamp` seconds on the ear's clock."""

    stamp: float
    there: bool


class NoteSource(Protocol):
    """Whatever brings notes: what `Listening` needs of it, and all that a new kind of input must have.

    `controls` are the controllers of pedals that are passed on; `alive` says whether it is there, `waiting` whether
    something has come in that nobody has fetched, `dropped` how many events were lost.
    """

    name: str
    controls: frozenset[int]
    dropped: int

    @property
    def alive(self) -> bool: ...

    @property
    def waiting(self) -> bool: ...

    def take_new(self) -> list[Event]:
        """What has come in since the last call, in order of arrival, each stamped on arrival."""

    def take_news(self) -> list[PortNews]:
        """When it went away and came back since the last call."""

    def expect(self, pitches: Sequence[int]) -> None:
        """The notes that are asked for from now on, in order, as they sound; () where anything may come."""

    def close(self) -> None: ...
