"""What is heard: from an instrument on a MIDI cable, a microphone, the demonstration or a pedal, all in the same way.

Conventions: what comes out is on the session's clock, in seconds.
"""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Sequence
from functools import partial

from companion.box.box_values import Fingering
from companion.errors import UserError
from companion.hearing.level import Fault
from companion.hearing.weigh import Sounded
from companion.input.capture import improved, list_microphones
from companion.input.chosen_ports import MICROPHONE, PEDAL, choose_port, chosen_before, chosen_port
from companion.input.ear_files import ear_for
from companion.input.events import Event, EventKind, NoteSource, PortNews
from companion.input.instrument import Instrument
from companion.input.microphone import Microphone, open_microphone
from companion.input.midi_in import instruments_of, open_midi_in
from companion.input.note_builder import Notes
from companion.input.ports import base_name, list_ports
from companion.input.standin import StandIn
from companion.marking.mark_values import Heard, Marks
from companion.practice.round_plan import RoundPlan


class Listening:
    """What brings notes, and what of it counts. `taken` holds all notes of the session that counted, in order of onset.

    `came` holds what the last `new` took from the instrument, pedals too, whoever plays, and the pedals of an input of
    their own; `meant` what the instrument means: at the written pitch, and without what is not the melody's.
    `first_use` says that the player's microphone is listened to for the first time.
    """

    def __init__(
        self,
        instrument: NoteSource | None,
        fingering: Fingering | None,
        standin: bool,
        missing: str = "",
        controls: frozenset[int] = frozenset(),
        pedal: NoteSource | None = None,
        *,
        box: str = "",
        first_use: bool = False,
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
        self._box = box  # its id: an ear is one box's
        self._expected: tuple[int, ...] = ()
        self.first_use = first_use
        self._heed(instrument)
        self._press(pedal)

    def _press(self, pedal: NoteSource | None) -> None:
        if pedal is not None:
            pedal.controls = self._controls
        self._pedal = pedal

    def _heed(self, instrument: NoteSource | None) -> None:
        if instrument is not None:
            instrument.controls = self._controls
            instrument.expect(self._expected)
        self._instrument = instrument

    @property
    def instrument(self) -> NoteSource | None:
        """Where the player's notes come in, None where nowhere."""
        return self._instrument

    @property
    def microphone(self) -> Microphone | None:
        """The microphone that is listened to, None where none is."""
        return self._instrument if isinstance(self._instrument, Microphone) else None

    @property
    def box(self) -> str:
        """The id of the box that is played, "" where that is not known."""
        return self._box

    def take_up(self, fingering: Fingering) -> None:
        """The tune that the stand-in player plays from now on, and the box that is heard."""
        self._player.stop()
        self._fingering = fingering
        if fingering.box.id != self._box:
            self.hear_box(fingering.box.id)

    def hear_box(self, box: str) -> None:
        """Hear a box with what has been learnt of it, from now on: another one, or one that has just been learnt."""
        self._box = box
        if self.microphone is not None:
            self.microphone.hear_with(partial(ear_for, box, self.microphone.name))

    def expect(self, pitches: Sequence[int]) -> None:
        """The written notes that are asked for from now on, in order; () where anything may come."""
        self._expected = tuple(pitch + self.known.shift for pitch in pitches)
        if self._instrument is not None:
            self._instrument.expect(self._expected)

    def listen_to(self, port: str) -> None:
        """Listen to another input from now on, and remember it. Raises `UserError` where it does not open."""
        ear = open_midi_in(port)
        self._go_over(ear)
        choose_port(ear.name)

    def listen_through(self, microphone: str) -> None:
        """Listen to a microphone from now on ("": to none), and remember it. `UserError` where it does not open."""
        now = self.microphone
        if microphone:
            if now is not None:
                now.close()  # some systems let only one program have it, once
            first = not chosen_before(MICROPHONE)
            self._go_over(open_microphone(microphone, partial(ear_for, self._box)))
            self.first_use = first
        elif now is not None:
            self._go_over(None)
        choose_port(microphone, MICROPHONE)

    def _go_over(self, source: NoteSource | None) -> None:
        """Listen to something else."""
        if self._instrument is not None:
            self._instrument.close()
        self.known = Instrument()
        self.standin_on = False
        self._heed(source)

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

    @property
    def sounded(self) -> Sounded | None:
        """Of a microphone, whether a written pitch may have sounded between two moments of the session; else None."""
        microphone = self._instrument
        if self.standin_on or not isinstance(microphone, Microphone):
            return None
        now = time.perf_counter()
        ahead = self._place(now) - now

        def sounded(pitch: int, first: float, last: float) -> tuple[float, float]:
            return microphone.sounded(pitch + self.known.shift, first - ahead, last - ahead)

        return sounded

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
        if self.microphone is not None:
            return self._of_microphone(self.microphone, words)
        if not self._instrument.alive:
            return words("instrument_gone")
        return words("instrument_flood", n=self._instrument.dropped) if self._instrument.dropped else ""

    def _of_microphone(self, one: Microphone, words: Callable[..., str]) -> str:
        if not one.alive:
            return words("microphone_gone")
        fault = one.level.fault
        if fault is not None:
            return words(f"microphone_{fault.value}")
        if improved(one.name):
            return words(f"microphone_{Fault.GATE.value}")
        if self.first_use:
            return words("microphone_first")
        if one.strange:
            return words("microphone_strange")
        return words("microphone_guesses") if one.guessed else ""

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
    microphone: str | None = None,
    may_record: bool = True,
    box: str = "",
) -> Listening:
    """Open the instrument that is named, or was named last, or the first one; without one a microphone, named last or
    the default one; without that the stand-in player plays.

    Parameters
    ----------
    fingering : of the tune to begin with; None where `Listening.take_up` names it later.
    controls : the pedals that are passed on.
    pedal : the input of a pedal that has one of its own; None for the one that was named last, "" for none any more.
    microphone : the one to listen to, whatever else is there; None where none is named, "" for none any more.
    may_record : whether a microphone may be opened that nobody has named.
    box : the id of the box that is played.

    Raises
    ------
    UserError
        Where a port or a microphone is named and is not there, or both are named.
    """
    if port is not None and microphone:
        raise UserError("--port and --microphone are both given; name only the one that you want to be heard through")
    first_use = not chosen_before(MICROPHONE)
    foot = _open_pedal(pedal)
    source: NoteSource | None
    try:
        if microphone:
            source, missing = _open_named(microphone, box), ""
        else:
            source, missing = _open_instrument(port, foot, standin)
        if microphone == "":
            choose_port("", MICROPHONE)
        elif source is None and may_record:
            source = _open_microphone(box)
            missing = "" if source is not None else missing
    except UserError:
        if foot is not None:
            foot.close()
        raise
    return Listening(
        source, fingering, standin=source is None and standin, missing=missing, controls=controls, pedal=foot,
        box=box, first_use=first_use and isinstance(source, Microphone),
    )  # fmt: skip


def _open_named(microphone: str, box: str) -> Microphone:
    """The microphone that is named, which is remembered."""
    found = open_microphone(microphone, partial(ear_for, box))
    choose_port(found.name, MICROPHONE)
    return found


def _open_microphone(box: str) -> Microphone | None:
    """The microphone that was named last, or the default one; None where none is there or the player wants none."""
    chosen, there = chosen_port(MICROPHONE), list_microphones()
    if not there or (chosen is None and chosen_before(MICROPHONE)):
        return None
    found: Microphone | None = None
    with contextlib.suppress(UserError):
        found = open_microphone(chosen if chosen in there else there[0], partial(ear_for, box))
    if found is not None and chosen is None:
        with contextlib.suppress(UserError):  # it is found again without
            choose_port(found.name, MICROPHONE)
    return found


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
