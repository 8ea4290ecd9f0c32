"""MIDI input: each message is stamped as it arrives, queued (up to a limit) and counted; a port may go and come back.

A thread of the ear's own empties the driver's queue every two milliseconds, into one that the session fetches with
`MidiIn.take_new`, whenever it likes.
"""

from __future__ import annotations

import contextlib
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable, Sequence
from typing import Any, Protocol

from companion.errors import UserError
from companion.input.events import Event, EventKind, PortNews
from companion.input.ports import Input, backend_name, base_name, load_backend, open_input, watching

# Between two looks at the list of ports; a plug takes longer to pull out and put back.
_LOOK_SECONDS = 0.05
# Between two looks into the driver's queue. The stamps are the driver's, and a frame takes 16 ms; at 1 ms the looks
# would take 3% of a core, at 2 ms half of that.
_POLL_SECONDS = 0.002
# What may wait in the queue: four seconds of a flood of 1,000 notes a second.
QUEUE_LIMIT = 8192
# Inputs that carry what other programs send, not an instrument; never chosen unless named.
_NOT_INSTRUMENTS = ("midi through", "port watch", "rtmidi")


class Port(Protocol):
    """What an ear needs of a port that calls back, as the stand-in player does."""

    name: str
    callback: Callable[[Any], None] | None

    def close(self) -> None: ...


class MidiIn:
    """An open MIDI input.

    Made by :func:`open_midi_in`. `dropped` counts the events that found the queue full; `controls` are the controllers
    that are passed on: an accordion may send its bellows as one all the time.
    """

    def __init__(self, name: str, clock: Callable[[], float], limit: int = QUEUE_LIMIT) -> None:
        self.name = name
        self.dropped = 0
        self.controls: frozenset[int] = frozenset()
        self._clock = clock
        self._limit = limit
        self._events: deque[Event] = deque()
        self._news: deque[PortNews] = deque(maxlen=256)
        self._port: Any = None
        # Hold this to read, open or close the port.
        self._lock = threading.RLock()
        self._closing = threading.Event()
        self._threads: list[threading.Thread] = []

    @property
    def alive(self) -> bool:
        """Whether the port is there."""
        return self._port is not None

    @property
    def waiting(self) -> bool:
        """Whether something has come in since the last `take_new`."""
        return bool(self._events)

    def take_new(self) -> list[Event]:
        """What has come in since the last call, in order of arrival."""
        # Only what is there now, so that the loop ends under a flood.
        return [self._events.popleft() for _ in range(len(self._events))]

    def take_news(self) -> list[PortNews]:
        """When the port went away and came back since the last call."""
        return [self._news.popleft() for _ in range(len(self._news))]

    def expect(self, pitches: Sequence[int]) -> None:
        """What is asked for makes no difference: an instrument says what was played."""

    def close(self) -> None:
        """Close the port and stop watching for it."""
        self._closing.set()
        for thread in self._threads:
            if thread is not threading.current_thread():
                thread.join(timeout=2.0)
        self._drop_port()

    def arrived(self, message: Any, stamp: float | None = None) -> None:
        """Take one mido message that came at `stamp`; None: now."""
        stamp = self._clock() if stamp is None else stamp
        kind = message.type
        if kind == "note_on" and message.velocity > 0:
            event = Event(stamp, EventKind.ON, message.note, message.velocity, message.channel)
        elif kind in ("note_on", "note_off"):
            event = Event(stamp, EventKind.OFF, message.note, 0, message.channel)
        elif kind == "reset" or (kind == "control_change" and message.control in (120, 123)):
            event = Event(stamp, EventKind.SILENCE)
        elif kind == "control_change" and message.control in self.controls:
            event = Event(
                stamp, EventKind.CONTROL, velocity=message.value, channel=message.channel, control=message.control
            )
        else:
            return
        self._put(event)

    def _put(self, event: Event) -> None:
        if len(self._events) >= self._limit:
            self.dropped += 1
        else:
            self._events.append(event)

    def _hold(self, port: Input | Port) -> None:
        """Take an open port."""
        with self._lock:
            self._port = port

    def _drop_port(self) -> None:
        with self._lock:
            port, self._port = self._port, None
            if port is not None:
                # A driver may complain of a lost port; it is closed all the same.
                with contextlib.suppress(Exception):
                    port.close()

    def _start(self, work: Callable[..., None], *given: Any) -> None:
        thread = threading.Thread(target=work, args=given, daemon=True, name="ear")
        self._threads.append(thread)
        thread.start()

    def _listen(self) -> None:
        """Fetch what comes in on whichever port is there."""
        while not self._closing.wait(_POLL_SECONDS):
            with self._lock:
                port = self._port
                if port is None:
                    continue
                try:
                    self._fetch(port)
                except Exception:  # whatever the driver raises, the port is gone
                    self._gone(port)

    def _fetch(self, port: Input) -> None:
        for stamp, message in port.take():
            self.arrived(message, stamp)

    def _watch(self, backend: str, reopen: Callable[[str], Input]) -> None:
        """Look whether the port is there; take it up again when it comes back."""
        with watching(backend) as names:
            if names is None:
                return
            wanted = base_name(self.name)
            while not self._closing.wait(_LOOK_SECONDS):
                try:
                    there = next((name for name in names() if base_name(name) == wanted), None)
                except Exception:  # the MIDI server itself has gone
                    there = None
                port = self._port
                if there is None and port is not None:
                    self._gone(port)
                elif there is not None and port is None:
                    self._back(there, reopen)

    def _gone(self, port: Input) -> None:
        with self._lock:
            if self._port is not port:
                return
            # What came before is heard first; the ear counts as dead only once the events say so.
            with contextlib.suppress(Exception):
                self._fetch(port)
            stamp = self._clock()
            self._put(Event(stamp, EventKind.SILENCE))
            self._news.append(PortNews(stamp, False))
            self._drop_port()

    def _back(self, name: str, reopen: Callable[[str], Input]) -> None:
        try:
            port = reopen(name)
        except Exception:  # not ready yet: the next look tries again
            return
        self.name = name
        self._news.append(PortNews(self._clock(), True))
        self._hold(port)


def open_midi_in(
    port: str | Port | None, *, clock: Callable[[], float] = time.perf_counter, limit: int = QUEUE_LIMIT
) -> MidiIn:
    """Open a MIDI input.

    Parameters
    ----------
    port : the name of an input, or an open port (the stand-in player); None for the first instrument there is.
    clock : gives the stamps, in seconds.
    limit : how many events may wait to be fetched.

    Raises
    ------
    UserError
        Where there is no MIDI, or no such input; the message lists those that are there.
    """
    if port is not None and not isinstance(port, str):
        ear = MidiIn(port.name, clock, limit)
        ear._hold(port)
        port.callback = ear.arrived
        return ear
    backend, problem = backend_name()
    if problem:
        raise UserError(f"{problem} Connect an instrument, or practise with the demonstration.")
    name = _choose(port, list(load_backend(backend).get_input_names()))
    ear = MidiIn(name, clock, limit)

    def reopen(found: str) -> Input:
        return open_input(found, backend, clock)

    try:
        ear._hold(reopen(name))
    except OSError as error:
        raise UserError(f"The MIDI input {name!r} cannot be opened: {error}; close what else uses it.") from error
    ear._start(ear._listen)
    ear._start(ear._watch, backend, reopen)
    return ear


def instruments_of(names: Iterable[str]) -> list[str]:
    """Those of the inputs that may be instruments."""
    return [name for name in names if not any(word in name.lower() for word in _NOT_INSTRUMENTS)]


def _choose(wanted: str | None, names: list[str]) -> str:
    """The input meant by a name, by a name without its numbers, or by a part of just one name."""
    if wanted is None:
        instruments = instruments_of(names)
        if not instruments:
            raise UserError("There is no MIDI instrument; connect one, or practise with the demonstration.")
        return instruments[0]
    for name in names:
        if wanted in (name, base_name(name)):
            return name
    likely = [name for name in names if wanted.lower() in name.lower()]
    if len(likely) == 1:
        return likely[0]
    there = "those there are: " + ", ".join(repr(name) for name in names) if names else "there is none at all"
    many = "more than one MIDI input fits" if likely else "there is no MIDI input"
    raise UserError(f"{many[0].upper()}{many[1:]} {wanted!r}; {there}.")
