"""What is heard: from the instrument, the demonstration or a pedal, all through the same kind of ear.

Conventions: what comes out is on the session's clock, in seconds.
"""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Sequence

from companion.box.box_values import Fingering
from companion.errors import UserError
from companion.input.chosen_ports import PEDAL, choose_port, chosen_port
from companion.input.events import Event, EventKind, NoteSource, PortNews
from companion.input.instrument import Instrument
from companion.input.midi_in import instruments_of, open_midi_in
from companion.input.note_builder import Notes
from companion.input.ports import base_name, list_ports
from companion.input.standin import StandIn
from companion.marking.mark_values import Heard, Marks
from companion.practice.round_plan import RoundPlan


class Listening:
    """Both ears, and which of them counts. `taken` holds all notes of the session that counted, in order of onset.

    `came` holds what the last `new` took from the instrument, pedals too, whoever plays, and the pedals of an input of
    their own; `meant` what the instrument means: at the written pitch, and without what is not the melody's.
    """

    def __init__(
        self,
        instrument: NoteSource | None,
        fingering: Fingering | None,
        standin: bool,
        missing: str = "",
        controls: frozenset[int] = frozenset(),
        pedal: NoteSource | None = None,
    ) -> None:
        self.missing = missing
        self.standin_on = standin
        self._instrument = instrument
        self._fingering = fingering
        self._player = StandIn(seed=time.time_ns() % 2**32)
        self._standin = open_midi_in(self._player)
        self._place: Callable[[float], float] = lambda stamp: stamp
        self._notes = Notes(lambda stamp: self._place(stamp))
        self.known = Instrument()
        self.came: list[Event] = []
        self.meant: list[Event] = []
        self._controls = controls
        self._pedal: NoteSource | None = None
        self._heed(instrument)
        self._press(pedal)

    def _press(self, pedal: NoteSource | None) -> None:
        if pedal is not None:
            pedal.controls = self._controls
        self._pedal = pedal

    def _heed(self, instrument: NoteSource | None) -> None:
        if instrument is not None:
            instrument.controls = self._controls
        self._instrument = instrument

    @property
    def instrument(self) -> NoteSource | None:
        """The instrument's ear, None without one."""
        return self._instrument

    def take_up(self, fingering: Fingering) -> None:
        """The tune that the stand-in player plays from now on."""
        self._player.stop()
        self._fingering = fingering

    def listen_to(self, port: str) -> None:
        """Listen to another input from now on, and remember it. Raises `UserError` where it does not open."""
        ear = open_midi_in(port)
        if self._instrument is not None:
            self._instrument.close()
        self.known = Instrument()
        self.standin_on = False
        self._heed(ear)
        choose_port(ear.name)

    @property
    def pedal(self) -> NoteSource | None:
        """The ear of a pedal that has an input of its own, None without one."""
        return self._pedal

    def take_pedal(self, port: str) -> None:
        """Listen for pedals to an input of their own ("": none), and remember it. `UserError` if it does not open."""
        ear = open_midi_in(port) if port else None
        if self._pedal is not None:
            self._pedal.close()
        self._press(ear)
        choose_port(ear.name if ear is not None else "", PEDAL)

    @property
    def taken(self) -> Sequence[Heard]:
        """Every note of the session that counted; its end is there once it has ended."""
        return self._notes.heard

    @property
    def forgotten(self) -> int:
        """How many notes before the first of `taken` had to make room."""
        return self._notes.forgotten

    @property
    def can_hear(self) -> bool:
        """Whether anybody could be heard at all."""
        return self.standin_on or self._instrument is not None

    @property
    def waiting(self) -> bool:
        """Whether a note has come in that nobody has fetched."""
        return (self.standin_on and self._standin.waiting) or (
            self._instrument is not None and self._instrument.waiting
        )

    def new(self, time_of: Callable[[float], float]) -> list[Heard]:
        """The notes that have begun since the last call; `time_of` puts a stamp on the session's clock."""
        self._place = time_of
        self.came = self._instrument.take_new() if self._instrument is not None else []
        self.meant = [meant for event in self.came if (meant := self.known.as_meant(event)) is not None]
        if self._pedal is not None:
            # From a pedal's input only pedals count, whatever else it sends.
            self.came += [event for event in self._pedal.take_new() if event.what is EventKind.CONTROL]
        played = self._standin.take_new()
        events = played if self.standin_on else self.meant
        return [note for event in events if (note := self._notes.take(event)) is not None]

    def news(self) -> list[PortNews]:
        """When the instrument went away or came back since the last call."""
        return self._instrument.take_news() if self._instrument is not None else []

    def notice(self, words: Callable[..., str]) -> str:
        """What must be said of the instrument now."""
        if self._pedal is not None and not self._pedal.alive:
            return words("pedal_gone")
        if self._instrument is None:
            return "" if self.standin_on else words("no_instrument")
        if self.standin_on:
            return ""
        if not self._instrument.alive:
            return words("instrument_gone")
        return words("instrument_flood", n=self._instrument.dropped) if self._instrument.dropped else ""

    @property
    def alive(self) -> bool:
        """Whether what counts is there."""
        return self.standin_on or (self._instrument is not None and self._instrument.alive)

    def play(self, going: RoundPlan, ahead: float) -> None:
        """Let the stand-in player play a round; its own clock is `ahead` of the round's, in seconds."""
        assert self._fingering is not None
        self._player.play(going.asked, going.timeline, lambda seconds: seconds + ahead, self._fingering)

    def learn(self, marks: Marks) -> None:
        """Let the stand-in player learn from its marks."""
        self._player.heard_marks(marks)

    def stop(self) -> None:
        """Let the stand-in player stop."""
        self._player.stop()

    def close(self) -> None:
        """Close all ears."""
        self._player.close()
        self._standin.close()
        if self._instrument is not None:
            self._instrument.close()
        if self._pedal is not None:
            self._pedal.close()


def open_listening(
    port: str | None,
    fingering: Fingering | None,
    *,
    standin: bool,
    controls: frozenset[int] = frozenset(),
    pedal: str | None = None,
) -> Listening:
    """Open the instrument that is named, or was named last, or the first one; without one the stand-in player plays.

    Parameters
    ----------
    fingering : of the tune to begin with; None where `Listening.take_up` names it later.
    controls : the pedals that are passed on.
    pedal : the input of a pedal that has one of its own; None for the one that was named last, "" for none any more.

    Raises
    ------
    UserError
        Where a port is named and is not there.
    """
    foot = _open_pedal(pedal)
    try:
        ear, missing = _open_instrument(port, foot, standin)
    except UserError:
        if foot is not None:
            foot.close()
        raise
    return Listening(ear, fingering, standin=ear is None and standin, missing=missing, controls=controls, pedal=foot)


def _open_pedal(named: str | None) -> NoteSource | None:
    """The input that is named; else the one that was named last, where it is there."""
    if named is not None:
        ear = open_midi_in(named) if named else None
        choose_port(ear.name if ear is not None else "", PEDAL)
        return ear
    chosen = chosen_port(PEDAL)
    if chosen is not None:
        with contextlib.suppress(UserError):
            return open_midi_in(chosen)
    return None


def _open_instrument(named: str | None, pedal: NoteSource | None, standin: bool) -> tuple[NoteSource | None, str]:
    """The instrument that is named, was named last, or the first one; and what is missing without one."""
    if named is not None:
        ear = open_midi_in(named)
        choose_port(ear.name)
        return ear, ""
    ports = list_ports()
    taken = base_name(pedal.name) if pedal is not None else ""
    for name in (chosen_port(), *(name for name in instruments_of(ports.inputs) if base_name(name) != taken)):
        if name is not None:
            with contextlib.suppress(UserError):
                return open_midi_in(name), ""
    problem = ports.problem or "No MIDI instrument is connected."
    then = "A demonstration plays." if standin else "Connect one, or let the demonstration play."
    return None, f"{problem.rstrip('.')}. {then}"
