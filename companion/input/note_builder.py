"""Raw events made into notes that begin and end."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from companion.input.events import Event, EventKind
from companion.marking.mark_values import Heard

# Notes kept when nobody clears them: an hour of quavers. Older ones are dropped.
LIMIT = 20_000


class Notes:
    """Collects events into `heard`, in order of onset; a note that still sounds has no end.

    A note that begins while the same one sounds ends it. `forgotten` counts the notes before the first in `heard` that
    have been handed over, or had to make room. `seconds` maps an event's stamp to the caller's clock.
    """

    def __init__(self, seconds: Callable[[float], float] = lambda stamp: stamp, limit: int = LIMIT) -> None:
        self.heard: list[Heard] = []
        self._seconds = seconds
        self._limit = limit
        self._sounding: dict[tuple[int, int], int] = {}
        self.forgotten = 0

    def take(self, event: Event) -> Heard | None:
        """Take one event; the note that it begins, else None. A pedal is no note."""
        if event.what is EventKind.CONTROL:
            return None
        at = self._seconds(event.stamp)
        key = (event.channel, event.pitch)
        if event.what is EventKind.SILENCE:
            for sounding in list(self._sounding):
                self._end(sounding, at)
            return None
        self._end(key, at)
        if event.what is EventKind.OFF:
            return None
        note = Heard(at, event.pitch, event.velocity, event.channel, sure=event.sure)
        self._sounding[key] = self.forgotten + len(self.heard)
        self.heard.append(note)
        if len(self.heard) > self._limit:
            self._forget(self._limit // 2)
        return note

    def clear(self) -> tuple[Heard, ...]:
        """Hand over all notes and begin anew."""
        notes = tuple(self.heard)
        self._forget(len(self.heard))
        return notes

    def _end(self, key: tuple[int, int], at: float) -> None:
        place = self._sounding.pop(key, None)
        if place is not None and place >= self.forgotten:
            note = self.heard[place - self.forgotten]
            self.heard[place - self.forgotten] = replace(note, end=max(at, note.seconds))

    def _forget(self, count: int) -> None:
        del self.heard[:count]
        self.forgotten += count
