"""What an instrument sends, as values: notes and pedals, and a port that went away or came back."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class EventKind(StrEnum):
    """What an event is: a note begins, a note ends, everything falls silent, or a pedal or a switch moves."""

    ON = "on"
    OFF = "off"
    SILENCE = "silence"
    CONTROL = "control"


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that came in. `stamp` is the ear's clock on arrival, in seconds.

    Only notes have a pitch (else -1), only a `CONTROL` a number of its controller; its value is in `velocity`.
    """

    stamp: float
    what: EventKind
    pitch: int = -1
    velocity: int = 0
    channel: int = 0
    control: int = -1


@dataclass(frozen=True, slots=True)
class PortNews:
    """The port went away (`there` false) or came back, at `stamp` seconds on the ear's clock."""

    stamp: float
    there: bool
