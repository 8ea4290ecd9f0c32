"""A microphone as a way in: what the box sounds becomes notes, on a thread of its own that the window never waits for.

It goes away and comes back as a MIDI port does. Each note is stamped with the moment it began, on the clock of
:func:`time.perf_counter`, with the delay of sound and microphone taken off where that has been measured.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable, Sequence
from typing import Protocol

from companion.errors import UserError
from companion.hearing.ear import Ear, Sound
from companion.hearing.level import Level, LevelNow
from companion.hearing.stream import LiveHearing, LiveNote
from companion.input.capture import Block, find_microphone, list_microphones, open_capture
from companion.input.events import Event, EventKind, PortNews

POLL = 0.004  # seconds between two looks for sound
AGAIN = 0.5  # seconds between two looks for a microphone that has gone
STILL = 3.0  # seconds: a microphone that sends nothing for so long has gone
WAKING = 6.0  # seconds: a sound server needs a moment to begin
LIMIT = 8192  # events that may wait to be fetched


class Source(Protocol):
    """What is needed of an open microphone; see `companion.input.capture.Capture`."""

    name: str
    rate: int

    def take(self) -> Block | None: ...

    def stamp_of(self, seconds: float) -> float: ...

    def lost(self) -> bool: ...

    def close(self) -> None: ...


class Hearing(Protocol):
    """What makes notes of sound; see `companion.hearing.stream.LiveHearing`."""

    def expect(self, pitches: Sequence[int]) -> None: ...

    def take(self, block: Sound, playback: Sound | None = None) -> list[LiveNote]: ...

    def sounded(self, pitch: int, first: float, last: float) -> tuple[float, float]: ...

    @property
    def strange(self) -> bool: ...


# Gives what our own playing sounded from a stamp on, so many frames at a rate; None where that is nothing.
Playback = Callable[[float, int, int], Sound | None]


class Microphone:
    """An open microphone, a `NoteSource`. Made by :func:`open_microphone`.

    Parameters
    ----------
    source : the open microphone; `reopen` opens it again by its name (`UserError` or OSError where it is not there).
    ear : makes the ear to hear with; called on the microphone's thread, since it may take a while.
    hearing : makes notes with an ear, at a rate.

    Attributes
    ----------
    late : seconds by which everything comes in late; taken off the stamps.
    playback : gives what our own playing sounded meanwhile; None where nobody is to ask.
    tap : is handed each block as it comes, on the microphone's thread; for whoever records. None for nobody.
    guessed : whether the box has not been learnt, so that the program's own reeds stand in.
    """

    def __init__(
        self,
        source: Source,
        ear: Callable[[], Ear],
        reopen: Callable[[str], Source],
        *,
        hearing: Callable[[Ear, int], Hearing] = LiveHearing,
        clock: Callable[[], float] = time.perf_counter,
    ) -> None:
        self.name = source.name
        self.rate = source.rate
        self.controls: frozenset[int] = frozenset()  # it has no pedals
        self.dropped = 0
        self.late = 0.0
        self.playback: Playback | None = None
        self.tap: Callable[[Block], None] | None = None
        self.guessed = False
        self._ear, self._reopen, self._hearing, self._clock = ear, reopen, hearing, clock
        self._source: Source | None = source
        self._level = Level(source.rate)
        self._hears: Hearing | None = None  # made on the thread
        self._anew = False  # the ear is to be asked for again
        self._expected: tuple[int, ...] | None = None  # what has not been told yet
        self._asked: tuple[int, ...] = ()
        self._events: deque[Event] = deque()
        self._news: deque[PortNews] = deque(maxlen=256)
        self._ahead = 0.0  # of the stamps, before the seconds of the stream
        self._began = 0.0  # the stamp of the last note that began
        # Of the stream: when sound last came, how long to wait for more, and the frame that was the first one heard.
        self._heard_at, self._patience = clock(), WAKING
        self._first: int | None = None
        self._fault: BaseException | None = None
        self._closing = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True, name="microphone")
        self._thread.start()

    @property
    def alive(self) -> bool:
        """Whether the microphone is there."""
        return self._source is not None

    @property
    def waiting(self) -> bool:
        """Whether something has come in since the last `take_new`."""
        return bool(self._events) or self._fault is not None

    @property
    def level(self) -> LevelNow:
        """How loud it is now, and what is wrong with its sound."""
        return self._level.now

    def take_new(self) -> list[Event]:
        """What has been heard since the last call, in order. Raises what went wrong in hearing, a fault of ours."""
        if self._fault is not None:
            raise self._fault
        return [self._events.popleft() for _ in range(len(self._events))]

    def take_news(self) -> list[PortNews]:
        """When the microphone went away and came back since the last call."""
        return [self._news.popleft() for _ in range(len(self._news))]

    def expect(self, pitches: Sequence[int]) -> None:
        """The notes that are asked for from now on, in order, as they sound; () where anything may come."""
        self._asked = self._expected = tuple(pitches)

    def sounded(self, pitch: int, first: float, last: float) -> tuple[float, float]:
        """As `companion.hearing.weigh.sounded`, between two stamps of the last ten minutes; (0, 0) if it is gone."""
        hears, ahead = self._hears, self._ahead
        return hears.sounded(pitch, first - ahead, last - ahead) if hears is not None else (0.0, 0.0)

    @property
    def strange(self) -> bool:
        """Whether what is played sounds like another box, or another room, than the one that was learnt."""
        hears = self._hears
        return hears is not None and hears.strange

    def hear_with(self, ear: Callable[[], Ear]) -> None:
        """Hear with another ear from now on."""
        self._ear, self._anew = ear, True

    def close(self) -> None:
        """Let go of it."""
        self._closing.set()
        if self._thread is not threading.current_thread():
            self._thread.join(timeout=5.0)

    def _run(self) -> None:
        try:
            while not self._closing.wait(POLL if self._source is not None else AGAIN):
                if self._source is None:
                    self._look()
                else:
                    self._listen(self._source)
        except BaseException as fault:  # whoever fetches the notes is to know
            self._fault = fault
        finally:
            source, self._source = self._source, None
            if source is not None:
                source.close()

    def _listen(self, source: Source) -> None:
        if self._hears is None or self._anew:
            self._begin(source)
        block = source.take()
        if block is None:
            if source.lost() or self._clock() - self._heard_at > self._patience:
                self._gone(source)
            return
        self._heard_at, self._patience = self._clock(), STILL
        self._level.take(block.sound)
        if self.tap is not None:
            self.tap(block)
        for note in self._notes(source, block):
            self._put(source, note)

    def _begin(self, source: Source) -> None:
        """Hear a stream from here on."""
        self._anew = False
        ear = self._ear()
        self.guessed = ear.guessed
        while source.take() is not None:  # what came while the ear was made is no longer new
            pass
        self._hears, self._first = self._hearing(ear, source.rate), None
        self._expected = self._asked
        self._heard_at, self._patience = self._clock(), WAKING

    def _notes(self, source: Source, block: Block) -> list[LiveNote]:
        assert self._hears is not None
        if self._first is None:
            self._first = block.place
        expected, self._expected = self._expected, None
        if expected is not None:
            self._hears.expect(expected)
        played = self.playback(block.stamp, len(block.sound), source.rate) if self.playback is not None else None
        return self._hears.take(block.sound, played)

    def _put(self, source: Source, note: LiveNote) -> None:
        if len(self._events) >= LIMIT:
            self.dropped += 1
            return
        assert self._first is not None
        stamp = source.stamp_of(self._first / source.rate + note.seconds) - self.late
        self._ahead = stamp - note.seconds
        if note.ends:
            self._events.append(Event(stamp, EventKind.OFF, note.pitch))
            return
        # What is told late keeps its place behind what has been told: nothing that listens goes back.
        self._began = max(self._began, stamp)
        self._events.append(Event(self._began, EventKind.ON, note.pitch, max(1, note.velocity), sure=note.sure))

    def _gone(self, source: Source) -> None:
        stamp = self._clock()
        self._events.append(Event(stamp, EventKind.SILENCE))
        self._news.append(PortNews(stamp, False))
        self._source, self._hears = None, None
        source.close()

    def _look(self) -> None:
        """Take it up again where it has come back."""
        try:
            source = self._reopen(self.name)
        except (OSError, UserError):  # not there, or not ready yet: the next look tries again
            return
        self.rate = source.rate
        self._level = Level(source.rate)
        self._news.append(PortNews(self._clock(), True))
        self._source = source


def open_microphone(name: str | None, ear: Callable[[str], Ear]) -> Microphone:
    """Open a microphone.

    Parameters
    ----------
    name : as the system lists it, or a part of just one; None for the default one.
    ear : gives the ear to hear with, by the microphone's whole name; called on the microphone's thread.

    Raises
    ------
    UserError : there is no such microphone, or it does not open.
    """
    found = find_microphone(name)

    def reopen(wanted: str) -> Source:
        if wanted not in list_microphones():
            raise OSError(f"{wanted} is not there")
        return open_capture(wanted)

    return Microphone(open_capture(found), lambda: ear(found), reopen)
